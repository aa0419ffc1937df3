/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Pilot against the truth: bound, coverage, and everything that is no pilot.
 *
 * Discriminator noise has the one-sided density G = f^2 / (CNR B) in Hz^2/Hz (textbook; fact of
 * phase noise of density N0/C), made here as differences of white noise. A tone's frequency in it
 * has the bound sd = sqrt(3 G / (pi^2 a^2 T^3)), its amplitude sd = sqrt(G / T) (Rife and
 * Boorstyn, IEEE Trans. Inf. Theory IT-20, 1974, with G rate / 2 as the variance of a sample). */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/composite.h>
#include <sidecomb/pilot.h>
#include <sidecomb/signal.h>

#include "measure/received.h"
#include "measure/suites.h"
#include "signal/random.h"
#include "support/random.h"
#include "support/support.h"

#define PI 3.1415926535897932384626433832795
#define TWO_PI (2.0 * PI)

enum { BLOCK = 4096, RATE = 96000 };

/* A composite made of what a test needs; all that is zero is absent. */
struct scene {
  double seconds;
  double pilot_khz, pilot_hz, phase_rad; /* hz: from 19 kHz */
  double cnr_db;                         /* in 200 kHz; 0: no noise */
  double am, am_hz;                      /* of the pilot */
  double pm_rad, pm_hz;
  double linewidth_hz; /* phase of the pilot walks at random */
  double tone_khz, tone_hz;
  double audio_khz;   /* rms of noise, flat over the whole composite */
  double off_after_s; /* pilot switched off then, 0: never */
  uint64_t seed;
};

struct state {
  struct signal_random random;
  double last, walk;
};

static double noise_sd(double cnr_db)
{
  /* f^2 / (CNR B) = 2 s^2 / rate (2 sin(pi f / rate))^2, in kHz^2 at 19 kHz */
  const double density = 19.0 * 19.0 / (pow(10.0, cnr_db / 10.0) * 200e3);
  const double response = 2.0 * sin(PI * 19e3 / RATE);
  return sqrt(density * RATE / 2.0) / response;
}

static void generate(const struct scene *s, struct state *state, size_t start, float *out, size_t n)
{
  const double sd = s->cnr_db != 0.0 ? noise_sd(s->cnr_db) : 0.0;
  for (size_t k = 0; k < n; k++) {
    const double t = (double)(start + k) / RATE;
    double value = 0.0;
    if (s->pilot_khz > 0.0 && (s->off_after_s == 0.0 || t < s->off_after_s)) {
      if (s->linewidth_hz > 0.0)
        state->walk += sqrt(TWO_PI * s->linewidth_hz / RATE) * signal_random_gauss(&state->random);
      value = s->pilot_khz * (1.0 + s->am * cos(TWO_PI * s->am_hz * t)) *
              sin(TWO_PI * fmod((19e3 + s->pilot_hz) * t, 1.0) + s->phase_rad + state->walk +
                  s->pm_rad * sin(TWO_PI * s->pm_hz * t));
    }
    if (s->tone_khz > 0.0)
      value += s->tone_khz * sin(TWO_PI * fmod(s->tone_hz * t, 1.0));
    if (s->audio_khz > 0.0)
      value += s->audio_khz * signal_random_gauss(&state->random);
    if (sd > 0.0) {
      const double white = sd * signal_random_gauss(&state->random);
      value += white - state->last;
      state->last = white;
    }
    out[k] = (float)value;
  }
}

static struct sc_pilot_meter *create(bool absolute, double clock)
{
  struct sc_pilot_meter *meter;
  const struct sc_pilot_settings settings = {RATE, absolute, clock};
  ck_assert_int_eq(sc_pilot_create(&settings, &meter), SC_OK);
  return meter;
}

/* Feeds the scene from the meter's reset on, or after a gap from `start` on. */
static void feed(struct sc_pilot_meter *meter, const struct scene *s, double start_s, bool gap)
{
  static float out[BLOCK];
  static struct state state;
  signal_random_seed(&state.random, s->seed);
  state.last = state.walk = 0.0;
  const size_t start = (size_t)(start_s * RATE);
  const size_t frames = (size_t)(s->seconds * RATE);
  for (size_t n = 0; n < frames; n += BLOCK) {
    const size_t count = frames - n < BLOCK ? frames - n : BLOCK;
    generate(s, &state, start + n, out, count);
    sc_pilot_feed(meter, out, count, gap && n == 0);
  }
}

