/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Which stretches of a channel are taken for the carrier's: made of a turning carrier and of noise,
 * each frame numbered in its composite. */
#include <config.h>

#include <math.h>

#include "analysis/holes.h"
#include "analysis/passages.h"
#include "analysis/stretches.h"
#include "analysis/suites.h"
#include "support/random.h"
#include "support/support.h"

enum { RUN = ANALYSIS_STRETCH_FRAMES, BLOCK = 777 };
static const double noise_rms = 0.01;

/* What the sink had. */
struct heard {
  uint64_t frames, jumps;
  uint64_t quiet; /* frames without a carrier */
  uint64_t told;  /* discontinuities */
  uint64_t left_out;
  double next;
};

struct source {
  struct analysis_stretches *stretches;
  struct heard heard;
  uint64_t state, frames;
  double carrier, am, rms;
};

/* The composite of a frame is its number, negative without a carrier. */
static void hear(void *context, const float *khz, const float *filtered, size_t frames,
                 bool discontinuity)
{
  struct source *source = context;
  struct heard *heard = &source->heard;
  ck_assert_ptr_nonnull(filtered);
  heard->told += discontinuity;
  heard->jumps += heard->frames > 0 && fabs((double)khz[0]) != heard->next;
  ck_assert(discontinuity || heard->frames == 0 || fabs((double)khz[0]) == heard->next);
  for (size_t i = 0; i < frames; i++)
    heard->quiet += khz[i] < 0;
  heard->frames += frames;
  heard->next = fabs((double)khz[frames - 1]) + 1;
}

/* In its turn: what the sink had, and what it did not have, is all that came before. */
static void hear_left_out(void *context, size_t frames)
{
  struct source *source = context;
  struct heard *heard = &source->heard;
  heard->left_out += frames;
  ck_assert_uint_le(heard->frames + heard->left_out, source->frames);
}

static struct source begin(const char *test)
{
  struct source source = {.state = support_seed(test, 71), .carrier = 0.5, .rms = noise_rms};
  return source;
}

static void open_stretches(struct source *source)
{
  ck_assert_int_eq(analysis_stretches_create(0, hear, hear_left_out, source, &source->stretches),
                   SC_OK);
}

static void feed(struct source *source, bool carrier, size_t frames)
{
  float khz[BLOCK], filtered[2 * BLOCK];
  while (frames > 0) {
    const size_t count = frames < BLOCK ? frames : BLOCK;
    for (size_t i = 0; i < count; i++) {
      const double angle = 0.7 * (double)source->frames;
      const double swing = 1 + source->am * cos(0.01 * (double)source->frames);
      const double amplitude = carrier ? source->carrier * swing : 0;
      source->frames++;
      khz[i] = (float)(carrier ? 1.0 : -1.0) * (float)source->frames;
      filtered[2 * i] =
          (float)(amplitude * cos(angle) + source->rms * support_normal(&source->state));
      filtered[2 * i + 1] =
          (float)(amplitude * sin(angle) + source->rms * support_normal(&source->state));
    }
    analysis_stretches_feed(source->stretches, khz, filtered, count, false);
    frames -= count;
  }
}

static void finish(struct source *source)
{
  analysis_stretches_flush(source->stretches);
  ck_assert_uint_eq(source->heard.left_out, analysis_stretches_left_out(source->stretches));
  ck_assert_uint_eq(source->heard.frames + analysis_stretches_left_out(source->stretches),
                    source->frames);
}

START_TEST(a_carrier_passes_whole)
{
  static const struct {
    double carrier, am, rms;
  } kinds[] = {{0.5, 0, 0.01}, {0.5, 0.5, 0.01}, {0.5, 0, 0.2}, {0.5, 0, 0}, {1e-6, 0, 1e-8}};
  struct source source = begin("a_carrier_passes_whole");
  source.carrier = kinds[_i].carrier;
  source.am = kinds[_i].am;
  source.rms = kinds[_i].rms;
  open_stretches(&source);
  feed(&source, true, 20 * RUN + 5);
  finish(&source);
  ck_assert_uint_eq(source.heard.frames, 20 * RUN + 5);
  ck_assert_uint_eq(source.heard.told, 0);
  ck_assert(!analysis_stretches_begun(source.stretches));
  analysis_stretches_destroy(source.stretches);
}
END_TEST

