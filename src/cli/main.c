/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The process: locale and signals, then the arguments. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <locale.h>
#include <signal.h>

#include "cli/command.h"

int main(int argc, char **argv)
{
  /* Characters only: the decimal point stays a point. */
  setlocale(LC_CTYPE, "");
  /* Both are then errors of the write, and what was begun is cleared away. */
  signal(SIGPIPE, SIG_IGN);
  signal(SIGXFSZ, SIG_IGN);
  return (int)cli_main(argc, argv);
}
