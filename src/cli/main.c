/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The process: locale and signals, then the arguments. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <fcntl.h>
#include <locale.h>
#ifdef __GLIBC__
#include <malloc.h>
#endif
#include <signal.h>
#include <unistd.h>

#include "cli/command.h"

/* One pool for all threads, as none of them takes memory while samples come, and large blocks back
 * to the system when they are freed: 2 MB less of a report's 60. */
static void save_memory(void)
{
#ifdef __GLIBC__
  (void)mallopt(M_ARENA_MAX, 1);
  (void)mallopt(M_MMAP_THRESHOLD, 1 << 17);
#endif
}

/* Whoever starts the program with one of the three closed would have the next file that is opened
 * take its place, and what is printed written into it. Opened the wrong way round, each fails as a
 * closed one does. */
static void keep_standard_descriptors(void)
{
  int opened;
  do
    opened = open("/dev/null", fcntl(STDIN_FILENO, F_GETFD) < 0 ? O_WRONLY : O_RDONLY);
  while (opened >= 0 && opened <= STDERR_FILENO);
  if (opened >= 0)
    (void)close(opened);
}

int main(int argc, char **argv)
{
  keep_standard_descriptors();
  /* Characters only: the decimal point stays a point. */
  setlocale(LC_CTYPE, "");
  save_memory();
  /* Both are then errors of the write, and what was begun is cleared away. */
  signal(SIGPIPE, SIG_IGN);
  signal(SIGXFSZ, SIG_IGN);
  return (int)cli_main(argc, argv);
}
