/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The one table of options: --help is printed from it, and the man page is checked against
 * what is printed. */
#ifndef SIDECOMB_CLI_OPTION_H
#define SIDECOMB_CLI_OPTION_H

#include <stddef.h>

#include <sidecomb/error.h>

#include "cli/settings.h"

/* Which subcommands know an option. */
enum {
  CLI_ON_VIEW = 1 << 0,
  CLI_ON_REPORT = 1 << 1,
  CLI_ON_COMPOSE = 1 << 2,
  CLI_ON_SEQUENCE = 1 << 3,
  CLI_ON_COMPARE = 1 << 4,
  CLI_ON_WATCH = 1 << 5,
  CLI_ON_PLOT = 1 << 6,
  CLI_ON_DEVICES = 1 << 7,
  CLI_ON_RECORD = 1 << 8,
  CLI_ON_FILES = CLI_ON_COMPOSE | CLI_ON_SEQUENCE | CLI_ON_REPORT | CLI_ON_PLOT,
  CLI_ON_CAPTURES = CLI_ON_VIEW | CLI_ON_REPORT | CLI_ON_COMPARE | CLI_ON_WATCH | CLI_ON_PLOT,
  CLI_ON_SOURCES = CLI_ON_CAPTURES | CLI_ON_RECORD,
  CLI_ON_LIVE = CLI_ON_VIEW | CLI_ON_REPORT | CLI_ON_WATCH | CLI_ON_RECORD,
  CLI_ON_ALL = ~0
};

struct cli_option {
  const char *name;     /* without the dashes */
  const char *argument; /* as the help shows it; NULL: none */
  int commands;         /* CLI_ON_... */
  const char *help;
  enum sc_error (*take)(const struct cli_option *option, const char *text,
                        struct cli_settings *settings, struct sc_message *message);
  size_t offset; /* of what `take` fills, in struct cli_settings */
  /* of options that take a number or a word */
  double least, most;
  const char *unit;
  const char *example;
  const char *const *words;
  char letter; /* the short form, 0: none */
};

/* In the order of the help; *count is set. A name may stand twice, for different commands. */
const struct cli_option *cli_options(size_t *count);

#endif
