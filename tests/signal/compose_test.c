/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Scenarios into files, read back by the capture room: samples, quantisation, truth, failures. */
#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <check.h>

#include <sidecomb/compose.h>

#include "signal/suites.h"
#include "signal/tools.h"
#include "support/files.h"

static struct sc_message message;
static struct sc_compose_result result;

static enum sc_error compose(const struct sc_scenario *s, struct sc_compose_settings settings)
{
  message.text[0] = 0;
  return sc_compose(s, &settings, NULL, NULL, &result, &message);
}

static void composed(const struct sc_scenario *s, struct sc_compose_settings settings)
{
  ck_assert_msg(compose(s, settings) == SC_OK, "%s", message.text);
}

/* All samples of a capture, to be freed; *floats is their number. */
static float *read_back(struct sc_source_options options, size_t *floats,
                        struct sc_source_info *info)
{
  struct sc_source *source;
  struct sc_block block;
  float *all = NULL;
  *floats = 0;
  ck_assert_msg(sc_source_open(&options, &source, &message) == SC_OK, "%s", message.text);
  do {
    ck_assert_int_eq(sc_source_read(source, 4096, &block, &message), SC_OK);
    const size_t more = block.frames * block.channels;
    all = realloc(all, (*floats + more + 1) * sizeof *all);
    ck_assert_ptr_nonnull(all);
    memcpy(all + *floats, block.samples, more * sizeof *all);
    *floats += more;
  } while (block.frames > 0);
  *info = *sc_source_info(source);
  sc_source_close(source);
  return all;
}

/* A station at -3 dB full scale without noise, of 1000 frames. */
static struct sc_scenario *short_scenario(void)
{
  struct sc_scenario *s = plain_scenario(250e3);
  s->level_dbfs = -3;
  s->seconds = 0.004;
  s->station.tones[s->station.tone_count++] =
      (struct sc_scenario_line){.hz = 1300, .amplitude = 20};
  s->offset_hz = 4321;
  return s;
}

/* Power of what was written minus what was played, in dB of full scale. */
static double error_db(const float *got, const double *expected, size_t count)
{
  double power = 0;
  for (size_t i = 0; i < count; i++)
    power += pow((double)got[i] - expected[i], 2);
  return 10 * log10(power / (double)count + 1e-300);
}

/* Rounding to n bits makes an error evenly spread over a step q = 2^(1-n): power q^2 / 12
 * (W. R. Bennett, "Spectra of quantized signals", 1948). Floats: half their last bit at most. */
static void check_quantised(const char *type, const struct sc_compose_settings *settings)
{
  const bool iq = type[0] == 'c', floats = type[1] == 'f';
  const int bits = atoi(type + 2);
  struct sc_scenario *s = short_scenario();
  struct sc_source_info info;
  size_t count;
  s->what = iq ? SC_WHAT_IQ : SC_WHAT_COMPOSITE;
  s->level_dbfs = iq ? -3 : 9; /* the composite's 20 kHz are then -5 dB */
  double *expected = play(s, 1000);
  composed(s, *settings);
  ck_assert_uint_eq(result.frames, 1000);
  ck_assert_uint_eq(result.clipped, 0);
  float *got = read_back((struct sc_source_options){.path = settings->path,
                                                    .rate_hz = 250e3,
                                                    .as = iq ? SC_KIND_IQ : SC_KIND_COMPOSITE,
                                                    .type = type},
                         &count, &info);
  ck_assert_uint_eq(count, iq ? 2000 : 1000);
  const double step = ldexp(1, 1 - bits);
  if (!floats && bits <= 16)
    CHECK_CLOSE(error_db(got, expected, count), 10 * log10(step * step / 12), 0.5);
  else /* 32 bits are more than the reader's floats hold */
    CHECK_BELOW(error_db(got, expected, count), -145);
  free(got);
  free(expected);
  free(s);
}

