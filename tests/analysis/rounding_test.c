/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Captures whose samples repeat, rounded to few bits: what that makes is the capture's, and real
 * lines stay real. The power of all that is rounded off is a sixth of a step's square in I and Q
 * together (W. R. Bennett 1948, from memory). */
#include <config.h>

#include <math.h>
#include <string.h>

#include "analysis/scene.h"
#include "analysis/suites.h"
#include "support/random.h"
#include "support/support.h"

enum { BLOCK = 1 << 14 };

/* As it rounds: to whole steps, or between two, with noise of so many steps. */
struct converter {
  unsigned bits;
  bool between;
  double noise_steps;
  double times; /* that a program made of the samples later; 0: none did */
  uint64_t random;
};

static float rounded(struct converter *converter, double value)
{
  const double per_one = exp2((double)converter->bits - 1), steps = per_one * value;
  if (!converter->between)
    return (float)(nearbyint(steps) / per_one);
  const double noise = converter->noise_steps * support_normal(&converter->random);
  return (float)((floor(steps + noise) + 0.5) / per_one);
}

static float convert(struct converter *converter, double value)
{
  const float sample = rounded(converter, value);
  return converter->times > 0 ? (float)converter->times * sample : sample;
}

static struct sc_result analyse(const struct sc_scenario *s, struct converter *converter,
                                uint64_t frames)
{
  static double made[2 * BLOCK];
  static float samples[2 * BLOCK];
  struct sc_message message;
  struct sc_analysis *analysis;
  struct sc_generator *generator;
  struct sc_result result;
  const struct sc_source_info info = {.kind = SC_KIND_IQ,
                                      .sample_rate_hz = s->rate_hz,
                                      .nominal_rate_hz = s->rate_hz,
                                      .clock_relative_uncertainty = (double)NAN,
                                      .channels = 2,
                                      .bits = converter->bits};
  struct sc_analysis_settings settings = scene_settings(s);
  settings.lines = true;
  ck_assert_int_eq(sc_generator_create(s, &generator, &message), SC_OK);
  ck_assert_int_eq(sc_analysis_create(&info, &settings, &analysis, &message), SC_OK);
  for (uint64_t at = 0; at + BLOCK <= frames; at += BLOCK) {
    sc_generator_run(generator, made, BLOCK);
    for (size_t i = 0; i < 2 * BLOCK; i++)
      samples[i] = convert(converter, made[i]);
    const struct sc_block block = {
        .first = at, .frames = BLOCK, .channels = 2, .samples = samples, .info = &info};
    ck_assert_int_eq(sc_analysis_feed(analysis, &block), SC_OK);
  }
  ck_assert_int_eq(sc_analysis_result(analysis, &result), SC_OK);
  sc_analysis_destroy(analysis);
  sc_generator_destroy(generator);
  return result;
}

/* A second of a tone in one channel at 1 MS/s, all frequencies multiples of 1 kHz, in so many bits;
 * and a carrier, if `dbc` is a number. */
static struct sc_result measure(unsigned bits, double cnr_db, double carrier_hz, double dbc)
{
  struct sc_scenario s = scene_silent(1e6, cnr_db);
  s.offset_hz = 0;
  scene_add_tone(&s, SC_TO_LEFT, 1000, 60.75);
  if (isfinite(dbc))
    s.carriers[s.carrier_count++] = (struct sc_scenario_line){.hz = carrier_hz, .amplitude = dbc};
  struct converter converter = {.bits = bits};
  return analyse(&s, &converter, 1000000);
}

static void check_all(const struct sc_line_list *list)
{
  for (size_t i = 0; i < list->count; i++)
    ck_assert_msg(list->lines[i].verdict == SC_VERDICT_EXPLAINED ||
                      list->lines[i].verdict == SC_VERDICT_ARTEFACT,
                  "%g Hz: %s", list->lines[i].offset_hz.value, list->lines[i].cause);
}

