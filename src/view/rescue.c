/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A last handler that only makes calls which a signal handler may make (POSIX.1-2008,
 * 2.4.3), and the detour of standard error. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

#include "view/rescue.h"

static const int fatal[] = {SIGSEGV, SIGBUS,  SIGFPE,  SIGILL,  SIGABRT,   SIGSYS, SIGTRAP,
                            SIGXCPU, SIGALRM, SIGUSR1, SIGUSR2, SIGVTALRM, SIGPROF};
enum { FATAL = sizeof fatal / sizeof *fatal, RESTORE_MOST = 256 };

static int terminal = -1;
static struct termios modes;
static char restore_text[RESTORE_MOST];
static size_t restore_length;
static struct sigaction before[FATAL];

static int held_errors = -1; /* a copy of the real standard error while it is held */
static FILE *kept_errors;

static void copy_errors(void)
{
  char bytes[512];
  ssize_t got;
  if (kept_errors == NULL || lseek(fileno(kept_errors), 0, SEEK_SET) != 0)
    return;
  while ((got = read(fileno(kept_errors), bytes, sizeof bytes)) > 0)
    if (write(STDERR_FILENO, bytes, (size_t)got) < 0)
      return;
}

static void on_fault(int number)
{
  (void)tcsetattr(terminal, TCSANOW, &modes);
  (void)!write(terminal, restore_text, restore_length);
  if (held_errors >= 0) {
    dup2(held_errors, STDERR_FILENO);
    copy_errors();
  }
  signal(number, SIG_DFL);
  raise(number);
}

/* A handler that is there already, such as a sanitizer's, knows better what to do. */
static void catch_fault(int i)
{
  struct sigaction action = {.sa_handler = on_fault};
  sigemptyset(&action.sa_mask);
  sigaction(fatal[i], NULL, &before[i]);
  if (before[i].sa_handler == SIG_DFL)
    sigaction(fatal[i], &action, NULL);
}

void view_rescue_arm(int descriptor, const char *restore, size_t length)
{
  if (length > RESTORE_MOST || tcgetattr(descriptor, &modes) != 0)
    return;
  memcpy(restore_text, restore, length);
  restore_length = length;
  terminal = descriptor;
  for (int i = 0; i < FATAL; i++)
    catch_fault(i);
}

void view_rescue_disarm(void)
{
  for (int i = 0; terminal >= 0 && i < FATAL; i++)
    sigaction(fatal[i], &before[i], NULL);
  terminal = -1;
}

void view_rescue_hold_errors(void)
{
#ifndef SC_SANITIZED /* a sanitizer ends the program without coming back here */
  if (held_errors >= 0 || !isatty(STDERR_FILENO))
    return;
  fflush(stderr);
  kept_errors = tmpfile();
  held_errors = kept_errors != NULL ? dup(STDERR_FILENO) : -1;
  if (held_errors >= 0)
    dup2(fileno(kept_errors), STDERR_FILENO);
#endif
}

void view_rescue_release_errors(void)
{
  if (held_errors < 0)
    return;
  fflush(stderr);
  dup2(held_errors, STDERR_FILENO);
  close(held_errors);
  held_errors = -1;
  copy_errors();
  fclose(kept_errors);
  kept_errors = NULL;
}