static struct sc_pilot measure(const struct scene *s)
{
  struct sc_pilot pilot;
  struct sc_pilot_meter *meter = create(true, (double)NAN);
  feed(meter, s, 0.0, true);
  sc_pilot_result(meter, &pilot);
  sc_pilot_destroy(meter);
  return pilot;
}

/* ---- estimates */

struct tally {
  double square;
  unsigned inside;
};

static void count(struct tally *tally, double error, double bound, double stated)
{
  tally->square += error * error / (bound * bound);
  tally->inside += fabs(error) <= stated;
}

static void check_tally(const char *what, const struct tally *tally, unsigned trials)
{
  const double scatter = sqrt(tally->square / trials);
  const double share = 100.0 * tally->inside / trials;
  /* the widths of a share of 68.3 % over 200 and 2000 trials, three sigma */
  const double low = support_long() ? 65.0 : 58.0;
  const double high = support_long() ? 71.0 : 78.0;
  printf("%s: scatter / bound %.3f, within one sigma %.1f %%\n", what, scatter, share);
#ifdef SC_SANITIZED /* a tenth of the trials, which scatter more by themselves */
  ck_assert_double_le(scatter, 1.3 * sqrt(support_mean_square_limit(trials)));
#else
  ck_assert_double_le(scatter, 1.3);
#endif
  if (trials < 200)
    return;
  ck_assert_double_ge(share, low);
  ck_assert_double_le(share, high);
}

START_TEST(noise_reaches_the_bound)
{
  const unsigned trials = support_trials(support_long() ? 2000 : 200);
  const uint64_t seed = support_seed("noise_reaches_the_bound", 19000);
  uint64_t random = seed;
  struct tally frequency = {0};
  struct tally deviation = {0};
  const double seconds = 2.0;
  for (unsigned t = 0; t < trials; t++) {
    const struct scene s = {.seconds = seconds,
                            .pilot_khz = 6.75 + 0.75 * support_uniform(&random),
                            .pilot_hz = 2.0 * support_uniform(&random),
                            .phase_rad = PI * support_uniform(&random),
                            .cnr_db = 30.0 + 10.0 * support_uniform(&random),
                            .seed = seed + t};
    const struct sc_pilot pilot = measure(&s);
    ck_assert_msg(pilot.present == SC_YES, "trial %u: %s", t, pilot.why);
    const double density = 19e3 * 19e3 / (pow(10.0, s.cnr_db / 10.0) * 200e3);
    const double a = 1e3 * s.pilot_khz;
    const double bound_hz = sqrt(3.0 * density / (PI * PI * a * a * pow(seconds, 3.0)));
    const double bound_khz = sqrt(density / seconds) / 1e3;
    count(&frequency, pilot.frequency_error_hz.value - s.pilot_hz, bound_hz,
          pilot.frequency_error_hz.uncertainty);
    count(&deviation, pilot.deviation_khz.value - s.pilot_khz, bound_khz,
          pilot.deviation_khz.uncertainty);
    ck_assert_double_eq_tol(pilot.deviation_khz.value, s.pilot_khz, 0.005 * s.pilot_khz);
    ck_assert_double_eq_tol(pilot.snr_db, 10.0 * log10(a * a / 2.0 * seconds / density), 2.0);
  }
  check_tally("frequency", &frequency, trials);
  check_tally("deviation", &deviation, trials);
}
END_TEST

