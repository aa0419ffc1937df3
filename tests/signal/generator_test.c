/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Scenarios played as a whole: lines against theory, the moving path against the closed form,
 * separation, band limit, RDS in the composite.
 */
#include <complex.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "signal/baseband.h"
#include "signal/rds_groups.h"
#include "signal/suites.h"
#include "signal/tools.h"
#include "support/support.h"

/* The bars. */
static const double line_tolerance_db = 0.005;
static const double spur_limit = 1e-6; /* -120 dBc */

static struct sc_programme *add_part(struct sc_scenario *s, enum sc_programme_kind kind,
                                     enum sc_programme_to to, double hz, double khz)
{
  struct sc_programme *part = &s->station.programme[s->station.programme_count++];
  memset(part, 0, sizeof *part);
  part->kind = kind;
  part->to = to;
  part->hz = hz;
  part->khz = khz;
  return part;
}

/* ---- lines */

/* Every bin of a band-limited capture: lines by Bessel functions in the flat part, at most that
 * in the filter's edge, nothing anywhere else. */
static void check_lines(double rate_hz, double tone_hz, double khz)
{
  const double step_hz = 10;
  const size_t n = (size_t)lround(rate_hz / step_hz);
  struct sc_scenario *s = plain_scenario(rate_hz);
  s->station.tones[s->station.tone_count++] =
      (struct sc_scenario_line){.hz = tone_hz, .amplitude = khz};
  double complex *x = scenario_spectrum(s, n);
  for (size_t i = 0; i < n; i++) {
    const double hz = step_hz * (i < n / 2 ? (double)i : (double)i - (double)n);
    const int order = (int)lround(hz / tone_hz);
    const double level = order * tone_hz == hz ? fabs(jn(order, 1000 * khz / tone_hz)) : 0;
    if (level > 1e-5 && fabs(hz) < 0.44 * rate_hz)
      CHECK_CLOSE(db(cabs(x[i])), db(level), line_tolerance_db);
    else
      CHECK_BELOW(cabs(x[i]), level + spur_limit);
  }
  free(x);
  free(s);
}

START_TEST(lines_are_theirs_and_nothing_else_is_there)
{
  static const double rates[] = {384e3, 192e3, 240e3, 250e3, 480e3, 1e6, 1.024e6, 2.4e6};
  const unsigned count = support_trials(sizeof rates / sizeof rates[0]);
  for (unsigned r = 0; r < count && r < sizeof rates / sizeof rates[0]; r++) {
    check_lines(rates[r], 15e3, 75);
    check_lines(rates[r], 53e3, 82.5);
    check_lines(rates[r], 92e3, 7.5);
    check_lines(rates[r], 1000, 60);
  }
}
END_TEST

/* Carson's rule: the band 2 (D + f) (J. R. Carson, "Notes on the theory of modulation", 1922; as
 * the necessary bandwidth 2 M + 2 D K with K = 1 in Recommendation ITU-R SM.1138, from memory)
 * holds 98 % of the power of a tone with a whole modulation index (textbook). Beside it what
 * theory says exactly. */
static void check_carson(int index, double tone_hz)
{
  enum { RATE = 2400000, N = 24000 };
  struct sc_scenario *s = plain_scenario(RATE);
  s->station.tones[s->station.tone_count++] =
      (struct sc_scenario_line){.hz = tone_hz, .amplitude = index * tone_hz / 1000};
  double complex *x = scenario_spectrum(s, N);
  double inside = 0, exact = 0;
  for (int k = -index - 1; k <= index + 1; k++)
    exact += pow(jn(k, index), 2);
  const double edge_hz = (index + 1) * tone_hz;
  for (double hz = -edge_hz; hz <= edge_hz; hz += (double)RATE / N)
    inside += pow(cabs(bin(x, N, RATE, hz)), 2);
  CHECK_CLOSE(inside, exact, 1e-6);
  ck_assert_double_gt(inside, 0.98);
  free(x);
  free(s);
}

START_TEST(power_inside_carsons_band_is_the_bessel_sum)
{
  for (int index = 1; index <= 10; index++)
    check_carson(index, 15e3);
  check_carson(1, 53e3);
  check_carson(2, 53e3);
}
END_TEST

