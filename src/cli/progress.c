/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Progress on standard error, and signals that end the work in an orderly way. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <unistd.h>

#include "cli/output.h"
#include "cli/progress.h"

/* timeout(1) sends each signal twice, to the program and to its group. */
enum { ECHO_MS = 500 };
static volatile sig_atomic_t caught;
static atomic_llong caught_at_ms;

static long long now_ms(void)
{
  struct timespec now;
  clock_gettime(CLOCK_MONOTONIC, &now);
  return 1000LL * now.tv_sec + now.tv_nsec / 1000000;
}

static void note(int number)
{
  if (caught == 0) {
    caught_at_ms = now_ms();
    caught = number;
  } else if (now_ms() - caught_at_ms > ECHO_MS) {
    signal(number, SIG_DFL);
    raise(number);
  }
}

static void take_over(int number)
{
  struct sigaction action = {.sa_handler = note}, before;
  if (number == SIGHUP && sigaction(number, NULL, &before) == 0 && before.sa_handler == SIG_IGN)
    return; /* nohup(1): it is to outlive its terminal */
  sigaction(number, &action, NULL);
}

void cli_signals_catch(void)
{
  caught = 0;
  take_over(SIGINT);
  take_over(SIGTERM);
  take_over(SIGHUP);
}

int cli_signal_caught(void)
{
  return caught;
}

enum cli_status cli_end_by_signal(void)
{
  const int number = caught;
  cli_complain("interrupted; no file is left behind");
  signal(number, SIG_DFL);
  raise(number);
  return CLI_FAILED;
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
  progress->stopped = caught != 0;
  return !progress->stopped;
}

void cli_progress_clear(const struct cli_progress *progress)
{
  if (progress->shown)
    fputs("\r     \r", stderr);
}
