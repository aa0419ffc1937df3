/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the whole report of a capture at 2.4 MS/s costs, in nanoseconds a sample, against the bare
 * loop of transforms over the same samples in the same run; the shares of its stages, each fed
 * alone; and what a second processor saves, beside what it saves the bare loop. The capture is read
 * block by block from memory, so that no disk is measured. The searches for lines cost the same for
 * all lengths, and less a sample for longer ones: there is a short capture, for which the stages
 * are told, one of a few minutes, and one that fills 14 GB. SC_REPORT_SECONDS is the only length.
 */
#include <config.h>

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <sidecomb/analysis.h>
#include <sidecomb/signal.h>

#include "bench/bare.h"
#include "bench/bench.h"
#include "bench/stages.h"
#include "capture/decode.h"

/* Noise that came round within a second would be lines, thousands of them, as no capture has: it
 * lasts 14 s. Tones go on in phase after ROUND blocks, which are enough for the stages. */
enum { BLOCK = STAGES_BLOCK, MADE = 1024, ROUND = 64 };
static const double rate_hz = 2.4e6, carrier_hz = 3e5;
/* The bars: of the whole report, against the bare loop and against itself in one thread. */
static const double most_bare = 2.5, least_gain = 1.7;

struct length {
  const char *name;
  double seconds;
  int rounds;
  bool stages; /* are told as well */
};
static const struct length lengths[] = {{"report of 1 minute", 60, 5, true},
                                        {"report of 4 minutes", 240, 3, false},
                                        {"report of 24 minutes, 14 GB", 1458, 2, false}};

static size_t blocks;

static void must(enum sc_error error)
{
  if (error == SC_OK)
    return;
  fprintf(stderr, "%s\n", sc_error_text(error));
  exit(EXIT_FAILURE);
}

/* What comes round and round is to go on in phase. */
static double in_whole_turns(double hz)
{
  const double step_hz = rate_hz / ((double)ROUND * BLOCK);
  return round(hz / step_hz) * step_hz;
}

/* Pilot, tones on both sides and noise: lines by the hundred. */
static int16_t *make(void)
{
  struct sc_signal_settings s;
  struct sc_signal *signal;
  int16_t *codes = malloc((size_t)MADE * 2 * BLOCK * sizeof *codes);
  double *made = malloc((size_t)2 * BLOCK * sizeof *made);
  sc_signal_settings_init(&s);
  s.rate_hz = rate_hz;
  s.carrier_offset_hz = in_whole_turns(carrier_hz);
  s.pilot_hz = in_whole_turns(19e3);
  s.pilot_khz = 6.75;
  s.left[s.left_count++] = (struct sc_signal_tone){in_whole_turns(1000.0), 3.0, 0.0};
  s.right[s.right_count++] = (struct sc_signal_tone){in_whole_turns(1600.0), 2.0, 1.0};
  s.cnr_db = 50.0;
  must(codes == NULL || made == NULL ? SC_NO_MEMORY : sc_signal_create(&s, &signal));
  for (size_t b = 0; b < MADE; b++) {
    sc_signal_iq(signal, made, BLOCK);
    for (size_t i = 0; i < 2 * BLOCK; i++)
      codes[2 * b * BLOCK + i] = (int16_t)lrint(32767 * fmin(fmax(made[i], -1), 1));
  }
  sc_signal_destroy(signal);
  free(made);
  return codes;
}

static const int16_t *block_of(const int16_t *codes, size_t b)
{
  return codes + 2 * (b % MADE) * BLOCK;
}

static double run_bare(const int16_t *codes)
{
  struct bare *bare = bare_create(4096);
  must(bare == NULL ? SC_NO_MEMORY : SC_OK);
  const double start = bench_seconds();
  for (size_t b = 0; b < blocks; b++)
    bare_run_codes(bare, block_of(codes, b), BLOCK);
  const double took = bench_seconds() - start;
  bare_destroy(bare);
  return took;
}

struct cost {
  double create_s, busy_s, result_s, wall_s; /* busy: all of it; wall: but for create */
};

