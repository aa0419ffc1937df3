/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Small text files that the user names: limits, masks. */
#ifndef SIDECOMB_CLI_FILE_H
#define SIDECOMB_CLI_FILE_H

#include <sidecomb/error.h>

enum { CLI_TEXT_BYTES_MAX = 1 << 20 };

/* All of a file as one string, without a byte order mark, to be freed by the caller. SC_CANNOT_OPEN; SC_BAD_FORMAT for a
 * file that is too long or holds a zero byte. The message names the file. */
enum sc_error cli_read_text(const char *path, char **text, struct sc_message *message);

#endif