START_TEST(exact_without_noise)
{
  for (int k = -3; k <= 3; k++) {
    const struct scene s = {
        .seconds = 1.0, .pilot_khz = 6.0, .pilot_hz = 6.3 * k, .phase_rad = 0.7 * k};
    const struct sc_pilot pilot = measure(&s);
    ck_assert_int_eq(pilot.present, SC_YES);
    ck_assert_ptr_null(pilot.frequency_hz.why);
    ck_assert_double_eq_tol(pilot.frequency_hz.value, 19000.0 + 6.3 * k, 1e-5);
    ck_assert_double_eq_tol(pilot.frequency_error_hz.value, pilot.frequency_hz.value - 19000.0,
                            1e-9);
    ck_assert_double_eq_tol(pilot.deviation_khz.value, 6.0, 6.0 * 1e-3);
    ck_assert_double_eq_tol(pilot.injection_percent.value, 8.0, 8.0 * 1e-3);
    ck_assert_double_eq_tol(pilot.phase_rad, 0.7 * k, 1e-3);
    /* side lobes of the window (Harris 1978), 16 bins of them on either side at the most */
    ck_assert_double_le(pilot.steadiness_db, -92.0 + 10.0 * log10(2.0 * 16.0));
  }
}
END_TEST

/* A minute: the memory has been merged, and the bound is 160 times below that of 2 s. */
START_TEST(a_minute_is_coherent)
{
  const struct scene s = {
      .seconds = 60.0, .pilot_khz = 6.75, .pilot_hz = -1.234567, .cnr_db = 20.0, .seed = 60};
  const struct sc_pilot pilot = measure(&s);
  const double density = 19e3 * 19e3 / (100.0 * 200e3);
  const double bound_hz = sqrt(3.0 * density / (PI * PI * 6750.0 * 6750.0 * pow(60.0, 3.0)));
  ck_assert_int_eq(pilot.present, SC_YES);
  ck_assert_double_eq_tol(pilot.frequency_error_hz.value, s.pilot_hz, 4.0 * bound_hz);
  ck_assert_double_le(pilot.frequency_error_hz.uncertainty, 1.3 * bound_hz);
  ck_assert_double_ge(pilot.frequency_error_hz.uncertainty, 0.7 * bound_hz);
}
END_TEST

/* ---- what is no pilot */

static const struct scene impostors[] = {
    {.seconds = 2.0, .cnr_db = 20.0, .seed = 1},     /* an unmodulated carrier */
    {.seconds = 2.0, .seed = 2},                     /* nothing at all */
    {.seconds = 0.6, .audio_khz = 60.0, .seed = 3},  /* noise to the top */
    {.seconds = 25.0, .audio_khz = 60.0, .seed = 4}, /* the same, memory merged */
    {.seconds = 2.0, .cnr_db = 30.0, .tone_khz = 70.0, .tone_hz = 15000.0, .seed = 5},
    {.seconds = 2.0, .cnr_db = 30.0, .tone_khz = 75.0, .tone_hz = 18900.0, .seed = 6},
    {.seconds = 2.0, .cnr_db = 50.0, .tone_khz = 75.0, .tone_hz = 18950.0, .seed = 7},
    {.seconds = 2.0, .cnr_db = 50.0, .tone_khz = 20.0, .tone_hz = 18975.0, .seed = 8},
    {.seconds = 24.0, .cnr_db = 50.0, .tone_khz = 75.0, .tone_hz = 18950.0, .seed = 9},
    {.seconds = 4.0, .cnr_db = 40.0, .pilot_khz = 6.75, .am = 0.3, .am_hz = 5.0, .seed = 10},
    {.seconds = 4.0, .cnr_db = 40.0, .pilot_khz = 6.75, .am = 0.6, .am_hz = 0.8, .seed = 11},
    {.seconds = 4.0, .cnr_db = 40.0, .pilot_khz = 6.75, .pm_rad = 0.5, .pm_hz = 7.0, .seed = 12},
    {.seconds = 4.0, .cnr_db = 40.0, .pilot_khz = 6.75, .pm_rad = 20.0, .pm_hz = 0.3, .seed = 13},
    {.seconds = 4.0, .cnr_db = 40.0, .pilot_khz = 6.75, .linewidth_hz = 2.0, .seed = 14},
    {.seconds = 8.0, .cnr_db = 40.0, .pilot_khz = 6.75, .off_after_s = 4.0, .seed = 15},
};

