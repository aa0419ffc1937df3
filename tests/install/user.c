/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A program of another author: built by `make installcheck` against what was installed. */
#include <stdio.h>

#include <sidecomb/analysis.h>

int main(void)
{
  struct sc_message message;
  enum sc_error error = sc_fail(&message, SC_UNSUPPORTED, "installed");
  printf("%s: %s (%s)\n", message.text, sc_error_name(error), sc_error_text(error));
  return error == SC_UNSUPPORTED ? 0 : 1;
}