/* Of a pause nothing passes, wherever in a run it begins and ends; of the carrier three runs at
 * most are lost at each of its ends. */
START_TEST(a_pause_is_left_out)
{
  const size_t pause = 10 * RUN + 1000 * (size_t)_i, on = 20 * RUN + 137 * (size_t)_i;
  struct source source = begin("a_pause_is_left_out");
  open_stretches(&source);
  for (int i = 0; i < 3; i++) {
    feed(&source, true, on);
    source.rms = _i == 3 ? 0 : noise_rms; /* digital silence too */
    feed(&source, false, pause);
    ck_assert(!analysis_stretches_on(source.stretches));
    source.rms = noise_rms;
  }
  feed(&source, true, on);
  ck_assert(analysis_stretches_on(source.stretches));
  finish(&source);
  ck_assert_uint_eq(source.heard.quiet, 0);
  ck_assert_uint_eq(source.heard.jumps, 3);
  ck_assert_uint_eq(source.heard.told, 3);
  ck_assert_uint_ge(source.heard.frames, 4 * on - 3 * 2 * 3 * RUN);
  ck_assert(!analysis_stretches_begun(source.stretches));
  analysis_stretches_destroy(source.stretches);
}
END_TEST

START_TEST(a_carrier_that_comes_late_is_told)
{
  struct source source = begin("a_carrier_that_comes_late_is_told");
  open_stretches(&source);
  feed(&source, false, 10 * RUN);
  ck_assert(!analysis_stretches_begun(source.stretches));
  ck_assert(analysis_stretches_on(source.stretches)); /* as far as can be told */
  feed(&source, true, 3 * RUN);
  ck_assert(analysis_stretches_begun(source.stretches));
  analysis_stretches_destroy(source.stretches);
}
END_TEST

/* Noise alone, and noise beneath which a carrier's coming and going cannot be told: all passes. */
START_TEST(what_cannot_be_told_passes)
{
  struct source source = begin("what_cannot_be_told_passes");
  source.carrier = _i == 0 ? 0 : 1.2 * noise_rms; /* 1.4 dB below the noise's two parts */
  open_stretches(&source);
  for (int i = 0; i < 5; i++) {
    feed(&source, true, 5 * RUN);
    feed(&source, false, 5 * RUN);
  }
  finish(&source);
  ck_assert_uint_eq(source.heard.frames, source.frames);
  ck_assert_uint_eq(source.heard.told, 0);
  analysis_stretches_destroy(source.stretches);
}
END_TEST

/* A run with a sample that is no number is left to those who measure, and changes nothing. */
START_TEST(what_is_no_number_passes)
{
  static const float wrong[] = {INFINITY, NAN};
  struct source source = begin("what_is_no_number_passes");
  float khz[RUN], filtered[2 * RUN] = {0};
  filtered[RUN] = wrong[_i];
  open_stretches(&source);
  feed(&source, true, 10 * RUN);
  for (size_t i = 0; i < RUN; i++)
    khz[i] = (float)++source.frames;
  analysis_stretches_feed(source.stretches, khz, filtered, RUN, true);
  ck_assert(analysis_stretches_on(source.stretches));
  feed(&source, true, 2 * RUN);
  feed(&source, false, 10 * RUN);
  ck_assert(!analysis_stretches_on(source.stretches));
  ck_assert_uint_eq(source.heard.frames, 12 * RUN); /* the last goes with the pause */
  analysis_stretches_destroy(source.stretches);
}
END_TEST

/* Told wherever the blocks end, once each, and not before something else came. */
START_TEST(rows_of_zeros_are_holes)
{
  static const size_t lengths[] = {7, 8, 20, 3000};
  enum { BEFORE = 5000, ALL = 20000 };
  static float iq[2 * ALL];
  const size_t length = lengths[_i], block = 333;
  for (size_t i = 0; i < ALL; i++) {
    const bool zero = i < BEFORE / 2 || (i >= BEFORE && i < BEFORE + length);
    iq[2 * i] = zero ? 0 : 0.5F;
    iq[2 * i + 1] = 0;
  }
  struct analysis_holes holes = {0};
  uint64_t ended, frames = 0, count = 0;
  for (size_t at = 0; at < ALL; at += block) {
    const size_t run = ALL - at < block ? ALL - at : block;
    const bool hole = analysis_holes_feed(&holes, iq + 2 * at, run, &ended);
    const bool there = at < BEFORE / 2 || (at + run >= BEFORE + 8 && at < BEFORE + length);
    ck_assert(hole == there || (length < 8 && !hole) || at + run < BEFORE + 8);
    frames += ended;
    count += ended > 0;
  }
  ck_assert_uint_eq(count, length < 8 ? 0 : 1);
  ck_assert_uint_eq(frames, length < 8 ? 0 : length);
}
END_TEST

