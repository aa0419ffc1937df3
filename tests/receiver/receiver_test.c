/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The receiver of the bench: what it gives, what goes wrong, and changes while it runs. */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include <sidecomb/analysis.h>
#include <sidecomb/devices.h>
#include <sidecomb/record.h>

#include "receiver/rig.h"
#include "receiver/suites.h"
#include "support/files.h"

START_TEST(lists_what_it_can_do)
{
  struct sc_devices devices;
  const struct sc_device *device = NULL;
  (void)rig_bench(rig_steady(), "");
  ck_assert_int_eq(sc_devices_find(&devices), SC_OK);
  ck_assert(devices.receivers_built);
  for (size_t i = 0; i < devices.count; i++)
    if (devices.device[i].device_class == SC_DEVICE_RECEIVER)
      device = &devices.device[i];
  ck_assert_ptr_nonnull(device);
  ck_assert_str_eq(device->description, "a receiver on the bench");
  ck_assert_ptr_nonnull(strstr(device->name, "driver=bench_receiver"));
  ck_assert_double_eq(device->tune_hz.range[0].most, 1766e6);
  ck_assert_double_eq(device->rates_hz.range[0].least, rig_rate_hz);
  ck_assert_double_eq(device->bandwidths_hz.range[0].least, 200e3);
  ck_assert_str_eq(device->gains.name[0], "LNA");
  ck_assert_double_eq(device->gains_db.range[0].most, 40);
  ck_assert_uint_eq(device->antennas.count, 2);
  ck_assert(device->corrects_frequency);
  sc_devices_clear(&devices);
}
END_TEST

START_TEST(gives_its_samples_and_settings)
{
  struct sc_source_options options = rig_bench(rig_steady(), "");
  options.rate_hz = rig_rate_hz;
  options.tuning = (struct sc_tuning){.tune_hz = rig_home_hz,
                                      .bandwidth_hz = 1e6,
                                      .ppm_given = true,
                                      .ppm = 2,
                                      .antenna = "load",
                                      .gain_count = 1,
                                      .gains = {{"LNA", 20}}};
  struct sc_source *source = rig_open(&options);
  const struct sc_source_info *info = sc_source_info(source);
  struct sc_block block;
  ck_assert_int_eq(info->kind, SC_KIND_IQ);
  ck_assert_double_eq(info->sample_rate_hz, rig_rate_hz);
  ck_assert_double_eq(info->centre_hz, rig_home_hz);
  ck_assert_uint_eq(info->bits, 16);
  ck_assert_str_eq(info->format, "receiver, ci16_le");
  ck_assert_int_eq(sc_source_read(source, 1000, &block, NULL), SC_OK);
  ck_assert_uint_gt(block.frames, 0);
  ck_assert(block.samples[0] == 0.25f && block.samples[1] == 0);
  sc_source_close(source);
}
END_TEST

static void check_refused(const struct sc_source_options *options, const char *words)
{
  struct sc_source *source;
  struct sc_message message = {""};
  ck_assert_int_ne(sc_source_open(options, &source, &message), SC_OK);
  ck_assert_msg(strstr(message.text, words) != NULL, "%s", message.text);
  ck_assert_ptr_null(strchr(message.text, '\n'));
}

START_TEST(what_it_cannot_do_is_said)
{
  struct sc_source_options plain = rig_bench(rig_steady(), ""), options = plain;
  options.rate_hz = 1e6;
  check_refused(&options, "does not do 1000000 samples a second, but 240000");
  options = plain;
  options.tuning.tune_hz = 5e9;
  check_refused(&options, "a frequency of 5000000000 Hz: out of its range");
  options = plain;
  options.tuning.gain_count = 1;
  options.tuning.gains[0] = (struct sc_gain){"", 90};
  check_refused(&options, "a gain of 90 dB: out of its range, which is 0 to 40 dB");
  options.tuning.gains[0] = (struct sc_gain){"VGA", 10};
  check_refused(&options, "has no gain VGA");
  options = plain;
  strcpy(options.tuning.antenna, "roof");
  check_refused(&options, "has no antenna roof");
  options = plain;
  options.receiver = "driver=nothing_like_it";
  check_refused(&options, "cannot be opened");
  options = plain;
  options.centre_hz = 1e8;
  check_refused(&options, "--tune");
  options = rig_bench("/nowhere", "");
  check_refused(&options, "the bench has no samples");
}
END_TEST