START_TEST(the_power_removed_is_stated)
{
  struct sc_scenario *s = plain_scenario(192e3);
  struct sc_generator *generator;
  struct sc_generator_info info;
  double frames[2 * 5000];
  s->station.tones[s->station.tone_count++] =
      (struct sc_scenario_line){.hz = 60e3, .amplitude = 75};
  ck_assert_int_eq(sc_generator_create(s, &generator, NULL), SC_OK);
  for (int i = 0; i < 40; i++)
    sc_generator_run(generator, frames, 5000);
  sc_generator_info(generator, &info);
  const double kept = pow(jn(0, 1.25), 2) + 2 * pow(jn(1, 1.25), 2); /* 120 kHz is outside */
  CHECK_CLOSE(info.removed_db, 10 * log10(kept), 0.002);
  ck_assert_double_ge(info.modulation_rate_hz, 1e6);
  CHECK_CLOSE(info.peak_khz, 75, 0.1);
  sc_generator_destroy(generator);
  free(s);
}
END_TEST

/* ---- the moving path */

/* A burst that never ends is a tone, but goes through the slow streams and the integral. */
static void check_moving(double rate_hz, enum sc_scenario_what what, enum sc_programme_to to)
{
  enum { N = 6000 };
  struct sc_scenario *steady = plain_scenario(rate_hz), *moving = plain_scenario(rate_hz);
  steady->what = moving->what = what;
  steady->station.preemphasis_us = moving->station.preemphasis_us = 75;
  steady->station.difference_gain_db = moving->station.difference_gain_db = -0.3;
  steady->station.difference_phase_rad = moving->station.difference_phase_rad = 0.1;
  add_part(steady, SC_PROGRAMME_TONE, to, 9000, 12);
  struct sc_programme *burst = add_part(moving, SC_PROGRAMME_BURSTS, to, 9000, 12);
  burst->period_s = burst->on_s = 0.01;
  const size_t width = what == SC_WHAT_IQ ? 2 : 1;
  double *a = play(steady, N), *b = play(moving, N);
  double complex turn = 0; /* the integral's constant is free */
  for (size_t i = 0; i < N && width == 2; i++)
    turn += (a[2 * i] + I * a[2 * i + 1]) * (b[2 * i] - I * b[2 * i + 1]);
  turn = width == 2 ? turn / cabs(turn) : 1;
  for (size_t i = 0; i < N; i++) {
    const double complex p = a[width * i] + (width == 2 ? I * a[2 * i + 1] : 0);
    const double complex q = b[width * i] + (width == 2 ? I * b[2 * i + 1] : 0);
    CHECK_BELOW(cabs(p - q * turn), 1e-6);
  }
  free(a);
  free(b);
  free(steady);
  free(moving);
}

START_TEST(the_moving_path_agrees_with_the_closed_form)
{
  static const double rates[] = {192e3, 384e3, 1.2345e6, 2.4e6, 10e6};
  for (size_t r = 0; r < 5; r++) {
    check_moving(rates[r], SC_WHAT_IQ, SC_TO_LEFT);
    check_moving(rates[r], SC_WHAT_COMPOSITE, SC_TO_RIGHT);
  }
  check_moving(384e3, SC_WHAT_IQ, SC_TO_APART);
}
END_TEST

/* ---- separation */

/* M and S decoded by the test's own filters from the composite; power of L - R against L. */
static double separation_db(struct sc_scenario *s)
{
  enum { N = 30000, EDGE = 1000 };
  static double other[N], sum[N], difference[N];
  s->what = SC_WHAT_COMPOSITE;
  double *khz = play(s, N);
  for (size_t i = 0; i < N; i++)
    other[i] = 2 * khz[i] * sin(TWO_PI * 38e3 * (double)i / s->rate_hz);
  lowpass(khz, sum, N, 15.5e3, 20e3, s->rate_hz);
  lowpass(other, difference, N, 15.5e3, 20e3, s->rate_hz);
  double left = 0, right = 0;
  for (size_t i = EDGE; i < N - EDGE; i++) {
    left += pow(sum[i] + difference[i], 2);
    right += pow(sum[i] - difference[i], 2);
  }
  free(khz);
  return 10 * log10(left / right);
}

