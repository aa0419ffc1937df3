/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Small text files that the user names. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli/file.h"

static enum sc_error read_all(FILE *file, const char *path, char *text, struct sc_message *message)
{
  size_t length = fread(text, 1, CLI_TEXT_BYTES_MAX, file);
  if (ferror(file))
    return sc_fail(message, SC_READ_FAILED, "%.200s: cannot be read: %s", path, strerror(errno));
  if (length == CLI_TEXT_BYTES_MAX || memchr(text, '\0', length) != NULL)
    return sc_fail(message, SC_BAD_FORMAT, "%.200s: not a text file of a few lines", path);
  text[length] = '\0';
  return SC_OK;
}

/* Some editors begin a file with the byte order mark of UTF-8, which is no part of its text. */
static void skip_mark(char *text)
{
  static const char mark[] = "\xef\xbb\xbf";
  const size_t length = strlen(mark);
  if (strncmp(text, mark, length) == 0)
    memmove(text, text + length, strlen(text + length) + 1);
}

enum sc_error cli_read_text(const char *path, char **text, struct sc_message *message)
{
  *text = NULL;
  FILE *file = fopen(path, "r");
  if (file == NULL)
    return sc_fail(message, SC_CANNOT_OPEN, "%.200s: cannot be opened: %s", path, strerror(errno));
  char *read = malloc(CLI_TEXT_BYTES_MAX + 1);
  enum sc_error error = read == NULL ? sc_fail(message, SC_NO_MEMORY, "%.200s: no memory", path)
                                     : read_all(file, path, read, message);
  fclose(file);
  if (error != SC_OK) {
    free(read);
    return error;
  }
  skip_mark(read);
  *text = read;
  return SC_OK;
}