/* The reason is the driver's, which has several lines. */
START_TEST(one_that_cannot_be_asked_says_why_in_one_line)
{
  struct sc_devices devices;
  const struct sc_device *device = NULL;
  (void)rig_bench("/nowhere", "");
  ck_assert_int_eq(sc_devices_find(&devices), SC_OK);
  for (size_t i = 0; i < devices.count; i++)
    if (devices.device[i].device_class == SC_DEVICE_RECEIVER)
      device = &devices.device[i];
  ck_assert_ptr_nonnull(device);
  ck_assert_str_eq(device->why, "the bench has no samples");
  sc_devices_clear(&devices);
}
END_TEST

/* ---- trouble */

static long frame_of(float i)
{
  return lrint((double)i * 32768) + RIG_FRAMES / 2;
}

/* Reads so many frames; returns the largest jump between neighbours, which only a gap may make. */
static enum sc_error watch_gaps(struct sc_source *source, uint64_t frames, long *missing,
                                uint64_t *stated, struct sc_message *message)
{
  long last = -1;
  *missing = 0;
  *stated = 0;
  for (uint64_t done = 0; done < frames;) {
    struct sc_block block;
    enum sc_error error = sc_source_read(source, 2048, &block, message);
    if (error != SC_OK)
      return error;
    for (size_t i = 0; i < block.frames; i++) {
      long frame = frame_of(block.samples[2 * i]);
      long step = (frame - last + RIG_FRAMES) % RIG_FRAMES - 1;
      ck_assert(last < 0 || step == 0 || (i == 0 && block.discontinuity));
      *missing += last >= 0 ? step : 0;
      last = frame;
    }
    *stated += done > 0 ? block.lost : 0;
    done += block.frames;
  }
  return SC_OK;
}

/* keys; pairs missing; whether the receiver stamps its samples, so that they are known exactly */
static const struct {
  const char *keys;
  long missing;
  uint64_t overruns;
} troubles[] = {
    {"overflow=30000,lose=5000,stamp=1", 5000, 1},
    {"corrupt=30000,stamp=1", 0, 1},
    {"timeout=30000,stamp=1", 0, 0},
    {"mtu=100,stamp=1", 0, 0},
};

START_TEST(what_went_wrong_is_counted_and_marked)
{
  struct sc_source_options options = rig_bench(rig_numbered(), troubles[_i].keys);
  struct sc_source *source = rig_open(&options);
  struct sc_losses losses;
  long missing;
  uint64_t stated;
  ck_assert_int_eq(watch_gaps(source, 48000, &missing, &stated, NULL), SC_OK);
  ck_assert_int_eq(missing, troubles[_i].missing);
  ck_assert_int_eq((long)stated, troubles[_i].missing);
  sc_source_losses(source, &losses);
  ck_assert_uint_eq(losses.overruns, troubles[_i].overruns);
  ck_assert_uint_eq(losses.drops, 0);
  sc_source_close(source);
}
END_TEST

START_TEST(pulled_out_it_ends_after_what_it_gave)
{
  struct sc_source_options options = rig_bench(rig_numbered(), "unplug=36000");
  struct sc_source *source = rig_open(&options);
  struct sc_message message = {""};
  long missing;
  uint64_t stated;
  ck_assert_int_eq(watch_gaps(source, 48000, &missing, &stated, &message), SC_READ_FAILED);
  ck_assert_msg(strstr(message.text, "the receiver is gone, or no longer answers: STREAM_ERROR") !=
                    NULL,
                "%s", message.text);
  sc_source_close(source);
}
END_TEST