/* Noise that is rounded by steps as large as itself and more is zero for half of the time. */
START_TEST(what_rounding_makes_zero_is_no_hole)
{
  enum { ALL = 100000 };
  static float iq[2 * ALL];
  uint64_t state = support_seed("what_rounding_makes_zero_is_no_hole", 72), ended;
  for (size_t i = 0; i < 2 * (size_t)ALL; i++)
    iq[i] = (float)rint(0.5 * support_normal(&state));
  struct analysis_holes holes = {0};
  for (size_t at = 0; at < ALL; at += 1000) {
    const bool hole = analysis_holes_feed(&holes, iq + 2 * at, 1000, &ended);
    ck_assert(at == 0 || (!hole && ended == 0)); /* at first it may not know */
  }
}
END_TEST

/* The run with the hole, and those beside it; also where no carrier was seen before. */
START_TEST(a_hole_is_left_out_with_what_is_beside_it)
{
  struct source source = begin("a_hole_is_left_out_with_what_is_beside_it");
  open_stretches(&source);
  feed(&source, true, _i == 0 ? 10 * RUN + 100 : 100);
  analysis_stretches_spoil(source.stretches, true);
  feed(&source, true, 50);
  analysis_stretches_spoil(source.stretches, false);
  feed(&source, true, 10 * RUN);
  finish(&source);
  ck_assert_uint_eq(source.heard.left_out, _i == 0 ? 3 * RUN : 2 * RUN);
  ck_assert_uint_eq(source.heard.told, 1);
  analysis_stretches_destroy(source.stretches);
}
END_TEST

/* Passages of 1 s with pauses of 2 s and, before every tenth, 1 s: the list keeps its length, its
 * ends and its order, and the short pauses are what is given up. */
START_TEST(a_full_list_of_passages_joins_the_nearest)
{
  struct sc_passages passages = {.count = 0};
  double at = 0;
  analysis_passages_add(&passages, 0, 0.5);
  analysis_passages_add(&passages, 0.5, 1);
  ck_assert_uint_eq(passages.count, 1);
  const size_t more = SC_PASSAGES_MAX + SC_PASSAGES_MAX / 10 - 2;
  for (size_t i = 1; i <= more; i++) {
    at += i % 10 == 0 ? 2 : 3;
    analysis_passages_add(&passages, at, at + 1);
  }
  ck_assert_uint_eq(passages.count, SC_PASSAGES_MAX);
  ck_assert_double_eq(passages.at[0].from_s, 0);
  ck_assert_double_eq(passages.at[SC_PASSAGES_MAX - 1].to_s, at + 1);
  size_t close = 0;
  for (size_t i = 1; i < SC_PASSAGES_MAX; i++) {
    const double pause_s = passages.at[i].from_s - passages.at[i - 1].to_s;
    ck_assert_double_ge(pause_s, 1);
    close += pause_s < 2;
  }
  ck_assert_uint_eq(close, more / 10 - (more + 1 - SC_PASSAGES_MAX));
}
END_TEST

Suite *stretches_suite(void)
{
  Suite *suite = suite_create("stretches");
  TCase *tcase = tcase_create("stretches");
  tcase_add_loop_test(tcase, a_carrier_passes_whole, 0, 5);
  tcase_add_loop_test(tcase, a_pause_is_left_out, 0, 5);
  tcase_add_test(tcase, a_carrier_that_comes_late_is_told);
  tcase_add_loop_test(tcase, what_cannot_be_told_passes, 0, 2);
  tcase_add_loop_test(tcase, what_is_no_number_passes, 0, 2);
  tcase_add_loop_test(tcase, rows_of_zeros_are_holes, 0, 4);
  tcase_add_test(tcase, what_rounding_makes_zero_is_no_hole);
  tcase_add_loop_test(tcase, a_hole_is_left_out_with_what_is_beside_it, 0, 2);
  tcase_add_test(tcase, a_full_list_of_passages_joins_the_nearest);
  suite_add_tcase(suite, tcase);
  return suite;
}