START_TEST(what_rounding_makes_is_the_captures)
{
  for (unsigned bits = 8; bits <= 16; bits += 8) {
    struct sc_result result = measure(bits, (double)NAN, 0, (double)NAN);
    const struct sc_line_list *air = &result.air_lines;
    double power = 0;
    check_all(air);
    check_all(&result.composite_lines);
    for (size_t i = 0; i < air->count; i++)
      if (strcmp(air->lines[i].label, "rounding") == 0)
        power += pow(10, air->lines[i].tone.level_db.value / 10);
    /* not all of it is found, and none where modulation is */
    const double step = exp2(1 - (double)bits), most = step * step / 6;
    ck_assert_double_lt(power, most);
    ck_assert_double_gt(power, 0.2 * most);
    sc_result_clear(&result);
  }
}
END_TEST

/* Six bits make tones above 53 kHz that are as strong as some that transmitters make. */
START_TEST(what_rounding_makes_is_no_subcarrier)
{
  struct sc_result result = measure(6, (double)NAN, 0, (double)NAN);
  ck_assert_uint_gt(result.injections.count, 0);
  for (size_t i = 0; i < result.injections.count; i++) {
    const struct sc_injection *found = &result.injections.at[i];
    ck_assert_msg(found->label != NULL && strncmp(found->label, "none: ", 6) == 0, "%g Hz, %s",
                  found->offset_hz.value, sc_injection_kind_name(found->kind));
  }
  sc_result_clear(&result);
}
END_TEST

/* With a carrier at no multiple of 1 kHz rounding makes lines at sums of many times both; all but
 * one in a hundred are told. */
START_TEST(rounding_with_another_carrier_is_the_captures)
{
  struct sc_result result = measure(16, (double)NAN, 350430, -60);
  const struct sc_line_list *air = &result.air_lines;
  size_t rounded = 0, others = 0;
  for (size_t i = 0; i < air->count; i++) {
    const bool carrier = fabs(air->lines[i].offset_hz.value - 350430) < 1;
    const bool spurious = air->lines[i].verdict == SC_VERDICT_SPURIOUS;
    rounded += strcmp(air->lines[i].label, "rounding") == 0;
    others += spurious && !carrier;
    ck_assert_msg(spurious || !carrier, "%s", air->lines[i].cause);
  }
  ck_assert_uint_gt(rounded, 1000);
  ck_assert_uint_lt(100 * others, rounded);
  sc_result_clear(&result);
}
END_TEST

/* Two seconds of a pilot and data at 1.024 MS/s, 240 kHz beside the middle and no multiple of
 * anything, in 8 bits with noise of so many steps; and carriers, by offset from the transmitter's.
 */
static struct sc_result measure_data(double noise_steps, double times, const double (*carriers)[2],
                                     size_t count)
{
  struct sc_message message;
  struct sc_scenario s = scene_silent(1.024e6, (double)NAN);
  ck_assert_int_eq(sc_scenario_ready("data", &s, &message), SC_OK);
  s.rate_hz = 1.024e6;
  s.seconds = 2;
  s.level_dbfs = -3;
  s.cnr_db = (double)NAN;
  s.offset_hz = -240e3 + 137.31;
  s.station.programme_count = 0;
  s.station.rds.khz = 2;
  for (size_t i = 0; i < count; i++)
    s.carriers[s.carrier_count++] =
        (struct sc_scenario_line){.hz = carriers[i][0] + s.offset_hz, .amplitude = carriers[i][1]};
  struct converter converter = {.bits = 8,
                                .between = true,
                                .noise_steps = noise_steps,
                                .times = times,
                                .random = support_seed("rounded data", 3)};
  return analyse(&s, &converter, 2048000);
}

/* Samples that never repeat: lines everywhere. There is nothing else in the scene; one in ten may
 * stay open, and none is called another signal's or the transmitter's. */
