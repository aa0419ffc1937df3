/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The process: locale and signals, then the arguments. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <locale.h>
#ifdef __GLIBC__
#include <malloc.h>
#endif
#include <signal.h>

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

int main(int argc, char **argv)
{
  /* Characters only: the decimal point stays a point. */
  setlocale(LC_CTYPE, "");
  save_memory();
  /* Both are then errors of the write, and what was begun is cleared away. */
  signal(SIGPIPE, SIG_IGN);
  signal(SIGXFSZ, SIG_IGN);
  return (int)cli_main(argc, argv);
}
