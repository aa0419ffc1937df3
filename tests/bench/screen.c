/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The viewer on a long capture, driven through a terminal of our own: how soon it shows a
 * picture, how long a key waits for the redrawn screen, how much is sent for it, and what it
 * costs when nobody touches it. The captures are sparse: islands of signal in a sea of zeros. */
#define _GNU_SOURCE /* wait4 */
#include <config.h>

#include <fcntl.h>
#include <math.h>
#include <poll.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "bench/bench.h"

enum { RATE_HZ = 2400000, FRAME_BYTES = 4, WIDTH = 120, HEIGHT = 40, TAIL = 64 };
static const char capture_path[] = "bench-screen.ci16", island_path[] = "bench-island.ci16";
static const double island_s = 3, ten_minutes_bytes = 600.0 * RATE_HZ * FRAME_BYTES,
                    large_bytes = 14e9;
/* The bounds of the project: a key is answered before a person sees a delay. */
static const double key_bound_ms = 30, first_bound_ms = 500, idle_bound_percent = 5,
                    resident_bound_mb = 60;
/* A pause this long in the output ends a frame; so long nothing means that it is quiet. */
static const int frame_gap_ms = 6, quiet_ms = 120;
static const double give_up_s = 60;

struct screen {
  pid_t child;
  int terminal;
  double sent;        /* bytes so far */
  double last_at;     /* when the last of them came */
  const char *wanted; /* a text that is waited for */
  bool seen;
  char bytes[TAIL + (1 << 16)]; /* the last of what came before, then what came */
};

static void give_up(const char *what)
{
  perror(what);
  unlink(capture_path);
  unlink(island_path);
  exit(EXIT_FAILURE);
}

static double now_s(void)
{
  struct timespec time;
  clock_gettime(CLOCK_MONOTONIC, &time);
  return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

/* ---- the captures */

static void run(char *const *words)
{
  int status;
  pid_t child = fork();
  if (child == 0) {
    execv(words[0], words);
    _exit(127);
  }
  if (child < 0 || waitpid(child, &status, 0) != child || status != 0)
    give_up(words[1]);
}

static void make_island(void)
{
  char seconds[16], program[] = "./sidecomb", verb[] = "compose", ready[] = "--ready",
                    what[] = "data", rate[] = "--rate", hz[] = "2400000", length[] = "--seconds",
                    out[] = "-o", replace[] = "--replace", path[sizeof island_path];
  snprintf(seconds, sizeof seconds, "%g", island_s);
  strcpy(path, island_path);
  char *const words[] = {program, verb,    ready, what, rate,    hz,
                         length,  seconds, out,   path, replace, NULL};
  run(words);
}

static void put_island(int file, const char *island, size_t size, double at_bytes)
{
  off_t at = (off_t)at_bytes / FRAME_BYTES * FRAME_BYTES;
  for (size_t done = 0; done < size;) {
    ssize_t written = pwrite(file, island + done, size - done, at + (off_t)done);
    if (written <= 0)
      give_up(capture_path);
    done += (size_t)written;
  }
}

/* Signal at the start, in the middle and at the end of so many bytes. */
static void make_capture(double bytes)
{
  size_t size = (size_t)(island_s * RATE_HZ) * FRAME_BYTES;
  char *island = malloc(size);
  int from = open(island_path, O_RDONLY), to = open(capture_path, O_RDWR | O_CREAT | O_TRUNC, 0600);
  if (island == NULL || from < 0 || to < 0 || read(from, island, size) != (ssize_t)size ||
      ftruncate(to, (off_t)bytes / FRAME_BYTES * FRAME_BYTES) != 0)
    give_up(capture_path);
  put_island(to, island, size, 0);
  put_island(to, island, size, bytes / 2);
  put_island(to, island, size, bytes - (double)size);
  close(from);
  close(to);
  free(island);
}

/* ---- the terminal */

static void become_viewer(const char *name)
{
  setsid();
  int slave = open(name, O_RDWR);
  if (slave < 0 || ioctl(slave, TIOCSCTTY, 0) != 0)
    _exit(126);
  for (int i = 0; i < 3; i++)
    dup2(slave, i);
  setenv("TERM", "xterm-256color", 1);
  setenv("LC_ALL", "C.UTF-8", 1);
  unsetenv("NO_COLOR");
  execl("./sidecomb", "./sidecomb", "view", capture_path, "--type", "ci16_le", "--rate", "2400000",
        (char *)NULL);
  _exit(127);
}

static void start(struct screen *screen)
{
  struct winsize size = {.ws_row = HEIGHT, .ws_col = WIDTH};
  *screen = (struct screen){.terminal = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC)};
  if (screen->terminal < 0 || grantpt(screen->terminal) != 0 || unlockpt(screen->terminal) != 0 ||
      ioctl(screen->terminal, TIOCSWINSZ, &size) != 0)
    give_up("a terminal");
  screen->child = fork();
  if (screen->child == 0)
    become_viewer(ptsname(screen->terminal));
  if (screen->child < 0)
    give_up("fork");
}