START_TEST(what_rounding_makes_of_data_is_the_captures)
{
  const double noise_steps[] = {0, 0.15};
  for (size_t k = 0; k < 2; k++) {
    struct sc_result result = measure_data(noise_steps[k], 0, NULL, 0);
    const struct sc_line_list *air = &result.air_lines;
    size_t rounded = 0, open = 0;
    for (size_t i = 0; i < air->count; i++) {
      rounded += strcmp(air->lines[i].label, "rounding") == 0;
      open += air->lines[i].verdict == SC_VERDICT_UNKNOWN;
      ck_assert_msg(air->lines[i].verdict != SC_VERDICT_SPURIOUS &&
                        air->lines[i].verdict != SC_VERDICT_RESIDUAL &&
                        strstr(air->lines[i].cause, "another modulated") == NULL,
                    "%g Hz: %s", air->lines[i].offset_hz.value, air->lines[i].cause);
    }
    ck_assert_uint_gt(rounded, 50);
    ck_assert_msg(10 * open <= rounded, "%zu open beside %zu", open, rounded);
    sc_result_clear(&result);
  }
}
END_TEST

/* Nobody can round once more what is in no steps any more: nothing is said to be rounding's, though
 * it is. */
START_TEST(samples_in_no_steps_are_not_rounded_once_more)
{
  struct sc_result result = measure_data(0, 0.9, NULL, 0);
  ck_assert_uint_gt(result.air_lines.count, 50);
  for (size_t i = 0; i < result.air_lines.count; i++)
    ck_assert_double_eq(result.air_lines.lines[i].rounded, 0);
  sc_result_clear(&result);
}
END_TEST

static const struct sc_line *line_at(const struct sc_result *result, double offset_hz)
{
  const struct sc_line_list *list = &result->air_lines;
  for (size_t i = 0; i < list->count; i++)
    if (fabs(list->lines[i].offset_hz.value - offset_hz) < 1)
      return &list->lines[i];
  ck_abort_msg("no line at %g Hz", offset_hz);
  return NULL;
}

/* Stronger than rounding makes any; at no multiple; and where noise covers the steps. */
START_TEST(a_real_line_is_not_excused)
{
  const struct {
    double cnr_db, hz, dbc;
  } cases[] = {{(double)NAN, 350e3, -100}, {(double)NAN, 350437, -110}, {82, 350e3, -112}};
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    struct sc_result result = measure(16, cases[i].cnr_db, cases[i].hz, cases[i].dbc);
    const struct sc_line *line = line_at(&result, cases[i].hz);
    ck_assert_msg(line->verdict == SC_VERDICT_SPURIOUS, "%g Hz: %s", cases[i].hz, line->cause);
    sc_result_clear(&result);
  }
}
END_TEST

/* In the channel and outside, among lines that rounding makes 20 to 30 dB and more below: as strong
 * as the converter's law lets them be, and stronger. */
START_TEST(a_real_line_among_those_of_rounding_is_not_excused)
{
  static const double carriers[][2] = {{31300, -50},  {351700, -50}, {-170333, -60},
                                       {573300, -70}, {641100, -78}, {-8100, -66}};
  const double noise_steps[] = {0, 0.15};
  for (size_t k = 0; k < 2; k++) {
    struct sc_result result =
        measure_data(noise_steps[k], 0, carriers, sizeof carriers / sizeof *carriers);
    for (size_t i = 0; i < sizeof carriers / sizeof *carriers; i++) {
      const struct sc_line *line = line_at(&result, carriers[i][0]);
      ck_assert_msg(line->verdict == SC_VERDICT_SPURIOUS || line->verdict == SC_VERDICT_UNKNOWN,
                    "%g Hz: %s", carriers[i][0], line->cause);
      ck_assert_msg(line->verdict == SC_VERDICT_SPURIOUS || carriers[i][1] < -60, "%g Hz: %s",
                    carriers[i][0], line->cause);
    }
    sc_result_clear(&result);
  }
}
END_TEST

/* Two seconds of a composite from a file of 16 bits at 192 kS/s: a pilot, or pilot and two tones,
 * and a tone of so many steps; noise of so many steps, rms. */