START_TEST(each_raw_type_costs_its_own_quantisation)
{
  const char *type = sc_source_type_names()[_i];
  const struct sc_compose_settings settings = {.path = support_file("samples"), .type = type};
  check_quantised(type, &settings);
}
END_TEST

START_TEST(sixteen_bits_are_the_default)
{
  const struct sc_compose_settings settings = {.path = support_file("samples")};
  check_quantised("ci16_le", &settings);
  check_quantised("ri16_le", &settings);
}
END_TEST

START_TEST(dither_makes_the_error_triple_in_power)
{
  const char *path = support_file("samples");
  struct sc_scenario *s = short_scenario();
  struct sc_source_info info;
  size_t count;
  double *expected = play(s, 1000);
  composed(s, (struct sc_compose_settings){.path = path, .type = "ci8", .dither = true});
  float *got = read_back(
      (struct sc_source_options){.path = path, .rate_hz = 250e3, .as = SC_KIND_IQ, .type = "ci8"},
      &count, &info);
  CHECK_CLOSE(error_db(got, expected, count), 10 * log10(pow(2, -14) / 4), 0.5);
  free(got);
  free(expected);
  free(s);
}
END_TEST

/* The ends of a type: codes are symmetric about zero when unsigned, one longer below when signed.
 * What lies up to half a step beyond an end is rounded into the range. Floats have no end. */
START_TEST(what_does_not_fit_is_held_and_counted)
{
  const char *path = support_file("samples"), *type = sc_source_type_names()[_i];
  const bool iq = type[0] == 'c', floats = type[1] == 'f';
  const double step = ldexp(1, 1 - atoi(type + 2));
  const double high = floats ? INFINITY : type[1] == 'u' ? 1 - step / 2 : 1 - step;
  const double low = floats ? -INFINITY : type[1] == 'u' ? step / 2 - 1 : -1;
  struct sc_scenario *s = short_scenario();
  struct sc_source_info info;
  size_t count, beyond = 0;
  const double reader_step = 0x1p-22; /* the reader makes floats of all types */
  s->what = iq ? SC_WHAT_IQ : SC_WHAT_COMPOSITE;
  s->level_dbfs = iq ? 3 : 17;
  double *expected = play(s, 1000);
  composed(s, (struct sc_compose_settings){.path = path, .type = type});
  float *got = read_back(
      (struct sc_source_options){
          .path = path, .rate_hz = 250e3, .as = iq ? SC_KIND_IQ : SC_KIND_COMPOSITE, .type = type},
      &count, &info);
  for (size_t i = 0; i < count; i++) {
    beyond += expected[i] > high + step / 2 || expected[i] < low - step / 2;
    CHECK_CLOSE((double)got[i], fmax(low, fmin(high, expected[i])), fmax(step, reader_step));
  }
  ck_assert_uint_eq(beyond > 200, !floats);
  ck_assert_uint_eq(result.clipped, beyond);
  free(got);
  free(expected);
  free(s);
}
END_TEST

