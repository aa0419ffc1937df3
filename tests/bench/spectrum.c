/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Speed of the averaged spectrum against a bare loop on the same samples in the same run. Rounds
 * of the two alternate and the best of each counts. */
#include <config.h>

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <sidecomb/spectrum.h>

#include "analysis/dealt.h"
#include "bench/bare.h"
#include "bench/bench.h"
#include "capture/decode.h"
#include "support/random.h"

enum { FRAMES = 1 << 18, BLOCK = 1 << 15, ROUNDS = 200 };

struct samples {
  float *real; /* 2 * FRAMES */
  int16_t *codes;
};

static void *must(void *made)
{
  if (made)
    return made;
  fputs("not enough memory\n", stderr);
  exit(EXIT_FAILURE);
}

static struct samples make_samples(void)
{
  struct samples samples = {must(malloc(2 * FRAMES * sizeof(float))),
                            must(malloc(2 * FRAMES * sizeof(int16_t)))};
  uint64_t state = 1;
  for (size_t i = 0; i < 2 * FRAMES; i++) {
    samples.codes[i] = (int16_t)(32767 * support_uniform(&state));
    samples.real[i] = (float)samples.codes[i] / 32768;
  }
  return samples;
}

static void run_ours_real(struct sc_spectrum *spectrum, const struct samples *samples)
{
  for (size_t at = 0; at < FRAMES; at += BLOCK)
    sc_spectrum_feed(spectrum, samples->real + 2 * at, BLOCK, false);
}

static void run_ours_codes(struct sc_spectrum *spectrum, const struct samples *samples)
{
  static float block[2 * BLOCK];
  for (size_t at = 0; at < FRAMES; at += BLOCK) {
    const unsigned char *bytes = (const unsigned char *)(samples->codes + 2 * at);
    capture_decode_i16_le(bytes, block, 2 * (size_t)BLOCK);
    sc_spectrum_feed(spectrum, block, BLOCK, false);
  }
}

static struct sc_spectrum *make_ours(double rate_hz, double span_hz, double rbw_hz,
                                     uint64_t expected_frames)
{
  struct sc_spectrum_settings settings = {
      .sample_rate_hz = rate_hz,
      .complex_input = true,
      .span_hz = span_hz,
      .rbw_hz = rbw_hz,
      .window = SC_WINDOW_HANN,
      .overlap = 0.5,
      .expected_frames = expected_frames,
  };
  struct sc_spectrum *spectrum;
  enum sc_error error = sc_spectrum_create(&settings, &spectrum);
  if (error != SC_OK) {
    fprintf(stderr, "no spectrum: %s\n", sc_error_text(error));
    exit(EXIT_FAILURE);
  }
  return spectrum;
}

/* `long_capture`: enough expected for a measured plan. */
static void compare(const char *name, size_t length, bool codes, bool long_capture,
                    const struct samples *samples)
{
  double best_bare = INFINITY, best_ours = INFINITY;
  struct bare *bare = must(bare_create(length));
  struct sc_spectrum *ours =
      make_ours(1, 0, 1.5 / (double)length, long_capture ? UINT64_C(1) << 40 : 0);
  for (int round = 0; round < ROUNDS; round++) {
    double start = bench_seconds();
    if (codes)
      bare_run_codes(bare, samples->codes, FRAMES);
    else
      bare_run_real(bare, samples->real, FRAMES);
    double middle = bench_seconds();
    (codes ? run_ours_codes : run_ours_real)(ours, samples);
    double end = bench_seconds();
    best_bare = fmin(best_bare, middle - start);
    best_ours = fmin(best_ours, end - middle);
  }
  bench_say(name, 1e-6 * FRAMES / best_ours, "Msamples/s", 1e-6 * FRAMES / best_bare);
  sc_spectrum_destroy(ours);
  bare_destroy(bare);
}

