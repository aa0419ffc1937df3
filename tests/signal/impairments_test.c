/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Every impairment of a scenario, measured back by an independent calculation.
 *
 * The table at the end lists each with what is set, what must come out, and the tolerance that is
 * promised. What ends in a file, quantisation, dither and clipping to each type, is in
 * compose_test.c, what sounds in programme_test.c, the content of RDS in rds_test.c. Records are
 * 0.1 s long, so that lines on multiples of 10 Hz need no window.
 */
#include <complex.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "signal/suites.h"
#include "signal/tools.h"

enum { RATE = 960000, N = RATE / 10 };

static const double rad_per_deg = TWO_PI / 360;

static double complex *spectrum(const struct sc_scenario *s)
{
  return scenario_spectrum(s, N);
}

static double line_db(const struct sc_scenario *s, double hz)
{
  double complex *x = spectrum(s);
  const double level = db(cabs(bin(x, N, RATE, hz)));
  free(x);
  return level;
}

/* Amplitude of a real composite line in kHz; sine phase in degrees. */
static double composite_khz(struct sc_scenario *s, double hz)
{
  s->what = SC_WHAT_COMPOSITE;
  double complex *x = spectrum(s);
  const double khz = 2 * 100 * cabs(bin(x, N, RATE, hz));
  free(x);
  return khz;
}

static double composite_deg(struct sc_scenario *s, double hz)
{
  s->what = SC_WHAT_COMPOSITE;
  double complex *x = spectrum(s);
  const double deg = carg(I * bin(x, N, RATE, hz)) / rad_per_deg;
  free(x);
  return deg;
}

/* Frequency of a lone line anywhere: the phase step between two halves of a record. */
static double frequency_hz(const struct sc_scenario *s, double about_hz)
{
  double *x = play(s, N);
  double complex half[2] = {0, 0};
  for (int i = 0; i < N; i++) {
    const int in = i % (N / 2);
    const double window = 1 - cos(TWO_PI * in / (N / 2));
    half[i / (N / 2)] +=
        window * (x[2 * i] + I * x[2 * i + 1]) * cexp(-I * TWO_PI * about_hz * i / RATE);
  }
  free(x);
  return about_hz + carg(half[1] * conj(half[0])) / TWO_PI * RATE / (N / 2);
}

static void add_tone(struct sc_scenario *s, double hz, double khz)
{
  s->station.tones[s->station.tone_count++] = (struct sc_scenario_line){.hz = hz, .amplitude = khz};
}

static void add_programme(struct sc_scenario *s, enum sc_programme_to to, double hz, double khz)
{
  s->station.programme[s->station.programme_count++] =
      (struct sc_programme){.kind = SC_PROGRAMME_TONE, .to = to, .hz = hz, .khz = khz};
}

/* ---- one function for each row */

static double carrier_offset(struct sc_scenario *s)
{
  s->offset_hz = 431.25;
  return frequency_hz(s, 430);
}

static double carrier_beside_the_centre(struct sc_scenario *s)
{
  s->station_hz = 91.2e6;
  s->centre_hz = 91.205e6;
  s->offset_hz = 430;
  return frequency_hz(s, -4570);
}

/* Of a carrier that moves the mean between the middles of the two halves, 0.025 s and 0.075 s;
 * looked at from there, what it moves within both halves cancels. */
static double drift(struct sc_scenario *s)
{
  s->motion.drift_hz_s = 300;
  return frequency_hz(s, 15);
}

static double wander(struct sc_scenario *s)
{
  s->motion.wander_hz = 40;
  s->motion.wander_s = 0.8;
  return frequency_hz(s, 15);
}

static double settling(struct sc_scenario *s)
{
  s->motion.settle_hz = 50;
  s->motion.settle_s = 0.2;
  return frequency_hz(s, 39);
}