/* A recording is read back: its samples, and where the gap is. */
START_TEST(a_recording_knows_of_the_gap)
{
  struct sc_source_options options = rig_bench(rig_numbered(), "overflow=24000,lose=5000,stamp=1");
  char path[4096];
  (void)snprintf(path, sizeof path, "%s", support_file("kept.sigmf-meta"));
  const struct sc_record_settings settings = {.path = path};
  struct sc_record_summary summary;
  struct sc_message message = {""};
  options.duration_s = 0.2;
  struct sc_source *source = rig_open(&options);
  ck_assert_msg(sc_record_source(source, &settings, NULL, NULL, &summary, &message) == SC_OK, "%s",
                message.text);
  sc_source_close(source);
  ck_assert_uint_eq(summary.frames, 48000);
  ck_assert_uint_eq(summary.gaps, 1);
  source = rig_open(&(struct sc_source_options){.path = path});
  const struct sc_source_info *info = sc_source_info(source);
  ck_assert_double_eq(info->centre_hz, rig_home_hz);
  ck_assert_uint_eq(info->frames, 48000);
  ck_assert_uint_eq(info->annotation_count, 1);
  ck_assert_str_eq(info->annotations[0].text, "some 5000 samples are missing before this one");
  long missing;
  uint64_t stated;
  ck_assert_int_eq(watch_gaps(source, 48000, &missing, &stated, &message), SC_OK);
  ck_assert_int_eq(missing, 5000); /* and each jump stands where a block is marked */
  sc_source_close(source);
}
END_TEST

START_TEST(a_recording_of_a_receiver_that_is_pulled_out_is_whole)
{
  struct sc_source_options options = rig_bench(rig_numbered(), "unplug=24000");
  char path[4096];
  (void)snprintf(path, sizeof path, "%s", support_file("kept.wav"));
  const struct sc_record_settings settings = {.path = path};
  struct sc_record_summary summary;
  struct sc_message message = {""};
  struct sc_source *source = rig_open(&options);
  ck_assert_int_eq(sc_record_source(source, &settings, NULL, NULL, &summary, &message),
                   SC_READ_FAILED);
  ck_assert_ptr_nonnull(strstr(message.text, "is gone"));
  sc_source_close(source);
  source = rig_open(&(struct sc_source_options){.path = path, .as = SC_KIND_IQ});
  ck_assert_uint_gt(summary.frames, 0);
  ck_assert_uint_eq(sc_source_info(source)->frames, summary.frames);
  sc_source_close(source);
}
END_TEST

/* ---- changes while it runs */

static double level_of(struct sc_source *source, double *shift_hz)
{
  struct sc_block block;
  double re = 0, im = 0, power = 0;
  size_t frames = 0;
  while (frames < 4000) {
    ck_assert_int_eq(sc_source_read(source, 4000, &block, NULL), SC_OK);
    for (size_t i = 0; i + 1 < block.frames; i++) {
      const float *s = block.samples + 2 * i;
      re += (double)(s[0] * s[2] + s[1] * s[3]);
      im += (double)(s[0] * s[3] - s[1] * s[2]);
      power += (double)(s[0] * s[0] + s[1] * s[1]);
    }
    frames += block.frames;
  }
  *shift_hz = atan2(im, re) / (2 * M_PI) * rig_rate_hz;
  return sqrt(power / (double)frames);
}

START_TEST(is_tuned_while_it_runs)
{
  struct sc_source_options options = rig_bench(rig_steady(), "");
  struct sc_source *source = rig_open(&options);
  struct sc_message message = {""};
  struct sc_block block;
  double shift_hz;
  ck_assert_double_eq_tol(level_of(source, &shift_hz), 0.25, 1e-3);
  ck_assert_double_eq_tol(shift_hz, 0, 1);
  struct sc_tuning tuning = {.tune_hz = rig_home_hz - 20e3, .gain_count = 1, .gains = {{"", 14}}};
  ck_assert_int_eq(sc_source_tune(source, &tuning, &message), SC_OK);
  ck_assert_double_eq(sc_source_info(source)->centre_hz, rig_home_hz - 20e3);
  ck_assert_double_eq(sc_source_info(source)->nominal_centre_hz, rig_home_hz - 20e3);
  ck_assert_int_eq(sc_source_read(source, 100, &block, NULL), SC_OK);
  ck_assert(block.discontinuity);
  ck_assert_double_eq(block.info->centre_hz, rig_home_hz - 20e3);
  ck_assert_double_eq_tol(level_of(source, &shift_hz), 0.25 * pow(10, -6.0 / 20), 1e-3);
  ck_assert_double_eq_tol(shift_hz, 20e3, 10);
  tuning = (struct sc_tuning){.tune_hz = 9e9};
  ck_assert_int_eq(sc_source_tune(source, &tuning, &message), SC_BAD_ARGUMENT);
  ck_assert_double_eq(sc_source_info(source)->centre_hz, rig_home_hz - 20e3);
  sc_source_close(source);
}
END_TEST

