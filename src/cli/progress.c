/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Progress on standard error, and signals that end the work in an orderly way. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <string.h>
#include <sys/ioctl.h>
#include <time.h>
#include <unistd.h>

#include <sidecomb/analysis.h>

#include "cli/output.h"
#include "cli/progress.h"

/* timeout(1) sends each signal twice, to the program and to its group. */
enum { ECHO_MS = 500 };
/* Of a line that is shown: for the narrowest terminal, and at most. */
enum { COLUMNS_LEAST = 39, COLUMNS_MOST = 79 };

/* Files that are written in blocks let mostly less pass from one to the next; what goes into a log
 * shall not be about each of them. */
static const double silence_shown_s = 2, silence_told_s = 5;

static volatile sig_atomic_t caught;
static atomic_llong caught_at_ms;

static long long now_ms(void)
{
  struct timespec now; /* the time of day may be set */
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

/* The last column stays free: some terminals go to the next line there. */
static int columns(void)
{
  struct winsize size;
  if (ioctl(STDERR_FILENO, TIOCGWINSZ, &size) != 0 || size.ws_col <= COLUMNS_LEAST)
    return COLUMNS_LEAST;
  return size.ws_col <= COLUMNS_MOST ? size.ws_col - 1 : COLUMNS_MOST;
}

static void show(struct cli_progress *progress, const char *text)
{
  fprintf(stderr, "\r%-*s", columns(), text);
  fflush(stderr);
  progress->shown = true;
}

/* Samples came, or the work needs none. */
static void end_silence(struct cli_progress *progress, double now)
{
  if (progress->told)
    fprintf(stderr, "sidecomb: samples come again, after %.0f s\n", now - progress->silent_since_s);
  else if (progress->silent_since_s > 0)
    cli_progress_clear(progress);
  progress->told = false;
  progress->silent_since_s = 0;
}

static void say_silence(struct cli_progress *progress, double now, bool again)
{
  char text[COLUMNS_LEAST + 1];
  const double silent_s = now - progress->silent_since_s;
  if (isatty(STDERR_FILENO)) {
    snprintf(text, sizeof text, "nothing came for %.0f s", floor(silent_s));
    if (silent_s >= silence_shown_s && again)
      show(progress, text);
    return;
  }
  if (silent_s >= silence_told_s && !progress->told) {
    fprintf(stderr, "sidecomb: nothing came for %.0f s\n", floor(silent_s));
    progress->told = true;
  }
}

/* "12 of 80 s came, 1 gap; Ctrl-C ends that"; how it ends is left out where there is no room. */
static void write_amount(const struct cli_progress *progress, char *text, size_t size)
{
  static const char end[] = "; Ctrl-C ends that";
  const struct sc_source *source = progress->source;
  const double came_s = (double)sc_source_position(source) / sc_source_info(source)->sample_rate_hz;
  char whole[32] = "", gaps[32] = "";
  struct sc_losses losses;
  sc_source_losses(source, &losses);
  const unsigned long long count = losses.overruns + losses.drops + losses.suspends;
  if (progress->duration_s > 0)
    snprintf(whole, sizeof whole, " of %.9g", progress->duration_s);
  if (count > 0)
    snprintf(gaps, sizeof gaps, ", %llu gap%s", count, count == 1 ? "" : "s");
  snprintf(text, size, "%.0f%s s came%s", floor(came_s), whole, gaps);
  if (strlen(text) + sizeof end - 1 <= (size_t)columns())
    strcat(text, end);
}

static bool goes_on(struct cli_progress *progress)
{
  progress->stopped = caught != 0;
  return !progress->stopped;
}

bool cli_progress_show(void *context, double share)
{
  struct cli_progress *progress = context;
  char text[COLUMNS_MOST + 1];
  const double now = 1e-3 * (double)now_ms();
  const time_t second = (time_t)now;
  const bool again = progress->last != 0 && second != progress->last;
  progress->last = second;
  if (share == SC_NOTHING_CAME) {
    if (!(progress->silent_since_s > 0))
      progress->silent_since_s = now;
    say_silence(progress, now, again);
    return goes_on(progress);
  }
  end_silence(progress, now);
  if (share >= 0)
    snprintf(text, sizeof text, "%3.0f %%", 100 * share);
  else if (progress->source != NULL)
    write_amount(progress, text, sizeof text);
  else
    return goes_on(progress);
  if (isatty(STDERR_FILENO) && again)
    show(progress, text);
  return goes_on(progress);
}

void cli_progress_clear(const struct cli_progress *progress)
{
  if (progress->shown)
    fprintf(stderr, "\r%*s\r", columns(), "");
}