static struct analysis_dealt *make_dealt(struct analysis_worker *worker)
{
  const struct sc_spectrum_settings settings = {.sample_rate_hz = 1,
                                                .complex_input = true,
                                                .rbw_hz = 1.5 / 4096,
                                                .window = SC_WINDOW_HANN,
                                                .overlap = 0.5,
                                                .expected_frames = UINT64_C(1) << 40};
  struct analysis_dealt *dealt;
  if (analysis_dealt_create(&settings, worker, &dealt) != SC_OK)
    exit(EXIT_FAILURE);
  return dealt;
}

static double wall_of(struct analysis_dealt *dealt, const struct samples *samples)
{
  enum { TIMES = 20, SIGHT = 1 << 16 }; /* blocks as a plot reads them */
  struct sc_trace trace;
  const double start = bench_wall_seconds();
  for (size_t i = 0; i < TIMES; i++)
    for (size_t at = 0; at < FRAMES; at += SIGHT)
      analysis_dealt_feed(dealt, samples->real + 2 * at, SIGHT, false);
  analysis_dealt_result(dealt, &trace);
  return bench_wall_seconds() - start;
}

/* As time passes: only as good as the machine is idle, so beside what two bare loops gain. */
static void compare_threads(const struct samples *samples)
{
  enum { DEALT_ROUNDS = 30 };
  struct analysis_worker *worker = must(analysis_worker_create());
  struct analysis_dealt *by_two = make_dealt(worker), *by_one = make_dealt(NULL);
  double two = INFINITY, one = INFINITY;
  for (int round = 0; round < DEALT_ROUNDS; round++) {
    one = fmin(one, wall_of(by_one, samples));
    two = fmin(two, wall_of(by_two, samples));
  }
  analysis_dealt_destroy(by_two);
  analysis_dealt_destroy(by_one);
  analysis_worker_destroy(worker);
  bench_say("spectrum_bare_gain_by_two_threads",
            bare_gain(samples->codes, FRAMES, 40, DEALT_ROUNDS), "x", 2);
  bench_say("spectrum_gain_by_two_threads", one / two, "x", 1.8);
}

static void time_zoom(const struct samples *samples)
{
  double best = INFINITY;
  struct sc_spectrum *ours = make_ours(2.4e6, 20e3, 0, 0);
  for (int round = 0; round < ROUNDS; round++) {
    double start = bench_seconds();
    run_ours_real(ours, samples);
    best = fmin(best, bench_seconds() - start);
  }
  bench_say("spectrum_zoom_120", 1e-6 * FRAMES / best, "Msamples/s", NAN);
  sc_spectrum_destroy(ours);
}

static void time_create(const char *name, size_t length, uint64_t expected_frames)
{
  double start = bench_seconds();
  sc_spectrum_destroy(make_ours(1, 0, 1.5 / (double)length, expected_frames));
  bench_say(name, 1e3 * (bench_seconds() - start), "ms", NAN);
}

/* One gigabyte of complex floats, a block at a time. */
static void measure_memory(void)
{
  static float block[2 * BLOCK];
  struct sc_spectrum *spectrum = make_ours(2.4e6, 0, 0, (UINT64_C(1) << 30) / 8);
  for (size_t done = 0; done < (size_t)1 << 30; done += sizeof block)
    sc_spectrum_feed(spectrum, block, BLOCK, false);
  bench_say("spectrum_resident_after_1_GB", bench_resident_mb(), "MB", NAN);
  sc_spectrum_destroy(spectrum);
}

int main(int argc, char **argv)
{
  if (!bench_start(argc, argv))
    return EXIT_FAILURE;
  measure_memory();
  time_create("spectrum_create_4096_estimated", 4096, 0);
  time_create("spectrum_create_4096_measured", 4096, UINT64_C(1) << 40);
  struct samples samples = make_samples();
  compare("spectrum_float_4096", 4096, false, true, &samples);
  compare("spectrum_int16_4096", 4096, true, true, &samples);
  compare("spectrum_float_4096_estimated", 4096, false, false, &samples);
  compare("spectrum_float_1024", 1024, false, true, &samples);
  compare("spectrum_float_16384", 16384, false, true, &samples);
  compare("spectrum_float_65536", 65536, false, true, &samples);
  compare_threads(&samples);
  time_zoom(&samples);
  free(samples.real);
  free(samples.codes);
  return bench_end();
}