static double moving_carrier_beside(struct sc_scenario *s)
{
  s->carrier = false;
  s->carriers[s->carrier_count++] =
      (struct sc_scenario_line){.hz = 131400, .amplitude = -20, .along = true};
  s->motion.drift_hz_s = 300;
  return frequency_hz(s, 131415);
}

static double resting_carrier_beside(struct sc_scenario *s)
{
  s->carrier = false;
  s->carriers[s->carrier_count++] = (struct sc_scenario_line){.hz = 131400, .amplitude = -20};
  s->motion.drift_hz_s = 300;
  return frequency_hz(s, 131400);
}

static double clock_error(struct sc_scenario *s)
{
  s->clock_ppm = 200;
  s->offset_hz = 100e3;
  return frequency_hz(s, 99980);
}

static double clock_error_with_tuning(struct sc_scenario *s)
{
  s->clock_ppm = 10; /* tuned 1000 Hz high, then counted 1e-5 low */
  s->station_hz = 100.05e6;
  s->centre_hz = 100e6;
  return frequency_hz(s, 49000);
}

static double one_sided_carrier(struct sc_scenario *s)
{
  s->carriers[s->carrier_count++] = (struct sc_scenario_line){.hz = 131400, .amplitude = -52};
  return line_db(s, 131400);
}

static double one_sided_carriers_mirror(struct sc_scenario *s)
{
  s->carriers[s->carrier_count++] = (struct sc_scenario_line){.hz = 131400, .amplitude = -52};
  return line_db(s, -131400) < -150;
}

static double incidental_am(struct sc_scenario *s)
{
  s->am[s->am_count++] = (struct sc_scenario_line){.hz = 1000, .amplitude = 2};
  return line_db(s, 1000); /* m / 2 */
}

static double incidental_am_is_even(struct sc_scenario *s)
{
  s->am[s->am_count++] = (struct sc_scenario_line){.hz = 1000, .amplitude = 2, .phase_rad = 0.7};
  double complex *x = spectrum(s);
  const double odd = cabs(bin(x, N, RATE, 1000) - conj(bin(x, N, RATE, -1000)));
  free(x);
  return odd < 1e-9;
}

static double synchronous_am(struct sc_scenario *s)
{
  s->tilt_db = 0.5;
  add_tone(s, 1000, 75);
  double *x = play(s, N), low = 9, high = 0;
  for (int i = 0; i < N; i++) {
    low = fmin(low, hypot(x[2 * i], x[2 * i + 1]));
    high = fmax(high, hypot(x[2 * i], x[2 * i + 1]));
  }
  free(x);
  return db(high / low);
}

static double noise_power(struct sc_scenario *s)
{
  s->cnr_db = 40;
  s->cnr_bandwidth_hz = 150e3;
  double complex *x = spectrum(s);
  double power = 0; /* in 150 kHz beside the carrier */
  for (int hz = 50000; hz < 200000; hz += 10)
    power += pow(cabs(bin(x, N, RATE, hz)), 2);
  free(x);
  return -10 * log10(power);
}

/* Image rejection of 0.5 dB and 2 degrees: 29.5 dB (computed table, from 10 log10 of
 * (1 + 2 g cos p + g^2) / (1 - 2 g cos p + g^2)). */
static double iq_image(struct sc_scenario *s)
{
  s->iq_gain_db = 0.5;
  s->iq_phase_rad = 2 * rad_per_deg;
  s->offset_hz = 50e3;
  double complex *x = spectrum(s);
  const double rejection = db(cabs(bin(x, N, RATE, 50e3)) / cabs(bin(x, N, RATE, -50e3)));
  free(x);
  return rejection;
}

static double direct_current(struct sc_scenario *s)
{
  s->dc_i = 0.03;
  s->dc_q = -0.04;
  s->offset_hz = 50e3;
  return line_db(s, 0);
}

