/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Progress on standard error, and signals that end the work in an orderly way. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <signal.h>
#include <stdio.h>
#include <unistd.h>

#include "cli/progress.h"

static volatile sig_atomic_t caught;

static void note(int number)
{
  caught = number;
}

void cli_signal_catch(int number)
{
  struct sigaction action = {.sa_handler = note, .sa_flags = (int)SA_RESETHAND};
  caught = 0;
  sigaction(number, &action, NULL);
}

int cli_signal_caught(void)
{
  return caught;
}

bool cli_progress_show(void *context, double share)
{
  struct cli_progress *progress = context;
  struct timespec steady; /* the time of day may be set */
  clock_gettime(CLOCK_MONOTONIC, &steady);
  const time_t now = steady.tv_sec;
  if (progress->last == 0)
    progress->last = now;
  if (isatty(STDERR_FILENO) && now != progress->last && share >= 0) {
    fprintf(stderr, "\r%3.0f %%", 100 * share);
    fflush(stderr);
    progress->shown = true;
  }
  progress->last = now;
  return !caught;
}

void cli_progress_clear(const struct cli_progress *progress)
{
  if (progress->shown)
    fputs("\r     \r", stderr);
}