START_TEST(its_own_separation_is_beyond_100_db)
{
  struct sc_scenario *s = plain_scenario(240e3);
  s->station.preemphasis_us = 50;
  add_part(s, SC_PROGRAMME_WHITE, SC_TO_LEFT, 0, 5);
  ck_assert_double_gt(separation_db(s), 100);
  s->station.programme_count = 0;
  for (int k = 1; k <= 14; k++)
    add_part(s, SC_PROGRAMME_TONE, SC_TO_LEFT, 1050.0 * k, 2);
  ck_assert_double_gt(separation_db(s), 100);
  free(s);
}
END_TEST

/* The same from the air: FM demodulated by phase steps, whose droop is divided out line by line,
 * so that nothing of the generator or of the library takes part. */
static double complex *demodulate(const struct sc_scenario *s, size_t n)
{
  double *iq = play(s, n + 1);
  double complex *x = malloc(n * sizeof *x);
  ck_assert_ptr_nonnull(x);
  for (size_t i = 0; i < n; i++) {
    const double complex now = iq[2 * i] + I * iq[2 * i + 1];
    const double complex next = iq[2 * i + 2] + I * iq[2 * i + 3];
    x[i] = carg(next * conj(now)) / TWO_PI * s->rate_hz / 1000;
  }
  free(iq);
  transform(x, n);
  for (size_t k = 1; k < n; k++) {
    const double turn = TWO_PI / 2 * (k < n / 2 ? (double)k : (double)k - (double)n) / (double)n;
    x[k] *= turn / sin(turn);
  }
  return x;
}

/* Sum and difference at one frequency; a phase step stands half a sample late. */
static double air_separation_db(struct sc_scenario *s, enum sc_programme_kind kind,
                                enum sc_programme_to to, double hz)
{
  enum { N = 120000 };
  s->station.programme_count = 0;
  struct sc_programme *part = add_part(s, kind, to, hz, 75 / hypot(1, TWO_PI * hz * 75e-6) * 0.9);
  part->period_s = part->on_s = 0.1;
  double complex *x = demodulate(s, N);
  const double late = TWO_PI / 2 / s->rate_hz;
  const double complex sum = bin(x, N, s->rate_hz, hz) * cexp(-I * hz * late);
  const double complex upper = bin(x, N, s->rate_hz, 38e3 + hz) * cexp(-I * (38e3 + hz) * late);
  const double complex lower = bin(x, N, s->rate_hz, 38e3 - hz) * cexp(-I * (38e3 - hz) * late);
  const double complex difference = I * upper + conj(I * lower);
  free(x);
  const double sign = to == SC_TO_LEFT ? 1 : -1;
  return db(cabs(sum + sign * difference) / cabs(sum - sign * difference));
}

START_TEST(separation_on_air_is_beyond_100_db)
{
  static const double tones_hz[] = {50, 1000, 5000, 14990};
  struct sc_scenario *s = plain_scenario(1.2e6);
  s->station.pilot_khz = 6.75;
  s->station.preemphasis_us = 75;
  for (size_t i = 0; i < 4; i++) {
    ck_assert_double_gt(air_separation_db(s, SC_PROGRAMME_TONE, SC_TO_LEFT, tones_hz[i]), 100);
    ck_assert_double_gt(air_separation_db(s, SC_PROGRAMME_TONE, SC_TO_RIGHT, tones_hz[i]), 100);
    /* a burst that never ends goes the way of all that is not steady */
    ck_assert_double_gt(air_separation_db(s, SC_PROGRAMME_BURSTS, SC_TO_LEFT, tones_hz[i]), 100);
  }
  s->station.difference_gain_db = 0.1; /* and it can see one that is not */
  CHECK_CLOSE(air_separation_db(s, SC_PROGRAMME_TONE, SC_TO_LEFT, 1000), 44.8, 0.1);
  free(s);
}
END_TEST

/* (1 + 2 g cos t + g^2) / (1 - 2 g cos t + g^2), and an error p of the 38 kHz phase acts as a gain
 * of cos p (computed tables). */