static double neighbour_level(struct sc_scenario *s)
{
  s->carrier = false;
  s->neighbours[s->neighbour_count++] =
      (struct sc_neighbour){.offset_hz = -300e3, .level_db = -23, .pilot_khz = 6.75};
  return line_db(s, -300e3);
}

static double neighbour_pilot(struct sc_scenario *s)
{
  neighbour_level(s);
  return line_db(s, -300e3 + 19e3) - line_db(s, -300e3);
}

static double pilot_error(struct sc_scenario *s)
{
  s->station.pilot_khz = 6.8;
  s->station.pilot_hz = 19010;
  return composite_khz(s, 19010);
}

static double pilot_phase(struct sc_scenario *s)
{
  s->station.pilot_khz = 6.8;
  s->station.pilot_phase_rad = -50 * rad_per_deg;
  return composite_deg(s, 19000);
}

static double residual(struct sc_scenario *s)
{
  s->station.residual_khz = 0.45;
  return composite_khz(s, 38000);
}

static double residual_phase(struct sc_scenario *s)
{
  s->station.residual_khz = 0.45;
  s->station.pilot_phase_rad = 10 * rad_per_deg;
  s->station.residual_phase_rad = 30 * rad_per_deg;
  return composite_deg(s, 38000);
}

static double difference_phase(struct sc_scenario *s)
{
  s->station.difference_phase_rad = 8 * rad_per_deg;
  add_programme(s, SC_TO_APART, 1000, 20);
  /* the two side lines lean to either side of the subcarrier's phase */
  double mean = composite_deg(s, 39000) + composite_deg(s, 37000);
  return mean / 2;
}

static double difference_gain(struct sc_scenario *s)
{
  s->station.difference_gain_db = -3;
  add_programme(s, SC_TO_LEFT, 1000, 20);
  return db(composite_khz(s, 39000) * 2 / composite_khz(s, 1000));
}

static double hum(struct sc_scenario *s)
{
  add_tone(s, 50, 0.3);
  return composite_khz(s, 50);
}

static double preemphasis(struct sc_scenario *s, double tau_us, double hz)
{
  s->station.preemphasis_us = tau_us;
  add_programme(s, SC_TO_BOTH, hz, 10);
  return db(composite_khz(s, hz) / 10);
}

static double preemphasis_50(struct sc_scenario *s)
{
  return preemphasis(s, 50, 10000);
}

static double preemphasis_75(struct sc_scenario *s)
{
  return preemphasis(s, 75, 15000);
}

static double programme_limit(struct sc_scenario *s)
{
  add_programme(s, SC_TO_BOTH, 17000, 10);
  return db(composite_khz(s, 17000) / 10) < -115;
}

/* An FM subcarrier's own lines: index 4 kHz / 2 kHz, J1(2) = 0.5767248078 (Abramowitz and Stegun
 * table 9.1, from memory). The programme in one channel half makes half its kHz. */
static double subcarrier_line(struct sc_scenario *s)
{
  s->station.subcarriers[s->station.subcarrier_count++] = (struct sc_subcarrier){
      .hz = 67e3,
      .khz = 7.5,
      .limit_hz = 5e3,
      .programme = {{.kind = SC_PROGRAMME_TONE, .to = SC_TO_BOTH, .hz = 2000, .khz = 4}},
      .programme_count = 1};
  return composite_khz(s, 69e3) / 7.5;
}

static double second_subcarrier(struct sc_scenario *s)
{
  s->station.subcarriers[s->station.subcarrier_count++] =
      (struct sc_subcarrier){.hz = 92e3, .khz = 5, .limit_hz = 5e3};
  return composite_khz(s, 92e3);
}

static double band_power(struct sc_scenario *s, double from_hz, double to_hz)
{
  s->what = SC_WHAT_COMPOSITE;
  s->station.bands[0] = (struct sc_band){.hz = 67650, .width_hz = 18e3, .rms_khz = 2};
  s->station.band_count = 1;
  double complex *x = spectrum(s);
  double power = 0;
  for (double hz = from_hz; hz < to_hz; hz += 10)
    power += 2 * pow(100 * cabs(bin(x, N, RATE, hz)), 2);
  free(x);
  return power;
}

