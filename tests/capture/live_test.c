/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The ring between a device and its reader, with a device that gives what it is told to. Its
 * frames are numbered, so that what is missing is known. */
#include <config.h>

#include <math.h>
#include <poll.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "capture/live.h"
#include "capture/reading.h"
#include "capture/suites.h"

static const double rate_hz = 16384; /* a ring of 2 s, and 1639 frames a call */
enum { RING_FRAMES = 2 * 16384 };

/* What the device is to do next; all under the lock. */
struct bench {
  pthread_mutex_t lock;
  pthread_cond_t changed;
  size_t allowed; /* frames that may still be given */
  long next;      /* number of the next frame */
  struct capture_taken order; /* its loss goes with the next frames */
  bool fails, idle;
  int closed;
};

static struct bench bench;

static void wait_for_orders(void)
{
  struct timespec until;
  clock_gettime(CLOCK_REALTIME, &until);
  until.tv_nsec += CAPTURE_LIVE_WAIT_MS * 1000000L;
  until.tv_sec += until.tv_nsec / 1000000000;
  until.tv_nsec %= 1000000000;
  (void)pthread_cond_timedwait(&bench.changed, &bench.lock, &until);
}

static enum sc_error take(void *device, float *samples, size_t frames,
                          struct capture_taken *taken, struct sc_message *message)
{
  enum sc_error error = SC_OK;
  ck_assert_ptr_eq(device, &bench);
  pthread_mutex_lock(&bench.lock);
  bench.idle = bench.allowed == 0; /* all that was given before is in the ring by now */
  pthread_cond_broadcast(&bench.changed);
  if (bench.allowed == 0 && !bench.fails)
    wait_for_orders();
  if (bench.allowed > 0) {
    taken->frames = frames < bench.allowed ? frames : bench.allowed;
    taken->loss = bench.order.loss;
    taken->lost = bench.order.lost;
    taken->centre_hz = bench.order.centre_hz;
    bench.next += (long)bench.order.lost;
    bench.order.loss = CAPTURE_LOSS_NONE;
    bench.order.lost = 0;
    for (size_t i = 0; i < taken->frames; i++)
      samples[i] = (float)bench.next++;
    bench.allowed -= taken->frames;
  } else if (bench.fails) {
    error = sc_fail(message, SC_READ_FAILED, "bench: is gone");
  }
  pthread_mutex_unlock(&bench.lock);
  return error;
}

static void close_bench(void *device)
{
  ck_assert_ptr_eq(device, &bench);
  bench.closed++;
}

static const struct capture_device driver = {take, close_bench};

static struct capture *open_bench(void)
{
  struct capture_facts facts = {.rate_hz = rate_hz, .channels = 1, .low = -1, .high = 1};
  struct capture *capture;
  bench = (struct bench){.order.centre_hz = 1e6};
  pthread_mutex_init(&bench.lock, NULL);
  pthread_cond_init(&bench.changed, NULL);
  ck_assert_int_eq(capture_live_open(&driver, &bench, &facts, 1e6, "bench", &capture, NULL),
                   SC_OK);
  return capture;
}

static void close_all(struct capture *capture)
{
  capture_close(capture);
  ck_assert_int_eq(bench.closed, 1);
}

/* Lets the device give so many frames, and waits until it has. */
static void give(size_t frames)
{
  pthread_mutex_lock(&bench.lock);
  bench.allowed += frames;
  bench.idle = false;
  pthread_cond_broadcast(&bench.changed);
  while (!bench.idle)
    pthread_cond_wait(&bench.changed, &bench.lock);
  pthread_mutex_unlock(&bench.lock);
}

static void order(enum capture_loss loss, uint64_t lost, double centre_hz)
{
  pthread_mutex_lock(&bench.lock);
  bench.order = (struct capture_taken){.loss = loss, .lost = lost, .centre_hz = centre_hz};
  pthread_mutex_unlock(&bench.lock);
}

static float read_all(struct capture *capture, size_t frames)
{
  static float samples[RING_FRAMES];
  ck_assert_uint_eq(reading_frames(capture, samples, frames), frames);
  return samples[0];
}

START_TEST(gives_all_in_order)
{
  struct capture *capture = open_bench();
  struct sc_losses losses;
  float samples[5000];
  ck_assert(capture->facts.live);
  for (int round = 0; round < 20; round++) { /* more than the ring holds */
    give(5000);
    ck_assert_uint_eq(reading_frames(capture, samples, 5000), 5000);
    for (int i = 0; i < 5000; i++)
      ck_assert_int_eq(lrintf(samples[i]), 5000 * round + i);
  }
  ck_assert(!capture->gap);
  ck_assert_uint_eq(capture->position, 100000);
  ck_assert_int_eq(capture_seek(capture, 0), SC_UNSUPPORTED);
  capture_live_losses(capture, &losses);
  ck_assert_uint_eq(losses.drops + losses.overruns + losses.suspends, 0);
  close_all(capture);
}
END_TEST