static struct cost run_analysis(const int16_t *codes, bool lines, unsigned threads)
{
  static float samples[2 * BLOCK];
  const struct sc_source_info info = {.kind = SC_KIND_IQ,
                                      .sample_rate_hz = rate_hz,
                                      .nominal_rate_hz = rate_hz,
                                      .frames = (uint64_t)blocks * BLOCK,
                                      .channels = 2};
  const struct sc_analysis_settings settings = {
      .channel_hz = carrier_hz, .lines = lines, .deemphasis_us = 50, .threads = threads};
  struct sc_analysis *analysis;
  struct sc_result result;
  struct sc_message message;
  const double start = bench_seconds();
  must(sc_analysis_create(&info, &settings, &analysis, &message));
  const double created = bench_seconds(), wall = bench_wall_seconds();
  for (size_t b = 0; b < blocks; b++) {
    capture_decode_i16_le((const unsigned char *)block_of(codes, b), samples, 2 * (size_t)BLOCK);
    stages_scan(samples, BLOCK);
    must(sc_analysis_feed(analysis,
                          &(struct sc_block){.samples = samples, .frames = BLOCK, .channels = 2}));
  }
  const double fed = bench_seconds();
  must(sc_analysis_result(analysis, &result));
  const double end = bench_seconds();
  const struct cost cost = {created - start, end - start, end - fed, bench_wall_seconds() - wall};
  sc_result_clear(&result);
  sc_analysis_destroy(analysis);
  return cost;
}

/* The quickest of several, by the processor or by the clock on the wall. */
static void keep_better(const struct cost *cost, bool by_wall, struct cost *best)
{
  const bool better = by_wall ? cost->wall_s < best->wall_s : cost->busy_s < best->busy_s;
  if (best->busy_s == 0 || better)
    *best = *cost;
}

struct costs {
  double bare_s;
  struct cost without, all, two; /* without lines; with two threads */
};

/* What is compared takes turns, so that a processor that is slow for a while is so for all. */
static struct costs take_turns(const int16_t *codes, int rounds)
{
  struct costs best = {.bare_s = INFINITY};
  for (int round = 0; round < rounds; round++) {
    best.bare_s = fmin(best.bare_s, run_bare(codes));
    const struct cost all = run_analysis(codes, true, 1), two = run_analysis(codes, true, 2);
    const struct cost without = run_analysis(codes, false, 1);
    keep_better(&all, false, &best.all);
    keep_better(&two, true, &best.two);
    keep_better(&without, false, &best.without);
  }
  return best;
}

static const char *named(const struct length *length, const char *what)
{
  static char name[100];
  snprintf(name, sizeof name, "%s, %s", length->name, what);
  return name;
}

static void say_stages(const struct length *length, const int16_t *codes, const struct costs *costs)
{
  const double ns = 1e9 / ((double)blocks * BLOCK), bare_ns = ns * costs->bare_s;
  const struct stages_capture capture = {codes, ROUND, rate_hz, carrier_hz};
  const struct cost *all = &costs->all;
  const double sum = stages_say(&capture, blocks, bare_ns);
  bench_say(named(length, "create"), ns * all->create_s, "ns/sample", bare_ns);
  bench_say(named(length, "rest"), ns * (all->busy_s - all->create_s) - sum, "ns/sample", bare_ns);
}

static void say(const struct length *length, const int16_t *codes)
{
  blocks = (size_t)(fmax(length->seconds, 1) * rate_hz / BLOCK);
  const double ns = 1e9 / ((double)blocks * BLOCK);
  const struct costs costs = take_turns(codes, length->rounds);
  const struct cost *all = &costs.all, *two = &costs.two;
  const double bare = costs.bare_s;
  bench_say(named(length, "bare loop of 4096"), ns * bare, "ns/sample", (double)NAN);
  if (length->stages)
    say_stages(length, codes, &costs);
  bench_say(named(length, "result, lines among it"), ns * all->result_s, "ns/sample", ns * bare);
  bench_say(named(length, "all but lines"), ns * costs.without.busy_s, "ns/sample", ns * bare);
  bench_say(named(length, "one thread"), ns * all->busy_s, "ns/sample", ns * bare);
  bench_say(named(length, "in bare loops"), all->busy_s / bare, "x", most_bare);
  bench_say(named(length, "gain by two threads"), all->wall_s / two->wall_s, "x", least_gain);
  bench_say(named(length, "work with two threads"), two->busy_s, "s", all->busy_s);
}

int main(int argc, char **argv)
{
  if (!bench_start(argc, argv))
    return EXIT_FAILURE;
  const char *text = getenv("SC_REPORT_SECONDS");
  const struct length asked = {"report", text != NULL ? atof(text) : 0, 3, true};
  int16_t *codes = make();
  if (text != NULL)
    say(&asked, codes);
  for (size_t i = 0; text == NULL && i < sizeof lengths / sizeof *lengths; i++)
    say(&lengths[i], codes);
  bench_say("report, bare loop's gain by two threads",
            bare_gain(codes, (size_t)ROUND * BLOCK, 100, 3), "x", 2);
  bench_say("report, resident memory", bench_resident_mb(), "MB", (double)NAN);
  free(codes);
  return bench_end();
}
