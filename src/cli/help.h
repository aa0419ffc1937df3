/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The help, printed from the tables of subcommands and options. */
#ifndef SIDECOMB_CLI_HELP_H
#define SIDECOMB_CLI_HELP_H

#include "cli/command.h"
#include "report/buffer.h"

/* `command` NULL: of the whole program. `width`: columns. */
void cli_help(struct report_buffer *out, const struct cli_command *command, size_t width);

#endif