static bool readable(struct capture *capture, int wait_ms)
{
  struct pollfd wait = {.fd = capture->driver->descriptor(capture), .events = POLLIN};
  return poll(&wait, 1, wait_ms) > 0;
}

START_TEST(can_be_waited_for)
{
  struct capture *capture = open_bench();
  ck_assert(!readable(capture, 0));
  give(100);
  ck_assert(readable(capture, 1000));
  (void)read_all(capture, 60);
  ck_assert(readable(capture, 0));
  (void)read_all(capture, 40);
  ck_assert(!readable(capture, 0));
  close_all(capture);
}
END_TEST

START_TEST(a_loss_parts_the_frames)
{
  struct capture *capture = open_bench();
  struct sc_losses losses;
  float samples[3000];
  size_t got;
  give(1000);
  order(CAPTURE_LOSS_OVERRUN, 77, 1e6);
  give(1000);
  (void)readable(capture, 1000);
  ck_assert_uint_eq(reading_frames(capture, samples, 900), 900);
  ck_assert_int_eq(capture_read(capture, samples, 3000, &got, NULL), SC_OK);
  ck_assert_uint_eq(got, 100); /* not across */
  ck_assert(!capture->gap);
  ck_assert_int_eq(capture_read(capture, samples, 3000, &got, NULL), SC_OK);
  ck_assert(capture->gap);
  ck_assert_uint_eq(capture->lost, 77);
  ck_assert_int_eq(lrintf(samples[0]), 1077);
  capture_live_losses(capture, &losses);
  ck_assert_uint_eq(losses.overruns, 1);
  ck_assert_uint_eq(losses.overrun_frames, 77);
  close_all(capture);
}
END_TEST

START_TEST(a_setting_changes_with_its_frames)
{
  struct capture *capture = open_bench();
  give(10);
  order(CAPTURE_LOSS_NONE, 0, 2e6);
  give(10);
  (void)read_all(capture, 10);
  ck_assert_double_eq(capture->segments[0].centre_hz, 1e6);
  (void)read_all(capture, 10);
  ck_assert_double_eq(capture->segments[0].centre_hz, 2e6);
  ck_assert(!capture->gap);
  close_all(capture);
}
END_TEST

/* The reader sleeps; then it finds the oldest frames, and behind them one gap that is stated to
 * the frame. After that at least half a ring follows without one. */
START_TEST(a_slow_reader_loses_whole_blocks)
{
  struct capture *capture = open_bench();
  struct sc_losses losses;
  static float samples[RING_FRAMES];
  size_t got = 0;
  give(10 * RING_FRAMES);
  capture_live_losses(capture, &losses);
  ck_assert_uint_eq(losses.drops, 1);
  uint64_t held = 10 * RING_FRAMES - losses.dropped_frames;
  ck_assert_uint_le(held, RING_FRAMES);
  ck_assert_uint_gt(held, RING_FRAMES - 2 * 1639);
  ck_assert_uint_eq(reading_frames(capture, samples, (size_t)held), held);
  ck_assert_int_eq(lrintf(samples[held - 1]), (long)held - 1);
  ck_assert(!capture->gap);
  give(RING_FRAMES / 2);
  ck_assert_int_eq(capture_read(capture, samples, RING_FRAMES, &got, NULL), SC_OK);
  ck_assert(capture->gap);
  ck_assert_uint_eq(capture->lost, losses.dropped_frames);
  ck_assert_int_eq(lrintf(samples[0]), 10 * RING_FRAMES);
  capture->gap = false;
  (void)read_all(capture, RING_FRAMES / 2 - got);
  ck_assert(!capture->gap);
  close_all(capture);
}
END_TEST

START_TEST(the_end_comes_after_the_frames)
{
  struct capture *capture = open_bench();
  struct sc_message message = {""};
  float samples[10];
  size_t got;
  give(10);
  pthread_mutex_lock(&bench.lock);
  bench.fails = true;
  pthread_cond_broadcast(&bench.changed);
  pthread_mutex_unlock(&bench.lock);
  (void)read_all(capture, 10);
  for (int again = 0; again < 2; again++) {
    ck_assert(readable(capture, 1000));
    ck_assert_int_eq(capture_read(capture, samples, 10, &got, &message), SC_READ_FAILED);
    ck_assert_uint_eq(got, 0);
    ck_assert_str_eq(message.text, "bench: is gone");
  }
  close_all(capture);
}
END_TEST

Suite *live_suite(void)
{
  Suite *suite = suite_create("live");
  TCase *tests = tcase_create("live");
  tcase_add_test(tests, gives_all_in_order);
  tcase_add_test(tests, can_be_waited_for);
  tcase_add_test(tests, a_loss_parts_the_frames);
  tcase_add_test(tests, a_setting_changes_with_its_frames);
  tcase_add_test(tests, a_slow_reader_loses_whole_blocks);
  tcase_add_test(tests, the_end_comes_after_the_frames);
  suite_add_tcase(suite, tests);
  return suite;
}
