/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Arguments of one subcommand into settings. */
#ifndef SIDECOMB_CLI_PARSE_H
#define SIDECOMB_CLI_PARSE_H

#include <sidecomb/error.h>

#include "cli/command.h"

/* argv[0] is skipped. Options may stand before and after the capture, and "--" ends them.
 * With --help or --version no capture is needed. */
enum sc_error cli_parse(const struct cli_command *command, int argc, char **argv,
                        struct cli_settings *settings, struct sc_message *message);

#endif
