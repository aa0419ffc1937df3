/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the account of one result costs: 200 lines on air that a stereo programme of tones makes,
 * and 200 lines that nothing makes beside 200 tones of the composite. */
#include <config.h>

#include <complex.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "account/account.h"
#include "account/predict.h"
#include "bench/bench.h"

enum { LINES = 200, RUNS = 20, TONES = 12 };
static const double most_ms = 50;

static struct sc_line air[LINES], composite[LINES];
static struct sc_result result;

static void must(enum sc_error error)
{
  if (error == SC_OK)
    return;
  fprintf(stderr, "%s\n", sc_error_text(error));
  exit(EXIT_FAILURE);
}

static void set_tone(struct sc_line *line, double hz, double amplitude, double phase_rad)
{
  *line = (struct sc_line){.mirror = -1, .alongside = true, .offset_hz = sc_measured(hz, 1e-3)};
  line->tone.frequency_hz = line->offset_hz;
  line->tone.level_db = sc_measured(20 * log10(amplitude), 0.05);
  line->level_dbc = line->tone.level_db;
  line->tone.snr_db = 40;
  line->tone.phase_uncertainty_rad = 5e-3;
  line->tone.moment_count = 1;
  line->tone.moments[0] = (struct sc_moment){.middle_s = 0.5,
                                             .amplitude = (float)amplitude,
                                             .phase_rad = (float)phase_rad,
                                             .relative_uncertainty = 5e-3F,
                                             .phase_uncertainty_rad = 5e-3F};
  line->deviation_khz = sc_measured(amplitude, 5e-3 * amplitude);
}

static struct sc_line_list list_of(struct sc_line *lines, size_t count)
{
  return (struct sc_line_list){.lines = lines,
                               .count = count,
                               .record_s = 1,
                               .threshold_db = 13,
                               .resolution_hz = 4,
                               .records = 1};
}

static void start(size_t tones)
{
  result = (struct sc_result){.capture.info = {.kind = SC_KIND_IQ, .sample_rate_hz = 500e3}};
  result.carrier.present = SC_YES;
  result.carrier.offset_hz = sc_measured(-60e3, 1e-4);
  result.carrier.noise_density_dbfs_hz = sc_measured(-110, 0.1);
  result.composite_absolute = true;
  result.pilot.present = SC_YES;
  result.pilot.frequency_hz = sc_measured(19e3, 1e-3);
  result.air_lines = list_of(air, LINES);
  result.composite_lines = list_of(composite, tones);
}

static int stronger(const void *a, const void *b)
{
  double left = cabs(((const struct account_spot *)a)->amplitude);
  double right = cabs(((const struct account_spot *)b)->amplitude);
  return (left < right) - (left > right);
}

static int by_offset(const void *a, const void *b)
{
  double left = ((const struct sc_line *)a)->offset_hz.value;
  double right = ((const struct sc_line *)b)->offset_hz.value;
  return (left > right) - (left < right);
}

/* Audio in left alone: four tones in sum and difference, and the pilot. */
static void make_programme(void)
{
  static const double hz[TONES] = {19000, 400,   1000,  2100,  3300,  37600,
                                   38400, 37000, 39000, 35900, 40100, 34700};
  struct account_component components[TONES];
  struct account_prediction prediction;
  start(TONES);
  for (size_t i = 0; i < TONES; i++) {
    double khz = i == 0 ? 6.75 : i < 5 ? 2 : 1;
    set_tone(&composite[i], hz[i], khz, 0.7 * (double)i);
    components[i] = (struct account_component){
        .frequency_hz = hz[i], .deviation_khz = khz, .phase_rad = 0.7 * (double)i};
  }
  must(account_predict(components, TONES, 1e-5, 0.1, &prediction));
  qsort(prediction.spots, prediction.spot_count, sizeof *prediction.spots, stronger);
  for (size_t i = 0; i < LINES; i++)
    set_tone(&air[i], prediction.spots[i].frequency_hz, cabs(prediction.spots[i].amplitude),
             carg(prediction.spots[i].amplitude));
  qsort(air, LINES, sizeof *air, by_offset);
  account_prediction_destroy(&prediction);
}

static void make_crowd(void)
{
  start(LINES);
  for (size_t i = 0; i < LINES; i++) {
    double n = (double)i;
    set_tone(&air[i], (n - 100) * 331.7 + 3e-3 * n * n, pow(10, -1 - 0.01 * n), n);
    set_tone(&composite[i], 100 + 431.3 * n, 0.2, n);
  }
}

static void bench(const char *name, void (*make)(void))
{
  double spent = 0;
  for (int run = 0; run < RUNS; run++) {
    make();
    double from = bench_seconds();
    must(account_explain(&result, NULL));
    spent += bench_seconds() - from;
  }
  bench_say(name, 1e3 * spent / RUNS, "ms", most_ms);
}

int main(int argc, char **argv)
{
  if (!bench_start(argc, argv))
    return EXIT_FAILURE;
  bench("account of 200 lines of a programme", make_programme);
  bench("account of 200 lines of nothing", make_crowd);
  return bench_end();
}
