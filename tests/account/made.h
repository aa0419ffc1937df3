/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Results that are made up line by line, so that each verdict can be provoked. */
#ifndef SIDECOMB_TESTS_ACCOUNT_MADE_H
#define SIDECOMB_TESTS_ACCOUNT_MADE_H

#include <complex.h>
#include <math.h>
#include <string.h>

#include <check.h>

#include "account/account.h"

enum { LINES = 48 };
static const double pi = 3.14159265358979323846;
static const double carrier_hz = -60e3; /* in the capture */
static const double pilot_index = 6.75 / 19;

struct made {
  struct sc_result result;
  struct sc_line air[LINES], composite[LINES];
};

static inline struct sc_line_list list_of(struct sc_line *lines)
{
  return (struct sc_line_list){
      .lines = lines, .record_s = 1, .threshold_db = 13, .resolution_hz = 4, .records = 1};
}

static inline void start(struct made *made)
{
  *made = (struct made){0};
  struct sc_result *result = &made->result;
  result->capture.info.kind = SC_KIND_IQ;
  result->capture.info.sample_rate_hz = 500e3;
  result->carrier.present = SC_YES;
  result->carrier.offset_hz = sc_measured(carrier_hz, 1e-4);
  result->carrier.level_dbfs = sc_measured(-6, 1e-3);
  result->carrier.noise_density_dbfs_hz = sc_measured(-110, 0.1);
  result->carrier_frequency_hz = sc_not_measured("not tuned");
  result->occupancy.carson_hz = sc_not_measured("not measured");
  result->composite_absolute = true;
  result->air_lines = list_of(made->air);
  result->composite_lines = list_of(made->composite);
}

static inline void with_pilot(struct made *made)
{
  made->result.pilot.present = SC_YES;
  made->result.pilot.frequency_hz = sc_measured(19e3, 1e-3);
}

static inline struct sc_line *add(struct sc_line_list *list, double hz)
{
  ck_assert_uint_lt(list->count, LINES);
  struct sc_line *line = &list->lines[list->count++];
  *line = (struct sc_line){.mirror = -1, .offset_hz = sc_measured(hz, 1e-3)};
  line->predicted_dbc = line->rest_db = sc_not_measured("nothing predicts a line here");
  line->fm_part_dbc = line->am_part_dbc = line->one_sided_dbc = line->parts_limit_dbc =
      sc_not_measured("not compared");
  line->tone.frequency_hz = line->offset_hz;
  line->tone.snr_db = 50;
  return line;
}

static inline void set_phase(struct sc_line *line, double amplitude, double phase_rad)
{
  line->tone.moments[0] = (struct sc_moment){.middle_s = 0.5,
                                             .amplitude = (float)amplitude,
                                             .phase_rad = (float)phase_rad,
                                             .relative_uncertainty = 1e-3F,
                                             .phase_uncertainty_rad = 1e-3F};
  line->tone.moment_count = 1;
}

/* Relative to the unmodulated carrier, phases in the middle of the record. */
static inline struct sc_line *add_air(struct made *made, double offset_hz, double complex phasor)
{
  double amplitude = cabs(phasor);
  struct sc_line *line = add(&made->result.air_lines, offset_hz);
  line->alongside = true;
  set_phase(line, amplitude, carg(phasor));
  line->tone.frequency_hz.value += carrier_hz;
  line->level_dbc = sc_measured(20 * log10(amplitude), 0.01);
  line->tone.level_db = sc_measured(line->level_dbc.value - 6, 0.01);
  line->tone.amplitude = amplitude;
  return line;
}

static inline void add_pair(struct made *made, double offset_hz, double complex upper,
                            double complex lower)
{
  ptrdiff_t first = (ptrdiff_t)made->result.air_lines.count;
  add_air(made, -offset_hz, lower)->mirror = first + 1;
  add_air(made, offset_hz, upper)->mirror = first;
}

static inline struct sc_line *add_tone(struct made *made, double hz, double khz, double phase_rad)
{
  struct sc_line *line = add(&made->result.composite_lines, hz);
  line->deviation_khz = sc_measured(khz, 1e-4 * khz);
  line->tone.level_db = sc_measured(20 * log10(khz), 1e-3);
  line->tone.phase_uncertainty_rad = 1e-3;
  set_phase(line, khz, phase_rad);
  return line;
}

static inline void explain(struct made *made)
{
  ck_assert_int_eq(account_explain(&made->result, NULL), SC_OK);
  for (size_t i = 0; i < made->result.air_lines.count; i++)
    ck_assert_msg(made->air[i].cause[0] != 0 && made->air[i].nearest != NULL, "line %zu", i);
}

static inline void check(const struct sc_line *line, enum sc_verdict verdict, const char *cause)
{
  ck_assert_msg(line->verdict == verdict, "%g Hz is %s: %s", line->offset_hz.value,
                sc_verdict_name(line->verdict), line->cause);
  ck_assert_msg(strstr(line->cause, cause) != NULL, "%g Hz: \"%s\"", line->offset_hz.value,
                line->cause);
}

/* Carrier and three pairs of a 6.75 kHz pilot, Bessel functions of the C library. */
static inline void add_pilot_alone(struct made *made)
{
  with_pilot(made);
  add_tone(made, 19e3, 6.75, 0);
  add_air(made, 0, j0(pilot_index));
  for (int n = 1; n <= 3; n++)
    add_pair(made, 19e3 * n, jn(n, pilot_index), jn(-n, pilot_index));
}

#endif