START_TEST(impostors_are_refused)
{
  const struct sc_pilot pilot = measure(&impostors[_i]);
  ck_assert_msg(pilot.present == SC_NO, "impostor %d: %s, %.3f kHz", _i, pilot.why,
                pilot.deviation_khz.value);
  ck_assert_ptr_nonnull(pilot.why);
  ck_assert_ptr_nonnull(pilot.frequency_hz.why);
  ck_assert_ptr_nonnull(pilot.deviation_khz.why);
  ck_assert(isnan(pilot.frequency_hz.value));
}
END_TEST

/* The header states 1e-6 for a whole result: none in any number of trials that a test can make. */
START_TEST(noise_makes_no_pilot)
{
  const unsigned trials = support_trials(support_long() ? 4000 : 150);
  const uint64_t seed = support_seed("noise_makes_no_pilot", 77);
  for (unsigned t = 0; t < trials; t++) {
    const struct scene s = {.seconds = 0.5 + 0.5 * (t % 3), .audio_khz = 30.0, .seed = seed + t};
    ck_assert_int_eq(measure(&s).present, SC_NO);
  }
}
END_TEST

START_TEST(weak_and_short_cannot_be_told)
{
  struct scene s = {.seconds = 2.0, .cnr_db = 50.0, .pilot_khz = 0.3, .seed = 3};
  struct sc_pilot pilot = measure(&s);
  ck_assert_int_eq(pilot.present, SC_UNKNOWN);
  ck_assert_double_eq_tol(pilot.deviation_khz.value, 0.3, 1e-3);
  s = (struct scene){.seconds = 0.2, .cnr_db = 50.0, .pilot_khz = 6.75, .seed = 3};
  pilot = measure(&s);
  ck_assert_int_eq(pilot.present, SC_UNKNOWN);
  ck_assert_ptr_nonnull(pilot.frequency_hz.why);
  s.seconds = 0.5;
  ck_assert_int_eq(measure(&s).present, SC_YES);
}
END_TEST

/* ---- tolerance, scale, gaps */

/* 19 kHz +/-2 Hz: 47 CFR 73.322(a)(2) and ITU-R BS.450. */
START_TEST(tolerance_is_judged_with_the_clock)
{
  static const struct {
    double hz, clock;
    enum sc_truth within;
  } cases[] = {
      {0.5, (double)NAN, SC_UNKNOWN}, {0.5, 1e-6, SC_YES},  {-1.9, 1e-6, SC_YES},
      {1.97, 1e-6, SC_UNKNOWN},       {2.1, 1e-6, SC_NO},   {2.1, 1e-5, SC_UNKNOWN},
      {0.5, 1e-4, SC_UNKNOWN},        {-12.0, 1e-4, SC_NO},
  };
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    const struct scene s = {
        .seconds = 1.0, .pilot_khz = 6.75, .pilot_hz = cases[i].hz, .cnr_db = 40.0, .seed = i};
    struct sc_pilot_meter *meter = create(true, cases[i].clock);
    struct sc_pilot pilot;
    feed(meter, &s, 0.0, true);
    sc_pilot_result(meter, &pilot);
    ck_assert_int_eq(pilot.within_tolerance, cases[i].within);
    if (!isnan(cases[i].clock))
      ck_assert_double_ge(pilot.frequency_hz.uncertainty, 19e3 * cases[i].clock);
    sc_pilot_destroy(meter);
  }
}
END_TEST

START_TEST(without_scale_no_deviation)
{
  const struct scene s = {.seconds = 1.0, .pilot_khz = 0.05, .cnr_db = 50.0, .seed = 5};
  struct sc_pilot_meter *meter = create(false, (double)NAN);
  struct sc_pilot pilot;
  feed(meter, &s, 0.0, true);
  sc_pilot_result(meter, &pilot);
  ck_assert_int_eq(pilot.present, SC_YES);
  ck_assert_ptr_nonnull(pilot.deviation_khz.why);
  ck_assert_ptr_nonnull(pilot.injection_percent.why);
  ck_assert_double_eq_tol(pilot.amplitude.value, 0.05, 1e-3);
  sc_pilot_destroy(meter);
}
END_TEST

/* Three stretches with gaps of a length that nobody knows: better than one, not as good as one
 * record, and never wrong. */