static double band_rms(struct sc_scenario *s)
{
  return sqrt(band_power(s, 50e3, 90e3));
}

static double band_edges(struct sc_scenario *s)
{
  return band_power(s, 67650 - 8e3, 67650 + 8e3) / 4;
}

static void only_rds(struct sc_scenario *s)
{
  s->station.rds = (struct sc_rds_content){
      .khz = 2, .phase_rad = 35 * rad_per_deg, .pi = 0xd3a5, .pty = 3, .ps = "KITEFLD"};
  s->what = SC_WHAT_COMPOSITE;
}

static double rds_peak(struct sc_scenario *s)
{
  only_rds(s);
  double *x = play(s, 5 * N), peak = 0;
  for (int i = 0; i < 5 * N; i++)
    peak = fmax(peak, fabs(100 * x[i]));
  free(x);
  return peak;
}

/* Two phases: the square of the wave stands at twice the carrier's phase. */
static double rds_phase(struct sc_scenario *s)
{
  only_rds(s);
  double *x = play(s, N);
  double complex square = 0;
  for (int i = 0; i < N; i++)
    square += x[i] * x[i] * cexp(-I * TWO_PI * 2 * 57e3 * i / RATE);
  free(x);
  return carg(-square) / rad_per_deg / 2;
}

/* A band of the neighbour's own FM signal: its index 20 kHz / 10 kHz, J1(2) against J0(2). */
static double neighbour_tone(struct sc_scenario *s)
{
  s->carrier = false;
  s->neighbours[s->neighbour_count++] =
      (struct sc_neighbour){.offset_hz = 300e3, .tone_hz = 10e3, .tone_khz = 20};
  double complex *x = spectrum(s);
  const double ratio = db(cabs(bin(x, N, RATE, 310e3)) / cabs(bin(x, N, RATE, 300e3)));
  free(x);
  return ratio;
}

static double mono_difference(struct sc_scenario *s)
{
  s->station.mono = true;
  add_programme(s, SC_TO_LEFT, 1000, 20);
  return db(composite_khz(s, 39000)) < -150;
}

static double two_tones(struct sc_scenario *s)
{
  add_programme(s, SC_TO_BOTH, 11000, 20);
  add_programme(s, SC_TO_BOTH, 12000, 5);
  return db(composite_khz(s, 11000) / composite_khz(s, 12000));
}

static double shifted_by_a_standing_deviation(struct sc_scenario *s)
{
  s->station.tones[s->station.tone_count++] =
      (struct sc_scenario_line){.hz = 0, .amplitude = 1.5, .phase_rad = TWO_PI / 4};
  return frequency_hz(s, 1500);
}

static double level(struct sc_scenario *s)
{
  s->level_dbfs = -7.5;
  return line_db(s, 0);
}

/* ---- the table: what is promised */