static struct sc_result measure_composite_of(double pilot_steps, bool stereo, double tone_hz,
                                             double tone_steps, double noise_steps)
{
  enum { RATE = 192000, PART = 9600, PARTS = 40 };
  struct sc_message message;
  struct sc_analysis *analysis;
  struct sc_result result;
  const struct sc_source_info info = {.kind = SC_KIND_COMPOSITE,
                                      .sample_rate_hz = RATE,
                                      .nominal_rate_hz = RATE,
                                      .clock_relative_uncertainty = (double)NAN,
                                      .channels = 1,
                                      .bits = 16};
  const struct sc_analysis_settings settings = {.lines = true};
  const double turn = 2 * 3.14159265358979323846 / RATE;
  static float samples[PART];
  unsigned seed = 7;
  ck_assert_int_eq(sc_analysis_create(&info, &settings, &analysis, &message), SC_OK);
  for (uint64_t at = 0; at < PARTS * PART; at += PART) {
    for (size_t i = 0; i < PART; i++) {
      const double n = (double)(at + i);
      double value = pilot_steps * sin(turn * fmod(19e3 * n, RATE)) +
                     tone_steps * sin(turn * fmod(tone_hz * n, RATE));
      if (stereo)
        value += 4000 * sin(turn * fmod(400 * n, RATE) + 0.4) +
                 3000 * sin(turn * fmod(3e3 * n, RATE) + 1.1);
      for (int k = 0; k < 12 && noise_steps > 0; k++) { /* twelve uniform ones: variance 1 */
        seed = seed * 1664525U + 1013904223U;
        value += noise_steps * ((double)(seed >> 8) / (1 << 24) - 0.5);
      }
      samples[i] = (float)(nearbyint(value) / 32768);
    }
    const struct sc_block block = {
        .first = at, .frames = PART, .channels = 1, .samples = samples, .info = &info};
    ck_assert_int_eq(sc_analysis_feed(analysis, &block), SC_OK);
  }
  ck_assert_int_eq(sc_analysis_result(analysis, &result), SC_OK);
  sc_analysis_destroy(analysis);
  return result;
}

static struct sc_result measure_composite(bool stereo, double tone_hz, double tone_steps,
                                          double noise_steps)
{
  return measure_composite_of(1100, stereo, tone_hz, tone_steps, noise_steps);
}

START_TEST(what_rounding_makes_of_a_composite_is_the_captures)
{
  for (int stereo = 0; stereo < 2; stereo++) {
    struct sc_result result = measure_composite(stereo == 1, 0, 0, 0);
    size_t rounded = 0;
    for (size_t i = 0; i < result.composite_lines.count; i++)
      rounded += strcmp(result.composite_lines.lines[i].label, "rounding") == 0;
    check_all(&result.composite_lines);
    ck_assert_uint_gt(rounded, 20);
    sc_result_clear(&result);
  }
}
END_TEST

/* A pilot of 4.32 steps and nothing else: what its rounding leaves in the band of the difference,
 * in pairs about 38 kHz or not, is no programme. */
START_TEST(rounding_of_a_pilot_is_no_stereo)
{
  struct sc_result result = measure_composite_of(4.32, false, 0, 0, 0);
  ck_assert_int_eq(result.pilot.present, SC_YES);
  ck_assert_msg(result.stereo.mode == SC_MODE_PILOT_ONLY, "%s", result.stereo.evidence);
  sc_result_clear(&result);
}
END_TEST

/* Tones that have no multiples in common: what rounding makes has lines at sums of many times all
 * of them (R. M. Gray, IEEE Trans. Inf. Theory 36, 1990, from memory), everywhere and of no
 * standard. Two tones were sent and nothing else. */
