/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A handler sets a flag and writes a byte to a pipe; the loop does the rest. */
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <signal.h>
#include <string.h>
#include <unistd.h>

#include "view/signals.h"

static const int caught[] = {SIGWINCH, SIGTSTP, SIGCONT, SIGTERM, SIGINT, SIGHUP, SIGQUIT};
enum { CAUGHT = sizeof caught / sizeof *caught };

static volatile sig_atomic_t arrived[CAUGHT];
static struct sigaction before[CAUGHT];
static int wake[2] = {-1, -1};

static void on_signal(int number)
{
  int kept = errno;
  for (int i = 0; i < CAUGHT; i++)
    if (caught[i] == number)
      arrived[i] = 1;
  if (write(wake[1], "", 1) < 0)
    errno = 0; /* the pipe is full: the loop wakes anyway */
  errno = kept;
}

static void catch_signal(int i)
{
  struct sigaction action = {.sa_handler = on_signal, .sa_flags = SA_RESTART};
  sigemptyset(&action.sa_mask);
  sigaction(caught[i], &action, NULL);
}

int view_signals_open(void)
{
  if (pipe(wake) != 0)
    return -1;
  for (int end = 0; end < 2; end++) {
    fcntl(wake[end], F_SETFL, O_NONBLOCK);
    fcntl(wake[end], F_SETFD, FD_CLOEXEC);
  }
  for (int i = 0; i < CAUGHT; i++) {
    arrived[i] = 0;
    sigaction(caught[i], NULL, &before[i]);
    if (caught[i] != SIGTSTP || before[i].sa_handler != SIG_IGN)
      catch_signal(i);
  }
  return wake[0];
}

static bool take(int number)
{
  for (int i = 0; i < CAUGHT; i++) {
    if (caught[i] != number || !arrived[i])
      continue;
    arrived[i] = 0;
    return true;
  }
  return false;
}

struct view_signals view_signals_take(void)
{
  char bytes[64];
  while (read(wake[0], bytes, sizeof bytes) > 0)
    continue;
  struct view_signals signals = {
      .resized = take(SIGWINCH), .suspend = take(SIGTSTP), .resumed = take(SIGCONT)};
  static const int endings[] = {SIGTERM, SIGINT, SIGHUP, SIGQUIT};
  for (size_t i = 0; i < sizeof endings / sizeof *endings; i++)
    if (take(endings[i]))
      signals.ending = endings[i];
  return signals;
}

void view_signals_stop(void)
{
  struct sigaction stops = {.sa_handler = SIG_DFL}, ours;
  sigemptyset(&stops.sa_mask);
  sigaction(SIGTSTP, &stops, &ours);
  raise(SIGTSTP);
  sigaction(SIGTSTP, &ours, NULL);
  (void)take(SIGCONT); /* the caller knows */
}

void view_signals_close(void)
{
  if (wake[0] < 0)
    return;
  for (int i = 0; i < CAUGHT; i++)
    sigaction(caught[i], &before[i], NULL);
  close(wake[0]);
  close(wake[1]);
  wake[0] = wake[1] = -1;
}

void view_signals_block(bool undo)
{
  sigset_t set;
  sigemptyset(&set);
  for (int i = 0; i < CAUGHT; i++)
    sigaddset(&set, caught[i]);
  pthread_sigmask(undo ? SIG_UNBLOCK : SIG_BLOCK, &set, NULL);
}