static const struct {
  const char *name;
  double (*measured)(struct sc_scenario *);
  double expected, tolerance;
} table[] = {
    {"carrier offset, Hz", carrier_offset, 431.25, 1e-5},
    {"carrier beside the tuned frequency, Hz", carrier_beside_the_centre, -4570, 1e-5},
    {"drift of 300 Hz/s, Hz after 0.05 s", drift, 15, 1e-5},
    /* The integrals of the sine and the exponential; their bends weigh on both halves a little. */
    {"wander of 40 Hz, Hz from 0.025 to 0.075 s", wander, 15.209169, 0.05},
    {"settling from 50 Hz, Hz from 0.025 to 0.075 s", settling, 39.041525, 0.05},
    {"one-sided carrier that goes along, Hz", moving_carrier_beside, 131415, 1e-4},
    {"one-sided carrier that does not, Hz", resting_carrier_beside, 131400, 1e-4},
    {"sample clock error, Hz at 100 kHz", clock_error, 100e3 / 1.0002, 1e-5},
    {"sample clock and tuning error, Hz", clock_error_with_tuning, 49000 / 1.00001, 1e-5},
    {"standing deviation, Hz", shifted_by_a_standing_deviation, 1500, 1e-5},
    {"level, dBFS", level, -7.5, 1e-6},
    {"one-sided carrier, dBc", one_sided_carrier, -52, 1e-6},
    {"one-sided carrier has no mirror", one_sided_carriers_mirror, 1, 0},
    {"incidental AM 2 %, line in dBc", incidental_am, -40, 1e-6},
    {"incidental AM is even about the carrier", incidental_am_is_even, 1, 0},
    {"synchronous AM, dB between extremes", synchronous_am, 1, 1e-4},
    {"carrier-to-noise ratio, dB", noise_power, 40, 0.15}, /* 15000 bins: 5 times 0.036 dB */
    {"IQ imbalance, image rejection in dB", iq_image, 29.5, 0.05},
    {"direct current, dBFS", direct_current, -26.0206, 1e-4},
    {"neighbour's carrier, dBc", neighbour_level, -23 - 0.28, 0.01}, /* J0(6.75/19): -0.28 dB */
    {"neighbour's pilot, dB", neighbour_pilot, -15.15 + 0.28, 0.01},
    {"pilot deviation, kHz", pilot_error, 6.8, 1e-6},
    {"pilot phase, degrees", pilot_phase, -50, 1e-5},
    {"38 kHz residual, kHz", residual, 0.45, 1e-6},
    {"38 kHz residual phase, degrees", residual_phase, 50, 1e-5},
    {"difference phase, degrees", difference_phase, 8, 1e-5},
    {"difference gain, dB", difference_gain, -3, 1e-5},
    {"hum, kHz", hum, 0.3, 1e-6},
    {"RDS injection, peak kHz", rds_peak, 2, 0.02}, /* reached by some sequences of bits only */
    {"RDS phase, degrees", rds_phase, 35, 0.02},
    {"neighbour's modulation, J1(2) over J0(2) in dB", neighbour_tone, 8.2177, 0.002},
    {"mono has no difference", mono_difference, 1, 0},
    {"two tones, dB between them", two_tones, 12.0412, 1e-5},
    {"pre-emphasis 50 us at 10 kHz, dB", preemphasis_50, 10.362, 0.001},
    {"pre-emphasis 75 us at 15 kHz, dB", preemphasis_75, 17.073, 0.001},
    {"programme limit 2 kHz above 15 kHz", programme_limit, 1, 0},
    {"67 kHz FM subcarrier, J1(2)", subcarrier_line, 0.5767248078, 2e-4},
    {"92 kHz subcarrier, kHz", second_subcarrier, 5, 1e-4},
    {"67.65 kHz band, rms kHz", band_rms, 2, 0.12}, /* 1800 cells: 5 times 1.2 % */
    {"67.65 kHz band, share within 16 of 18 kHz", band_edges, 16.0 / 18, 0.12},
};

START_TEST(impairment_is_measured_back)
{
  struct sc_scenario *s = plain_scenario(RATE);
  const double got = table[_i].measured(s);
  ck_assert_msg(fabs(got - table[_i].expected) <= table[_i].tolerance,
                "%s: %.9g instead of %.9g, tolerance %g", table[_i].name, got, table[_i].expected,
                table[_i].tolerance);
  free(s);
}
END_TEST

Suite *impairments_suite(void)
{
  Suite *suite = suite_create("impairments");
  TCase *tests = tcase_create("impairments");
  tcase_add_loop_test(tests, impairment_is_measured_back, 0, sizeof table / sizeof table[0]);
  suite_add_tcase(suite, tests);
  return suite;
}
