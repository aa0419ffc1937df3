/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The one table of subcommands. */
#ifndef SIDECOMB_CLI_COMMAND_H
#define SIDECOMB_CLI_COMMAND_H

#include <stddef.h>
#include <stdio.h>

#include "cli/settings.h"

/* What the program ends with. */
enum cli_status {
  CLI_MEASURED = 0,
  CLI_NOT_MEASURED = 1, /* the capture could be read, what was asked could not be measured */
  CLI_FAILED = 2,       /* wrong usage, unreadable input, output that cannot be written */
  CLI_BEYOND_LIMIT = 3  /* measured, and a limit failed */
};

/* What stands beside the options. */
enum cli_operands {
  CLI_A_CAPTURE,      /* one, into source.path */
  CLI_CAPTURES,       /* two or more, into captures */
  CLI_MAYBE_SCENARIO, /* one or none, into compose.scenario */
  CLI_NOTHING
};

struct cli_command {
  const char *name;
  int bit;                    /* CLI_ON_... */
  enum cli_operands operands; /* how many, and where they go */
  const char *operand;        /* as the help shows it */
  const char *summary;        /* a few words for the list */
  const char *about;          /* a paragraph */
  enum cli_status (*run)(const struct cli_settings *settings);
  void (*print_keys)(FILE *stream); /* NULL: it has none */
};

const struct cli_command *cli_commands(size_t *count);
/* NULL: no subcommand has that name. */
const struct cli_command *cli_command_find(const char *name);

enum cli_status cli_run_view(const struct cli_settings *settings);
enum cli_status cli_run_compose(const struct cli_settings *settings);
enum cli_status cli_run_sequence(const struct cli_settings *settings);
enum cli_status cli_run_watch(const struct cli_settings *settings);
enum cli_status cli_run_compare(const struct cli_settings *settings);
enum cli_status cli_run_plot(const struct cli_settings *settings);
enum cli_status cli_run_devices(const struct cli_settings *settings);
enum cli_status cli_run_record(const struct cli_settings *settings);
enum cli_status cli_run_report(const struct cli_settings *settings);

/* The whole program but the process: arguments in, status out. */
enum cli_status cli_main(int argc, char **argv);

#endif
