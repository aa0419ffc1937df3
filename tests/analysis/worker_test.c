/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The queue between threads: order, cuts, gaps, and that draining waits. */
#include <config.h>

#include "analysis/suites.h"
#include "analysis/worker.h"

/* Counts what comes: samples are to be 0, 1, 2 ... again and again up to 2^20. */
struct counter {
  size_t frames, gaps, largest;
  size_t width;
  bool wrong;
};

enum { ROUND = 1 << 20, BLOCK = 100003 };

static void count(void *context, const float *samples, size_t frames, bool discontinuity)
{
  struct counter *counter = context;
  counter->gaps += discontinuity;
  for (size_t i = 0; i < frames * counter->width; i++)
    counter->wrong =
        counter->wrong || samples[i] != (float)((counter->frames * counter->width + i) % ROUND);
  counter->frames += frames;
  counter->largest = frames > counter->largest ? frames : counter->largest;
}

static void feed_blocks(struct analysis_worker *worker, struct counter *counter, size_t blocks)
{
  static float samples[2 * BLOCK];
  const struct analysis_fed fed = {count, counter, counter->width};
  for (size_t b = 0; b < blocks; b++) {
    for (size_t i = 0; i < BLOCK * counter->width; i++)
      samples[i] = (float)((b * BLOCK * counter->width + i) % ROUND);
    analysis_worker_feed(worker, &fed, samples, BLOCK, b % 5 == 0);
  }
}

static void check_all_came(struct analysis_worker *worker, size_t width)
{
  struct counter counter = {.width = width};
  feed_blocks(worker, &counter, 21);
  analysis_worker_drain(worker);
  ck_assert_uint_eq(counter.frames, 21 * BLOCK);
  ck_assert_uint_eq(counter.gaps, 5);
  ck_assert_uint_eq(counter.largest, ANALYSIS_WORKER_FLOATS / width);
  ck_assert(!counter.wrong);
}

START_TEST(all_comes_in_order_and_once)
{
  struct analysis_worker *worker = analysis_worker_create();
  ck_assert_ptr_nonnull(worker);
  check_all_came(worker, 1);
  check_all_came(worker, 2);
  analysis_worker_destroy(worker);
}
END_TEST

START_TEST(without_a_thread_it_is_done_at_once)
{
  check_all_came(NULL, 2);
  analysis_worker_destroy(NULL);
}
END_TEST

/* A gap that no samples came with is told too, and nothing at all is nothing. */
START_TEST(a_gap_alone)
{
  struct counter counter = {.width = 2};
  const struct analysis_fed fed = {count, &counter, 2};
  struct analysis_worker *worker = analysis_worker_create();
  ck_assert_ptr_nonnull(worker);
  analysis_worker_feed(worker, &fed, NULL, 0, true);
  analysis_worker_feed(worker, &fed, NULL, 0, false);
  analysis_worker_destroy(worker); /* uses what was fed */
  ck_assert_uint_eq(counter.gaps, 1);
  ck_assert_uint_eq(counter.frames, 0);
}
END_TEST

/* In turn with copies, uncut, with a thread and without. */
START_TEST(lent_samples_come_in_order)
{
  static float samples[4 * ANALYSIS_WORKER_FLOATS];
  struct counter counter = {.width = 1};
  const struct analysis_fed fed = {count, &counter, 1};
  struct analysis_worker *worker = _i == 0 ? analysis_worker_create() : NULL;
  for (size_t i = 0; i < sizeof samples / sizeof *samples; i++)
    samples[i] = (float)i;
  analysis_worker_feed(worker, &fed, samples, ANALYSIS_WORKER_FLOATS, false);
  analysis_worker_lend(worker, &fed, samples + ANALYSIS_WORKER_FLOATS, 2 * ANALYSIS_WORKER_FLOATS,
                       true);
  analysis_worker_feed(worker, &fed, samples + 3 * ANALYSIS_WORKER_FLOATS, ANALYSIS_WORKER_FLOATS,
                       false);
  analysis_worker_drain(worker);
  ck_assert_uint_eq(counter.frames, 4 * ANALYSIS_WORKER_FLOATS);
  ck_assert_uint_eq(counter.largest, 2 * ANALYSIS_WORKER_FLOATS);
  ck_assert_uint_eq(counter.gaps, 1);
  ck_assert(!counter.wrong);
  analysis_worker_destroy(worker);
}
END_TEST

/* The number of frames comes in its turn, without samples. */
static void note_passed(void *context, const float *samples, size_t frames, bool discontinuity)
{
  struct counter *counter = context;
  (void)samples;
  counter->wrong = counter->wrong || discontinuity || frames != 12345 || counter->frames != BLOCK;
  counter->largest = 0;
}

START_TEST(what_has_no_samples_comes_in_its_turn)
{
  static float samples[BLOCK];
  struct counter counter = {.width = 1};
  const struct analysis_fed fed = {count, &counter, 1}, passed = {note_passed, &counter, 0};
  struct analysis_worker *worker = _i == 0 ? analysis_worker_create() : NULL;
  for (size_t i = 0; i < BLOCK; i++)
    samples[i] = (float)i;
  analysis_worker_feed(worker, &fed, samples, BLOCK, false);
  analysis_worker_pass(worker, &passed, 12345);
  analysis_worker_drain(worker);
  ck_assert_uint_eq(counter.largest, 0);
  ck_assert(!counter.wrong);
  analysis_worker_destroy(worker);
}
END_TEST

enum { TASKS = 100 };
struct tally {
  int order[TASKS];
  int done;
};
struct errand {
  struct tally *tally;
  int number;
};

static void run_errand(void *argument)
{
  struct errand *errand = argument;
  errand->tally->order[errand->tally->done++] = errand->number;
}

START_TEST(tasks_come_in_order_and_once)
{
  struct tally tally = {.done = 0};
  struct errand errands[TASKS];
  struct analysis_worker *worker = analysis_worker_create();
  ck_assert_ptr_nonnull(worker);
  ck_assert_ptr_null(analysis_worker_apart(NULL));
  const struct measure_apart *apart = analysis_worker_apart(worker);
  for (int i = 0; i < TASKS; i++) {
    errands[i] = (struct errand){&tally, i};
    apart->start(apart->context, run_errand, &errands[i]);
  }
  apart->wait(apart->context);
  ck_assert_int_eq(tally.done, TASKS);
  for (int i = 0; i < TASKS; i++)
    ck_assert_int_eq(tally.order[i], i);
  analysis_worker_destroy(worker);
}
END_TEST

Suite *worker_suite(void)
{
  Suite *suite = suite_create("worker");
  TCase *tcase = tcase_create("worker");
  tcase_add_loop_test(tcase, lent_samples_come_in_order, 0, 2);
  tcase_add_test(tcase, all_comes_in_order_and_once);
  tcase_add_test(tcase, without_a_thread_it_is_done_at_once);
  tcase_add_test(tcase, a_gap_alone);
  tcase_add_loop_test(tcase, what_has_no_samples_comes_in_its_turn, 0, 2);
  tcase_add_test(tcase, tasks_come_in_order_and_once);
  suite_add_tcase(suite, tcase);
  return suite;
}
