/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The detour of standard output and error into a file without a name. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "cli/aside.h"
#include "cli/output.h"
#include "common/text.h"

enum { LINE_LENGTH = 256, LINES_MOST = 20 };

static const int descriptors[2] = {STDOUT_FILENO, STDERR_FILENO};

void cli_aside_begin(struct cli_aside *aside)
{
  *aside = (struct cli_aside){{-1, -1}, tmpfile()};
  if (aside->kept == NULL)
    return;
  fflush(stdout);
  fflush(stderr);
  for (int i = 0; i < 2; i++) {
    aside->real[i] = dup(descriptors[i]);
    if (aside->real[i] >= 0)
      dup2(fileno(aside->kept), descriptors[i]);
  }
}

void cli_aside_end(struct cli_aside *aside)
{
  fflush(stdout);
  fflush(stderr);
  for (int i = 0; i < 2; i++) {
    if (aside->real[i] < 0)
      continue;
    dup2(aside->real[i], descriptors[i]);
    close(aside->real[i]);
    aside->real[i] = -1;
  }
}

void cli_aside_tell(struct cli_aside *aside)
{
  char line[LINE_LENGTH];
  size_t told = 0, left = 0;
  if (aside->kept == NULL)
    return;
  rewind(aside->kept);
  while (fgets(line, sizeof line, aside->kept) != NULL) {
    line[strcspn(line, "\r\n")] = 0;
    if (line[strspn(line, " \t")] == 0)
      continue;
    if (told == 0)
      cli_complain("meanwhile the libraries of the devices said:");
    common_clean_string(line);
    if (told < LINES_MOST && fprintf(stderr, "  %s\n", line) > 0)
      told++;
    else
      left++;
  }
  if (left > 0)
    fprintf(stderr, "  and %zu lines more\n", left);
  fclose(aside->kept);
  aside->kept = NULL;
}