START_TEST(gaps_are_combined)
{
  const unsigned trials = support_trials(60);
  uint64_t random = support_seed("gaps_are_combined", 5);
  struct tally frequency = {0};
  const double density = 19e3 * 19e3 / (1e3 * 200e3);
  /* stretches of 1 s weigh alike: the bound of one over the root of three */
  const double bound_hz = sqrt(3.0 * density / (PI * PI * 6750.0 * 6750.0)) / sqrt(3.0);
  for (unsigned t = 0; t < trials; t++) {
    struct sc_pilot_meter *meter = create(true, (double)NAN);
    struct sc_pilot pilot;
    struct scene s = {.seconds = 1.0, .pilot_khz = 6.75, .phase_rad = 0.5, .cnr_db = 30.0};
    s.pilot_hz = support_uniform(&random);
    for (int stretch = 0; stretch < 3; stretch++) {
      s.seed = random++;
      feed(meter, &s, 1.37 * stretch, stretch > 0);
    }
    sc_pilot_result(meter, &pilot);
    ck_assert_int_eq(pilot.present, SC_YES);
    ck_assert_double_eq_tol(pilot.phase_rad, 0.5, 0.01);
    count(&frequency, pilot.frequency_error_hz.value - s.pilot_hz, bound_hz,
          pilot.frequency_error_hz.uncertainty);
    sc_pilot_destroy(meter);
  }
  check_tally("frequency over gaps", &frequency, trials);
}
END_TEST

/* The same without anything that marks the gaps, of 0.37 s: each turns the pilot by 1 radian
 * against what it would be. No worse than marked; and a pilot without gaps has no jumps. */
START_TEST(gaps_that_nothing_marks_are_found)
{
  for (int gaps = 0; gaps < 4; gaps++) {
    struct sc_pilot_meter *meter = create(true, (double)NAN);
    struct sc_pilot pilot;
    struct scene s = {.seconds = 1.5, .pilot_khz = 6.75, .pilot_hz = 0.4321, .cnr_db = 40.0};
    for (int stretch = 0; stretch <= gaps; stretch++) {
      s.seed = (uint64_t)(71 + stretch);
      feed(meter, &s, 1.87 * stretch, false);
    }
    sc_pilot_result(meter, &pilot);
    ck_assert_int_eq(pilot.present, SC_YES);
    ck_assert_uint_eq(pilot.jumps, (size_t)gaps);
    ck_assert_double_le(fabs(pilot.frequency_error_hz.value - s.pilot_hz),
                        4.0 * pilot.frequency_error_hz.uncertainty);
    ck_assert_double_le(pilot.frequency_error_hz.uncertainty, 1e-3);
    ck_assert_double_le(fabs(pilot.deviation_khz.value - 6.75),
                        4.0 * pilot.deviation_khz.uncertainty);
    sc_pilot_destroy(meter);
  }
}
END_TEST

START_TEST(reset_forgets)
{
  struct sc_pilot_meter *meter = create(true, (double)NAN);
  struct scene s = {.seconds = 2.0, .pilot_khz = 7.0, .pilot_hz = 3.0, .phase_rad = 1.0};
  struct sc_pilot pilot;
  feed(meter, &s, 0.0, true);
  sc_pilot_reset(meter);
  sc_pilot_result(meter, &pilot);
  ck_assert_int_eq(pilot.present, SC_UNKNOWN);
  s.pilot_hz = -4.0;
  feed(meter, &s, 0.0, false);
  for (int look = 0; look < 2; look++) { /* a look changes nothing */
    sc_pilot_result(meter, &pilot);
    ck_assert_double_eq_tol(pilot.frequency_error_hz.value, -4.0, 1e-5);
    ck_assert_double_eq_tol(pilot.phase_rad, 1.0, 1e-3);
  }
  sc_pilot_destroy(meter);
}
END_TEST

START_TEST(refuses_nonsense)
{
  struct sc_pilot_meter *meter;
  struct sc_pilot_settings settings = {30e3, true, (double)NAN};
  ck_assert_int_eq(sc_pilot_create(&settings, &meter), SC_BAD_ARGUMENT);
  settings.rate_hz = (double)INFINITY;
  ck_assert_int_eq(sc_pilot_create(&settings, &meter), SC_BAD_ARGUMENT);
  sc_pilot_destroy(NULL);
}
END_TEST

/* ---- from the air */