START_TEST(what_rounding_makes_of_odd_tones_is_not_claimed)
{
  struct sc_result result = measure_composite(false, 1234.5678, 6000, 0);
  const struct sc_line_list *list = &result.composite_lines;
  size_t weak = 0;
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *line = &list->lines[i];
    if (line->tone.amplitude * 32768 > 1)
      continue;
    weak++;
    ck_assert_msg(line->verdict == SC_VERDICT_ARTEFACT ||
                      (line->verdict == SC_VERDICT_UNKNOWN &&
                       strstr(line->cause, "a converter of 16 bits may make it") != NULL),
                  "%g Hz is %s: %s", line->offset_hz.value, sc_verdict_name(line->verdict),
                  line->cause);
  }
  ck_assert_uint_gt(weak, 10);
  sc_result_clear(&result);
}
END_TEST

/* Stronger than rounding makes any, at no multiple of what all tones are multiples of, and where
 * noise covers the steps. */
START_TEST(a_real_tone_is_not_excused)
{
  const struct {
    double hz, steps, noise;
  } cases[] = {{63e3, 2, 0}, {63437.7, 0.2, 0}, {63e3, 0.2, 0.7}};
  for (size_t k = 0; k < sizeof cases / sizeof *cases; k++) {
    struct sc_result result = measure_composite(true, cases[k].hz, cases[k].steps, cases[k].noise);
    const struct sc_line_list *list = &result.composite_lines;
    const struct sc_line *found = NULL;
    for (size_t i = 0; i < list->count; i++)
      if (fabs(list->lines[i].offset_hz.value - cases[k].hz) < 1)
        found = &list->lines[i];
    ck_assert_msg(found != NULL, "no line at %g Hz", cases[k].hz);
    ck_assert_msg(found->verdict == SC_VERDICT_SPURIOUS, "%g Hz: %s", cases[k].hz, found->cause);
    sc_result_clear(&result);
  }
}
END_TEST

/* Noise of so many steps leaves so little of what rounding makes that nothing is seen of it, and a
 * carrier of -70 dBc, weaker than rounding makes lines without noise, is called what it is. */
START_TEST(what_noise_covers_is_no_excuse)
{
  static const double noise_steps[] = {0.4, 0.5, 0.6};
  static const double carrier[][2] = {{-131313, -70}};
  const size_t carriers = (size_t)_i % 2;
  struct sc_result result = measure_data(noise_steps[_i / 2], 0, carrier, carriers);
  const struct sc_line_list *air = &result.air_lines;
  for (size_t i = 0; i < air->count; i++)
    ck_assert_msg((air->lines[i].verdict != SC_VERDICT_SPURIOUS &&
                   air->lines[i].verdict != SC_VERDICT_RESIDUAL) ||
                      (carriers > 0 && fabs(air->lines[i].offset_hz.value - carrier[0][0]) < 1),
                  "%g Hz: %s", air->lines[i].offset_hz.value, air->lines[i].cause);
  if (carriers > 0)
    ck_assert_int_eq(line_at(&result, carrier[0][0])->verdict, SC_VERDICT_SPURIOUS);
  sc_result_clear(&result);
}
END_TEST

Suite *rounding_suite(void)
{
  Suite *suite = suite_create("rounding");
  TCase *tcase = tcase_create("rounding");
  tcase_add_test(tcase, what_rounding_makes_is_the_captures);
  tcase_add_test(tcase, what_rounding_makes_is_no_subcarrier);
  tcase_add_test(tcase, what_rounding_makes_of_a_composite_is_the_captures);
  tcase_add_test(tcase, rounding_of_a_pilot_is_no_stereo);
  tcase_add_test(tcase, what_rounding_makes_of_odd_tones_is_not_claimed);
  tcase_add_test(tcase, a_real_tone_is_not_excused);
  tcase_add_test(tcase, rounding_with_another_carrier_is_the_captures);
  tcase_add_test(tcase, a_real_line_is_not_excused);
  tcase_add_test(tcase, what_rounding_makes_of_data_is_the_captures);
  tcase_add_test(tcase, samples_in_no_steps_are_not_rounded_once_more);
  tcase_add_test(tcase, a_real_line_among_those_of_rounding_is_not_excused);
  tcase_add_loop_test(tcase, what_noise_covers_is_no_excuse, 0, (int)(6 / support_stride(3)));
  suite_add_tcase(suite, tcase);
  return suite;
}