static const struct {
  double gain_db, phase_deg, separation_db;
} separations[] = {{0.5, 0, 30.8}, {1, 0, 24.8},  {0.1, 0, 44.8}, {-1, 0, 24.8},
                   {0, 10, 42.3},  {0, 20, 30.1}, {0, 30, 22.9}};

START_TEST(gain_and_phase_errors_cost_the_tabulated_separation)
{
  struct sc_scenario *s = plain_scenario(240e3);
  add_part(s, SC_PROGRAMME_TONE, SC_TO_LEFT, 1000, 30);
  for (size_t i = 0; i < sizeof separations / sizeof separations[0]; i++) {
    s->station.difference_gain_db = separations[i].gain_db;
    s->station.difference_phase_rad = separations[i].phase_deg * TWO_PI / 360;
    CHECK_CLOSE(separation_db(s), separations[i].separation_db, 0.1);
  }
  free(s);
}
END_TEST

/* ---- RDS */

static double data_at(const uint8_t *bits, size_t count, double x)
{
  double sum = 0;
  int state = 0;
  for (size_t k = 0; k < count; k++) {
    state ^= bits[k];
    sum += (state ? 1 : -1) * signal_rds_pulse(x - (double)k);
  }
  return sum;
}

/* The composite of RDS alone against bits, pulses and a 57 kHz carrier put together here. Which
 * of the two signs the differential code starts with is left open. */
static void check_rds_composite(double phase_rad)
{
  enum { GROUPS = 4, COUNT = GROUPS * SIGNAL_RDS_GROUP_BITS };
  const double rate_hz = 240e3;
  struct sc_scenario *s = plain_scenario(rate_hz);
  struct signal_rds_coder coder;
  uint8_t bits[COUNT];
  s->what = SC_WHAT_COMPOSITE;
  s->station.pilot_hz = 19000.5;
  s->station.rds = (struct sc_rds_content){
      .khz = 3, .phase_rad = phase_rad, .pi = 0xd3a5, .pty = 3, .ps = "KITEFLD"};
  ck_assert(signal_rds_coder_init(&coder, &s->station.rds));
  for (size_t g = 0; g < GROUPS; g++) {
    uint16_t group[4];
    signal_rds_coder_next(&coder, 0, 0, group);
    signal_rds_bits(group, bits + g * SIGNAL_RDS_GROUP_BITS);
  }
  const size_t first = 24000, count = 40000;
  double *out = play(s, first + count), error = 0, power = 0, sign = 0;
  for (size_t i = first; i < first + count; i += 7) {
    const double t = (double)i / rate_hz;
    const double expected = 3 / 1.1333511936761 * data_at(bits, COUNT, t * 19000.5 / 16) *
                            sin(TWO_PI * 57001.5 * t + phase_rad);
    const double got = 100 * out[i];
    if (sign == 0 && fabs(expected) > 1)
      sign = expected * got > 0 ? 1 : -1;
    error += sign == 0 ? 0 : pow(got - sign * expected, 2);
    power += expected * expected;
  }
  CHECK_BELOW(10 * log10(error / power), -80);
  free(out);
  free(s);
}

START_TEST(rds_stands_on_the_third_harmonic_of_the_pilot)
{
  check_rds_composite(0);
  check_rds_composite(TWO_PI / 4);
}
END_TEST

/* ---- frames and settings */

START_TEST(scenario_frames_do_not_depend_on_the_calls)
{
  enum { N = 5000 };
  static double parts[2 * N];
  struct sc_scenario *s = plain_scenario(384e3);
  struct sc_generator *generator;
  s->cnr_db = 30;
  s->station.rds.khz = 2;
  add_part(s, SC_PROGRAMME_PINK, SC_TO_BOTH, 0, 5);
  double *whole = play(s, N);
  ck_assert_int_eq(sc_generator_create(s, &generator, NULL), SC_OK);
  for (size_t done = 0, n = 1; done < N; done += n, n = n * 2 + 1) {
    n = n < N - done ? n : N - done;
    sc_generator_run(generator, parts + 2 * done, n);
  }
  ck_assert_mem_eq(whole, parts, sizeof parts);
  sc_generator_destroy(generator);
  free(whole);
  free(s);
}
END_TEST