static struct sc_pilot from_air(const struct sc_signal_settings *signal, double seconds)
{
  struct received r;
  struct sc_pilot_meter *meter;
  struct sc_pilot pilot;
  received_start(&r, signal, 0.0, seconds);
  const struct sc_pilot_settings settings = {r.info.rate_hz, true, (double)NAN};
  ck_assert_int_eq(sc_pilot_create(&settings, &meter), SC_OK);
  while (received_next(&r))
    sc_pilot_feed(meter, r.khz, r.frames, r.first);
  sc_pilot_result(meter, &pilot);
  sc_pilot_destroy(meter);
  return pilot;
}

/* Programme: sixty tones of random frequency between 30 Hz and 15 kHz, as loud as they may be. */
static void add_programme(struct sc_signal_settings *s, uint64_t seed, double khz)
{
  for (size_t i = 0; i < 30; i++) {
    const double phase = PI * support_uniform(&seed);
    const double hz = 30.0 + 14970.0 * fabs(support_uniform(&seed));
    s->left[s->left_count++] = (struct sc_signal_tone){hz, khz / 8.0, phase};
    s->right[s->right_count++] =
        (struct sc_signal_tone){15030.0 - hz, khz / 8.0, 3.0 * support_uniform(&seed)};
  }
}

START_TEST(programme_on_air)
{
  static const double rates_hz[] = {228e3, 384e3, 480e3, 1.024e6, 2.4e6};
  for (size_t r = 0; r < sizeof rates_hz / sizeof *rates_hz; r += support_stride(3)) {
    struct sc_signal_settings s;
    sc_signal_settings_init(&s);
    s.rate_hz = rates_hz[r];
    s.pilot_khz = 6.75;
    s.pilot_hz = 19000.6;
    s.cnr_db = 30.0;
    s.seed = 11 + r;
    s.carrier_offset_hz = 1234.0;
    add_programme(&s, 7 + r, 22.0);
    struct sc_pilot pilot = from_air(&s, 1.0);
    ck_assert_msg(pilot.present == SC_YES, "%g S/s: %s", rates_hz[r], pilot.why);
    ck_assert_double_eq_tol(pilot.frequency_hz.value, 19000.6,
                            4.0 * pilot.frequency_hz.uncertainty);
    ck_assert_double_eq_tol(pilot.deviation_khz.value, 6.75, 0.005 * 6.75);
    s.pilot_khz = 0.0;
    s.mono = _i == 1;
    pilot = from_air(&s, 1.0);
    ck_assert_msg(pilot.present == SC_NO, "%g S/s without: %s", rates_hz[r], pilot.why);
  }
}
END_TEST

START_TEST(no_carrier_no_pilot)
{
  struct sc_signal_settings s;
  sc_signal_settings_init(&s);
  s.rate_hz = 480e3;
  s.cnr_db = 0.0;
  s.no_carrier = true;
  for (s.seed = 1; s.seed <= 3; s.seed++)
    ck_assert_int_eq(from_air(&s, 1.0).present, SC_NO);
}
END_TEST

Suite *pilot_suite(void)
{
  Suite *suite = suite_create("measure/pilot");
  TCase *tests = tcase_create("pilot");
  tcase_add_test(tests, noise_reaches_the_bound);
  tcase_add_test(tests, exact_without_noise);
  tcase_add_test(tests, a_minute_is_coherent);
  tcase_add_loop_test(tests, impostors_are_refused, 0, sizeof impostors / sizeof *impostors);
  tcase_add_test(tests, noise_makes_no_pilot);
  tcase_add_test(tests, weak_and_short_cannot_be_told);
  tcase_add_test(tests, tolerance_is_judged_with_the_clock);
  tcase_add_test(tests, without_scale_no_deviation);
  tcase_add_test(tests, gaps_are_combined);
  tcase_add_test(tests, gaps_that_nothing_marks_are_found);
  tcase_add_test(tests, reset_forgets);
  tcase_add_test(tests, refuses_nonsense);
  tcase_add_loop_test(tests, programme_on_air, 0, 2);
  tcase_add_test(tests, no_carrier_no_pilot);
  suite_add_tcase(suite, tests);
  return suite;
}
