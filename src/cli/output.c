/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Standard output and error. SIGPIPE is ignored by main(), so that a closed pipe is seen here
 * as an error of the write. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <errno.h>
#include <langinfo.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include "cli/output.h"

enum { WIDTH_DEFAULT = 80, WIDTH_MOST = 1000 };

enum cli_status cli_complain(const char *line)
{
  fprintf(stderr, "sidecomb: %s\n", line);
  return CLI_FAILED;
}

enum cli_status cli_write(const char *text)
{
  if (fputs(text, stdout) >= 0 && fflush(stdout) == 0)
    return CLI_MEASURED;
  if (errno == EPIPE)
    return CLI_FAILED;
  char line[256];
  snprintf(line, sizeof line, "standard output: cannot write: %s", strerror(errno));
  return cli_complain(line);
}

enum cli_status cli_print(enum sc_error error, char *text, const char *end)
{
  if (error != SC_OK)
    return cli_complain(sc_error_text(error));
  enum cli_status status = cli_write(text);
  free(text);
  return status == CLI_MEASURED && end[0] != '\0' ? cli_write(end) : status;
}

size_t cli_width(void)
{
  struct winsize size;
  if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0)
    return size.ws_col;
  const char *columns = getenv("COLUMNS");
  unsigned long width = columns != NULL ? strtoul(columns, NULL, 10) : 0;
  return width > 0 && width <= WIDTH_MOST ? width : WIDTH_DEFAULT;
}

bool cli_utf8(void)
{
  return strcmp(nl_langinfo(CODESET), "UTF-8") == 0;
}