static bool is_noticed(const struct sc_source *source, const char *words)
{
  struct sc_notices notices;
  sc_source_notices(source, &notices);
  for (size_t i = 0; i < notices.count; i++)
    if (strstr(notices.text[i], words) != NULL)
      return true;
  return false;
}

/* The bench begins with the whip, 20 dB in one stage, 2 MHz and no correction. */
START_TEST(says_what_it_is_set_to)
{
  struct sc_source_options options = rig_bench(rig_steady(), ",automatic=1");
  struct sc_source *source = rig_open(&options);
  struct sc_message message = {""};
  struct sc_tuning tuned, wanted = {.ppm_given = true, .ppm = -3.5, .bandwidth_hz = 300e3};
  struct sc_device_names antennas;
  sc_source_antennas(source, &antennas);
  ck_assert_uint_eq(antennas.count, 2);
  ck_assert_str_eq(antennas.name[0], "whip");
  ck_assert_str_eq(antennas.name[1], "load");
  sc_source_tuned(source, &tuned);
  ck_assert_double_eq(tuned.tune_hz, rig_home_hz);
  ck_assert_str_eq(tuned.antenna, "whip");
  ck_assert_uint_eq(tuned.gain_count, 2);
  ck_assert_str_eq(tuned.gains[0].name, "");
  ck_assert_str_eq(tuned.gains[1].name, "LNA");
  ck_assert_double_eq(tuned.gains[1].db, 20);
  ck_assert(tuned.automatic_gain);
  ck_assert(is_noticed(source, "sets its gain by itself"));
  wanted.gain_count = 1;
  wanted.gains[0] = (struct sc_gain){"LNA", 7};
  strcpy(wanted.antenna, "load");
  ck_assert_int_eq(sc_source_tune(source, &wanted, &message), SC_OK);
  sc_source_tuned(source, &tuned);
  ck_assert_str_eq(tuned.antenna, "load");
  ck_assert_double_eq(tuned.ppm, -3.5);
  ck_assert_double_eq(tuned.bandwidth_hz, 300e3);
  ck_assert_double_eq(tuned.gains[1].db, 7);
  ck_assert(!tuned.automatic_gain);
  ck_assert(!is_noticed(source, "sets its gain by itself"));
  sc_source_close(source);
}
END_TEST

/* 30 million frames of 240 kHz are 125 s, which the bench gets over in one; it loses them after
 * the receiver has settled, which takes 0.05 s. A slow machine may lose a few more besides. */
START_TEST(a_long_loss_is_told_in_seconds)
{
  struct sc_source_options options =
      rig_bench(rig_numbered(), "overflow=400000,lose=30000000,stamp=1,speed=20");
  struct sc_source *source = rig_open(&options);
  long missing;
  uint64_t stated;
  ck_assert_int_eq(watch_gaps(source, 300000, &missing, &stated, NULL), SC_OK);
  ck_assert(is_noticed(source, " (overruns), some 125 s in all"));
  sc_source_close(source);
}
END_TEST

START_TEST(a_wrong_name_is_answered_with_those_that_there_are)
{
  struct sc_source_options options = rig_bench(rig_steady(), "");
  struct sc_source *source = rig_open(&options);
  struct sc_message message = {""};
  const struct sc_tuning antenna = {.antenna = "nose"},
                         gain = {.gain_count = 1, .gains = {{"VGA", 1}}};
  ck_assert_int_eq(sc_source_tune(source, &antenna, &message), SC_BAD_ARGUMENT);
  ck_assert_ptr_nonnull(strstr(message.text, "no antenna nose, but: whip, load"));
  ck_assert_int_eq(sc_source_tune(source, &gain, &message), SC_BAD_ARGUMENT);
  ck_assert_ptr_nonnull(strstr(message.text, "no gain VGA, but: LNA"));
  sc_source_close(source);
}
END_TEST

