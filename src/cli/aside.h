/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What libraries of devices print by themselves, on standard output or error, is held back while
 * they work and told after the program's own words. */
#ifndef SIDECOMB_CLI_ASIDE_H
#define SIDECOMB_CLI_ASIDE_H

#include <stdio.h>

struct cli_aside {
  int real[2]; /* standard output and error; -1: not held */
  FILE *kept;
};

/* Where nothing can be held all goes on as without it. */
void cli_aside_begin(struct cli_aside *aside);
/* From here on both are as before. */
void cli_aside_end(struct cli_aside *aside);
/* Tells on standard error what was held, line by line, clean, and forgets it. */
void cli_aside_tell(struct cli_aside *aside);

#endif