/* Takes what comes within the time. False: nothing did. */
static bool take(struct screen *screen, int within_ms)
{
  struct pollfd wait = {.fd = screen->terminal, .events = POLLIN};
  if (poll(&wait, 1, within_ms) <= 0)
    return false;
  ssize_t got = read(screen->terminal, screen->bytes + TAIL, sizeof screen->bytes - TAIL);
  if (got <= 0)
    return false;
  screen->last_at = now_s();
  screen->sent += (double)got;
  if (screen->wanted != NULL &&
      memmem(screen->bytes, TAIL + (size_t)got, screen->wanted, strlen(screen->wanted)) != NULL)
    screen->seen = true;
  memmove(screen->bytes, screen->bytes + got, TAIL);
  return true;
}

static void settle(struct screen *screen, int pause_ms)
{
  double end = now_s() + give_up_s;
  while (take(screen, pause_ms) && now_s() < end)
    continue;
}

static void press(struct screen *screen, char key)
{
  if (write(screen->terminal, &key, 1) != 1)
    give_up("the terminal");
}

/* From a key to the end of the write of the redrawn screen, in milliseconds. */
static double answer_ms(struct screen *screen, char key, double *bytes)
{
  settle(screen, quiet_ms);
  double before = screen->sent, pressed = now_s();
  press(screen, key);
  if (!take(screen, 5000))
    give_up("the viewer does not answer");
  while (take(screen, frame_gap_ms))
    continue;
  *bytes = screen->sent - before;
  return 1e3 * (screen->last_at - pressed);
}

static int ascending(const void *a, const void *b)
{
  double left = *(const double *)a, right = *(const double *)b;
  return (left > right) - (left < right);
}

static double share_of(double *values, size_t count, double share)
{
  qsort(values, count, sizeof *values, ascending);
  return values[(size_t)((double)(count - 1) * share)];
}

static void say(const char *what, const char *which, double value, const char *unit, double bound)
{
  char name[64];
  snprintf(name, sizeof name, "view_%s_%s", what, which);
  bench_say(name, value, unit, bound);
}

static void answer_keys(struct screen *screen, const char *which)
{
  static const char keys[] = "hnnpp++++----mmkkkvv(()):span 2kvvhuuu[[]]";
  double waited[sizeof keys], bytes[sizeof keys];
  size_t count = sizeof keys - 1;
  for (size_t i = 0; i < count; i++)
    waited[i] = answer_ms(screen, keys[i], &bytes[i]);
  say("key", which, share_of(waited, count, 0.5), "ms", key_bound_ms);
  say("key_95", which, share_of(waited, count, 0.95), "ms", key_bound_ms);
  say("key_bytes", which, share_of(bytes, count, 0.5), "B", NAN);
  say("key_bytes_95", which, share_of(bytes, count, 0.95), "B", NAN);
}

/* ---- what it costs */

static double busy_s(pid_t child)
{
  clockid_t clock;
  struct timespec time;
  if (clock_getcpuclockid(child, &clock) != 0 || clock_gettime(clock, &time) != 0)
    give_up("the viewer's processor time");
  return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static double idle_percent(struct screen *screen)
{
  double before = busy_s(screen->child), from = now_s(), end = from + 4;
  while (now_s() < end)
    take(screen, 200);
  return 100 * (busy_s(screen->child) - before) / (now_s() - from);
}

static double finish(struct screen *screen)
{
  int status;
  struct rusage usage;
  press(screen, 'q');
  settle(screen, 2000);
  if (wait4(screen->child, &status, 0, &usage) != screen->child || status != 0)
    give_up("the viewer did not end well");
  close(screen->terminal);
  return (double)usage.ru_maxrss / 1024;
}

/* Seconds from `from` until `text` was sent. */
static double wait_for(struct screen *screen, const char *text, double from)
{
  screen->wanted = text;
  screen->seen = false;
  while (!screen->seen && now_s() - from < give_up_s)
    take(screen, 20);
  if (!screen->seen)
    give_up(text);
  return screen->last_at - from;
}

/* From the key to the first average over all of the capture, to 20 ms: everything is asked for
 * again and again, since only what changes is sent. */
static double whole_ms(struct screen *screen, double capture_s)
{
  enum { REDRAW = 12 };
  char all[16];
  snprintf(all, sizeof all, "all %d:", (int)(capture_s / 60));
  settle(screen, quiet_ms);
  double from = now_s();
  screen->wanted = all;
  screen->seen = false;
  press(screen, '*');
  while (!screen->seen && now_s() - from < give_up_s) {
    press(screen, REDRAW);
    settle(screen, 20);
  }
  screen->wanted = NULL;
  if (!screen->seen)
    give_up("no average over all of the capture");
  return 1e3 * (screen->last_at - from);
}

static void look_at(const char *which, double bytes)
{
  static struct screen screen;
  make_capture(bytes);
  double from = now_s();
  start(&screen);
  say("first_picture", which, 1e3 * wait_for(&screen, "averaged", from), "ms", first_bound_ms);
  answer_keys(&screen, which);
  say("whole", which, whole_ms(&screen, bytes / FRAME_BYTES / RATE_HZ), "ms", NAN);
  press(&screen, 'X'); /* stops the survey */
  settle(&screen, 500);
  say("idle", which, idle_percent(&screen), "%", idle_bound_percent);
  say("resident", which, finish(&screen), "MB", resident_bound_mb);
  unlink(capture_path);
}

int main(int argc, char **argv)
{
  if (!bench_start(argc, argv))
    return EXIT_FAILURE;
  make_island();
  look_at("10_minutes", ten_minutes_bytes);
  look_at("14_gb", large_bytes);
  unlink(island_path);
  return bench_end();
}