START_TEST(a_pair_carries_frequency_title_and_truth)
{
  struct sc_scenario *s = short_scenario();
  struct sc_source_info info;
  size_t count;
  s->station_hz = 91.2e6;
  s->centre_hz = 91.205e6;
  s->station.pilot_khz = 6.8;
  s->station.rds = (struct sc_rds_content){.khz = 2, .pi = 0xd3a5, .ps = "KITEFLD"};
  s->carriers[s->carrier_count++] =
      (struct sc_scenario_line){.hz = 131400, .amplitude = -52, .name = "synthesiser"};
  strcpy(s->title, "a short one");
  composed(s, (struct sc_compose_settings){.path = support_file("pair.sigmf"), .type = "cf32_le"});
  ck_assert_uint_eq(support_file_count(), 2);
  char path[4096];
  snprintf(path, sizeof path, "%s", support_file("pair.sigmf-meta"));
  struct sc_source *source;
  const struct sc_source_options options = {.path = path};
  ck_assert_int_eq(sc_source_open(&options, &source, &message), SC_OK);
  const struct sc_source_info *opened = sc_source_info(source);
  ck_assert(opened->centre_hz == 91.205e6 && opened->sample_rate_hz == 250e3);
  ck_assert_uint_eq(opened->frames, 1000);
  const struct sc_annotation *pilot = &opened->annotations[1], *spur = &opened->annotations[4];
  ck_assert_uint_eq(opened->annotation_count, 5);
  ck_assert_str_eq(pilot->text, "pilot 19000 Hz, 6.8 kHz");
  CHECK_CLOSE(pilot->upper_hz, 91.2e6 + 4321 + 19e3, 0.5);
  ck_assert_ptr_nonnull(strstr(opened->annotations[2].text, "PI D3A5, PS \"KITEFLD\""));
  ck_assert_str_eq(spur->text, "synthesiser: one-sided carrier +131400 Hz, -52 dBc");
  CHECK_CLOSE((spur->lower_hz + spur->upper_hz) / 2, 91.2e6 + 131400, 0.5);
  sc_source_close(source);
  free(read_back(options, &count, &info));
  free(s);
}
END_TEST

static const struct {
  const char *name;
  unsigned bits;
  bool floats;
  double limit_db;
} sounds[] = {{"a.wav", 16, false, -98},   {"a.wav", 24, false, -140}, {"a.wav", 0, true, -145},
              {"a.rf64", 16, false, -98},  {"a.w64", 16, false, -98},  {"a.flac", 16, false, -98},
              {"a.flac", 24, false, -140}, {"a.caf", 16, false, -98},  {"a.aiff", 16, false, -98}};

START_TEST(sound_files_hold_iq_composite_and_audio)
{
  static const enum sc_kind kinds[] = {SC_KIND_IQ, SC_KIND_COMPOSITE, SC_KIND_AUDIO};
  for (int what = SC_WHAT_IQ; what <= SC_WHAT_AUDIO; what++) {
    const char *path = support_file(sounds[_i].name);
    struct sc_scenario *s = short_scenario();
    struct sc_source_info info;
    size_t count;
    s->what = (enum sc_scenario_what)what;
    s->station.programme[0] = (struct sc_programme){.hz = 1000, .khz = 30, .to = SC_TO_LEFT};
    s->station.programme_count = 1;
    double *expected = play(s, 1000);
    composed(s, (struct sc_compose_settings){
                    .path = path, .bits = sounds[_i].bits, .floats = sounds[_i].floats});
    float *got = read_back(
        (struct sc_source_options){.path = path, .as = kinds[what], .channel = SC_CHANNEL_BOTH},
        &count, &info);
    ck_assert_uint_eq(count, what == SC_WHAT_COMPOSITE ? 1000 : 2000);
    ck_assert(info.nominal_rate_hz == 250e3);
    CHECK_BELOW(error_db(got, expected, count), sounds[_i].limit_db);
    free(got);
    free(expected);
    free(s);
  }
}
END_TEST

/* Standard output turned into a file for the time of one call. */
START_TEST(standard_output_takes_bare_samples)
{
  char path[4096];
  snprintf(path, sizeof path, "%s", support_file_write("out", "", 0));
  struct sc_scenario *s = short_scenario();
  fflush(stdout);
  const int kept = dup(STDOUT_FILENO), file = open(path, O_WRONLY);
  ck_assert(kept >= 0 && file >= 0);
  dup2(file, STDOUT_FILENO);
  const enum sc_error error =
      compose(s, (struct sc_compose_settings){.path = "-", .type = "ci16_le"});
  dup2(kept, STDOUT_FILENO);
  close(kept);
  close(file);
  ck_assert_int_eq(error, SC_OK);
  size_t length;
  free(support_file_read(path, &length));
  ck_assert_uint_eq(length, 4000);
  ck_assert_uint_eq(support_file_count(), 1);
  free(s);
}
END_TEST

