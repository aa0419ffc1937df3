/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Standard output and error: whole writes, honest failures, the terminal's width. */
#ifndef SIDECOMB_CLI_OUTPUT_H
#define SIDECOMB_CLI_OUTPUT_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/error.h>

#include "cli/command.h"

/* Writes all of `text` to standard output. A reader that went away ends the program's work
 * without a word, a full disk with one line; both are CLI_FAILED. */
enum cli_status cli_write(const char *text);

/* Writes what was composed, and `end` after it; frees `text`. `error` is what composing it
 * returned, and is complained of. */
enum cli_status cli_print(enum sc_error error, char *text, const char *end);

/* One line on standard error, after the program's name. Returns CLI_FAILED. */
enum cli_status cli_complain(const char *line);

/* Columns of the terminal at standard output, else COLUMNS, else 80. */
size_t cli_width(void);
/* Whether the locale writes UTF-8. */
bool cli_utf8(void);

#endif