/* Asking changes nothing, and no sample is lost by it. */
START_TEST(is_asked_what_it_can_do_while_it_runs)
{
  struct sc_source_options options = rig_bench(rig_numbered(), "");
  struct sc_source *source = rig_open(&options);
  struct sc_message message = {""};
  struct sc_tuning tuned;
  const struct sc_tuning can = {.tune_hz = rig_home_hz - 20e3,
                                .gain_count = 1,
                                .gains = {{"", 14}}},
                         cannot = {.tune_hz = 9e9};
  long missing;
  uint64_t stated;
  ck_assert_int_eq(watch_gaps(source, 20000, &missing, &stated, NULL), SC_OK);
  ck_assert_int_eq(sc_source_can_tune(source, &can, &message), SC_OK);
  ck_assert_int_eq(sc_source_can_tune(source, &cannot, &message), SC_BAD_ARGUMENT);
  ck_assert_ptr_nonnull(strstr(message.text, "a frequency of 9000000000 Hz: out of its range"));
  sc_source_tuned(source, &tuned);
  ck_assert_double_eq(tuned.tune_hz, rig_home_hz);
  ck_assert_double_eq(tuned.gains[0].db, 20);
  struct sc_block block;
  for (int n = 0; n < 50; n++) {
    ck_assert_int_eq(sc_source_read(source, 1000, &block, &message), SC_OK);
    ck_assert(!block.discontinuity);
    ck_assert_double_eq(block.info->centre_hz, rig_home_hz);
  }
  sc_source_close(source);
}
END_TEST

START_TEST(clipping_is_told)
{
  struct sc_source_options options = rig_bench(rig_steady(), "");
  options.tuning.gain_count = 1;
  options.tuning.gains[0] = (struct sc_gain){"", 40};
  struct sc_source *source = rig_open(&options);
  struct sc_block block;
  struct sc_notices notices;
  bool told = false;
  ck_assert_int_eq(sc_source_read(source, 1000, &block, NULL), SC_OK);
  ck_assert_uint_eq(block.clipped, block.frames);
  sc_source_notices(source, &notices);
  for (size_t i = 0; i < notices.count; i++)
    told = told || strstr(notices.text[i], "clipping") != NULL;
  ck_assert(told);
  sc_source_close(source);
}
END_TEST

Suite *receiver_suite(void)
{
  Suite *suite = suite_create("receiver");
  TCase *tests = tcase_create("receiver");
  tcase_add_checked_fixture(tests, rig_setup, rig_teardown);
  tcase_add_test(tests, lists_what_it_can_do);
  tcase_add_test(tests, gives_its_samples_and_settings);
  tcase_add_test(tests, what_it_cannot_do_is_said);
  tcase_add_loop_test(tests, what_went_wrong_is_counted_and_marked, 0,
                      sizeof troubles / sizeof troubles[0]);
  tcase_add_test(tests, pulled_out_it_ends_after_what_it_gave);
  tcase_add_test(tests, a_recording_knows_of_the_gap);
  tcase_add_test(tests, a_recording_of_a_receiver_that_is_pulled_out_is_whole);
  tcase_add_test(tests, one_that_cannot_be_asked_says_why_in_one_line);
  tcase_add_test(tests, says_what_it_is_set_to);
  tcase_add_test(tests, a_long_loss_is_told_in_seconds);
  tcase_add_test(tests, a_wrong_name_is_answered_with_those_that_there_are);
  tcase_add_test(tests, is_asked_what_it_can_do_while_it_runs);
  tcase_add_test(tests, is_tuned_while_it_runs);
  tcase_add_test(tests, clipping_is_told);
  suite_add_tcase(suite, tests);
  return suite;
}