static void refused(const struct sc_scenario *s, struct sc_compose_settings settings,
                    enum sc_error error, const char *says)
{
  ck_assert_int_eq(compose(s, settings), error);
  ck_assert_msg(strstr(message.text, says) != NULL, "'%s' does not say '%s'", message.text, says);
  ck_assert_uint_eq(support_file_count(), 0);
}

START_TEST(what_cannot_be_written_leaves_nothing)
{
  struct sc_scenario *s = short_scenario();
  char wav[4096], raw[4096];
  snprintf(wav, sizeof wav, "%s", support_file("a.wav"));
  snprintf(raw, sizeof raw, "%s", support_file("a"));
  refused(s, (struct sc_compose_settings){.path = raw, .type = "ri16_le"}, SC_BAD_ARGUMENT,
          "complex");
  refused(s, (struct sc_compose_settings){.path = raw, .type = "ci12"}, SC_BAD_ARGUMENT, "ci12");
  refused(s, (struct sc_compose_settings){.path = wav, .type = "ci8"}, SC_BAD_ARGUMENT, "bits");
  refused(s, (struct sc_compose_settings){.path = wav, .bits = 13}, SC_BAD_ARGUMENT, "13");
  refused(s, (struct sc_compose_settings){.path = ""}, SC_BAD_ARGUMENT, "empty");
  refused(s, (struct sc_compose_settings){.path = ".sigmf"}, SC_BAD_ARGUMENT, "empty");
  refused(s, (struct sc_compose_settings){.path = "/nowhere/at/all"}, SC_WRITE_FAILED, "/nowhere");
  s->rate_hz = 250000.5;
  refused(s, (struct sc_compose_settings){.path = wav}, SC_BAD_ARGUMENT, "whole hertz");
  s->rate_hz = 1;
  refused(s, (struct sc_compose_settings){.path = raw}, SC_BAD_ARGUMENT, "rate_hz");
  free(s);
}
END_TEST

static bool give_up(void *context, double share)
{
  double *seen = context;
  *seen = share;
  return share < 0.5;
}

START_TEST(giving_up_leaves_nothing)
{
  struct sc_scenario *s = short_scenario();
  double share = 0;
  const struct sc_compose_settings settings = {.path = support_file("a.sigmf")};
  s->seconds = 1;
  ck_assert_int_eq(sc_compose(s, &settings, give_up, &share, &result, &message), SC_UNSUPPORTED);
  ck_assert(share >= 0.5 && share < 0.7);
  ck_assert_uint_eq(support_file_count(), 0);
  free(s);
}
END_TEST

Suite *compose_suite(void)
{
  Suite *suite = suite_create("compose");
  TCase *tests = tcase_create("compose");
  tcase_add_checked_fixture(tests, support_files_setup, support_files_teardown);
  int types = 0;
  while (sc_source_type_names()[types] != NULL)
    types++;
  tcase_add_loop_test(tests, each_raw_type_costs_its_own_quantisation, 0, types);
  tcase_add_test(tests, sixteen_bits_are_the_default);
  tcase_add_test(tests, dither_makes_the_error_triple_in_power);
  tcase_add_loop_test(tests, what_does_not_fit_is_held_and_counted, 0, types);
  tcase_add_test(tests, a_pair_carries_frequency_title_and_truth);
  tcase_add_loop_test(tests, sound_files_hold_iq_composite_and_audio, 0,
                      sizeof sounds / sizeof sounds[0]);
  tcase_add_test(tests, standard_output_takes_bare_samples);
  tcase_add_test(tests, what_cannot_be_written_leaves_nothing);
  tcase_add_test(tests, giving_up_leaves_nothing);
  suite_add_tcase(suite, tests);
  return suite;
}