static void check_refused(const struct sc_scenario *s, const char *says)
{
  struct sc_message message = {""};
  struct sc_generator *generator;
  ck_assert_int_eq(sc_generator_create(s, &generator, &message), SC_BAD_ARGUMENT);
  ck_assert_ptr_null(generator);
  ck_assert_msg(strstr(message.text, says) != NULL, "'%s' does not say '%s'", message.text, says);
}

START_TEST(scenarios_out_of_range_are_refused_with_the_key)
{
  struct sc_scenario *s = plain_scenario(384e3);
  const struct sc_scenario good = *s;
#define REFUSED(change, says)                                                                      \
  *s = good;                                                                                       \
  change;                                                                                          \
  check_refused(s, says)
  REFUSED(s->rate_hz = 100e3, "rate_hz is 100000");
  REFUSED(s->rate_hz = 20e6, "rate_hz is 2e+07");
  REFUSED(s->rate_hz = NAN, "rate_hz");
  REFUSED(s->station.pilot_khz = -1, "station.pilot.khz is -1");
  REFUSED(s->station.pilot_hz = 0, "station.pilot.hz");
  REFUSED(s->station.programme_count = 99, "station.programme: 99");
  REFUSED(add_part(s, SC_PROGRAMME_TONE, SC_TO_LEFT, 1e6, 1), "station.programme[0].hz");
  REFUSED(add_part(s, SC_PROGRAMME_COMB, SC_TO_LEFT, 100, 1), "to_hz");
  REFUSED(add_part(s, SC_PROGRAMME_BURSTS, SC_TO_LEFT, 100, 1), "period_s");
  REFUSED(add_part(s, SC_PROGRAMME_SOUND, SC_TO_LEFT, 0, 1), "file");
  REFUSED(s->station.rds.groups_only = true, "groups");
  REFUSED(s->centre_hz = 91e6, "both frequencies or none");
  REFUSED(s->cnr_db = INFINITY, "cnr_db");
  REFUSED(s->station.rds = ((struct sc_rds_content){.khz = 1, .ps = "123456789"}), "rds");
#undef REFUSED
  free(s);
}
END_TEST

START_TEST(audio_is_the_programme_before_the_transmitter)
{
  enum { N = 4800 };
  struct sc_scenario *s = plain_scenario(48e3);
  s->what = SC_WHAT_AUDIO;
  s->station.preemphasis_us = 75;
  add_part(s, SC_PROGRAMME_TONE, SC_TO_LEFT, 1000, 37.5);
  add_part(s, SC_PROGRAMME_TONE, SC_TO_RIGHT, 14000, 15);
  double *frames = play(s, N);
  for (size_t i = 0; i < N; i++) {
    CHECK_CLOSE(frames[2 * i], 0.5 * sin(TWO_PI * 1000 * (double)i / 48e3), 1e-6);
    CHECK_CLOSE(frames[2 * i + 1], 0.2 * sin(TWO_PI * 14000 * (double)i / 48e3), 1e-6);
  }
  free(frames);
  free(s);
}
END_TEST

Suite *generator_suite(void)
{
  Suite *suite = suite_create("generator");
  TCase *lines = tcase_create("lines");
  tcase_add_test(lines, lines_are_theirs_and_nothing_else_is_there);
  tcase_add_test(lines, power_inside_carsons_band_is_the_bessel_sum);
  tcase_add_test(lines, the_power_removed_is_stated);
  suite_add_tcase(suite, lines);
  TCase *moving = tcase_create("composite");
  tcase_add_test(moving, the_moving_path_agrees_with_the_closed_form);
  tcase_add_test(moving, its_own_separation_is_beyond_100_db);
  tcase_add_test(moving, separation_on_air_is_beyond_100_db);
  tcase_add_test(moving, gain_and_phase_errors_cost_the_tabulated_separation);
  tcase_add_test(moving, rds_stands_on_the_third_harmonic_of_the_pilot);
  suite_add_tcase(suite, moving);
  TCase *rest = tcase_create("frames and settings");
  tcase_add_test(rest, scenario_frames_do_not_depend_on_the_calls);
  tcase_add_test(rest, scenarios_out_of_range_are_refused_with_the_key);
  tcase_add_test(rest, audio_is_the_programme_before_the_transmitter);
  suite_add_tcase(suite, rest);
  return suite;
}
