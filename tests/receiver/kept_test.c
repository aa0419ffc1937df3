/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a receiver was set to, kept in a recording and read back. Core fields and the declaration of
 * an extension are those of SigMF 1.0.0 (from memory). */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>
#include <jansson.h>

#include <sidecomb/analysis.h>
#include <sidecomb/record.h>

#include "receiver/rig.h"
#include "receiver/suites.h"
#include "support/files.h"

static char path[4096];

static void setup(void)
{
  rig_setup();
  (void)snprintf(path, sizeof path, "%s", support_file("kept.sigmf-meta"));
}

static json_t *metadata(void)
{
  json_error_t where;
  json_t *root = json_load_file(path, 0, &where);
  ck_assert_msg(root != NULL, "%s", where.text);
  return root;
}

static double number_of(const json_t *object, const char *key)
{
  const json_t *found = json_object_get(object, key);
  ck_assert_msg(json_is_number(found), "%s", key);
  return json_number_value(found);
}

static void check_namespace(const json_t *root)
{
  const json_t *global = json_object_get(root, "global");
  const json_t *list = json_object_get(global, "core:extensions"), *one = json_array_get(list, 0);
  ck_assert_uint_eq(json_array_size(list), 1);
  ck_assert_str_eq(json_string_value(json_object_get(one, "name")), "sidecomb");
  ck_assert_str_eq(json_string_value(json_object_get(one, "version")), "1.0.0");
  ck_assert(json_is_true(json_object_get(one, "optional")));
  ck_assert_str_eq(json_string_value(json_object_get(global, "core:hw")), "driver=bench_receiver");
}

/* A recorder on the bench that has begun. */
static struct sc_recorder *begin(struct sc_source *source)
{
  const struct sc_record_settings settings = {.path = path};
  struct sc_recorder *recorder;
  struct sc_message message = {""};
  ck_assert_msg(sc_record_create(sc_source_info(source), &settings, &recorder, &message) == SC_OK,
                "%s", message.text);
  return recorder;
}

static void keep(struct sc_source *source, struct sc_recorder *recorder, size_t frames)
{
  struct sc_block block;
  for (size_t done = 0; done < frames; done += block.frames) {
    ck_assert_int_eq(sc_source_read(source, frames - done, &block, NULL), SC_OK);
    ck_assert_uint_gt(block.frames, 0);
    ck_assert_int_eq(sc_record_feed(recorder, &block, NULL), SC_OK);
  }
}

static void end(struct sc_source *source, struct sc_recorder *recorder)
{
  ck_assert_int_eq(sc_record_finish(recorder, NULL, NULL), SC_OK);
  sc_source_close(source);
}

START_TEST(a_recording_holds_the_settings)
{
  struct sc_source_options options = rig_bench(rig_steady(), "");
  options.tuning = (struct sc_tuning){.bandwidth_hz = 300e3,
                                      .ppm_given = true,
                                      .ppm = -1.5,
                                      .antenna = "load",
                                      .gain_count = 1,
                                      .gains = {{"LNA", 12.5}}};
  struct sc_source *source = rig_open(&options);
  struct sc_recorder *recorder = begin(source);
  keep(source, recorder, 24000);
  end(source, recorder);
  json_t *root = metadata();
  const json_t *first = json_array_get(json_object_get(root, "captures"), 0);
  check_namespace(root);
  ck_assert_double_eq(number_of(first, "core:frequency"), rig_home_hz);
  ck_assert_double_eq(number_of(first, "sidecomb:gain"), 12.5);
  ck_assert_double_eq(number_of(first, "sidecomb:bandwidth"), 300e3);
  ck_assert_double_eq(number_of(first, "sidecomb:frequency_correction"), -1.5);
  ck_assert_str_eq(json_string_value(json_object_get(first, "sidecomb:antenna")), "load");
  const json_t *stage = json_array_get(json_object_get(first, "sidecomb:gains"), 0);
  ck_assert_str_eq(json_string_value(json_object_get(stage, "name")), "LNA");
  ck_assert_double_eq(number_of(stage, "gain"), 12.5);
  ck_assert_ptr_null(json_object_get(first, "sidecomb:automatic_gain"));
  json_decref(root);
}
END_TEST

/* Each change begins a capture segment of its own, which an annotation explains; a reader is told
 * the settings of every block. */
START_TEST(a_change_begins_a_segment)
{
  struct sc_source_options options = rig_bench(rig_steady(), "automatic=1");
  struct sc_source *source = rig_open(&options);
  struct sc_recorder *recorder = begin(source);
  const struct sc_tuning wanted = {.antenna = "load", .gain_count = 1, .gains = {{"LNA", 7}}};
  keep(source, recorder, 12000);
  ck_assert_int_eq(sc_source_tune(source, &wanted, NULL), SC_OK);
  keep(source, recorder, 6000);
  end(source, recorder);

  source = rig_open(&(struct sc_source_options){.path = path});
  const struct sc_source_info *info = sc_source_info(source);
  ck_assert_str_eq(info->tuned.antenna, "whip");
  ck_assert(info->tuned.automatic_gain);
  ck_assert_double_eq(info->tuned.gains[1].db, 20);
  ck_assert_double_eq(info->tuned.tune_hz, rig_home_hz);
  ck_assert_uint_eq(info->annotation_count, 1);
  ck_assert_uint_eq(info->annotations[0].first, 12000);
  /* as many as nobody took, the receiver says, if it had any */
  ck_assert_ptr_nonnull(
      strstr(info->annotations[0].text,
             "samples are missing before this one: the receiver's settings were changed"));
  struct sc_block block;
  for (uint64_t done = 0; done < 18000; done += block.frames) {
    ck_assert_int_eq(sc_source_read(source, 4096, &block, NULL), SC_OK);
    const bool later = block.first >= 12000;
    ck_assert(block.discontinuity == (block.first == 12000));
    ck_assert_str_eq(block.info->tuned.antenna, later ? "load" : "whip");
    ck_assert_double_eq(block.info->tuned.gains[1].db, later ? 7 : 20);
    ck_assert(block.info->tuned.automatic_gain == !later);
  }
  struct sc_notices notices;
  sc_source_notices(source, &notices);
  ck_assert_uint_eq(notices.count, 1);
  ck_assert_ptr_nonnull(strstr(notices.text[0], "change 1 time in this recording"));
  sc_source_close(source);
}
END_TEST

/* A recording of a recording, and the facts that the report shows. */
START_TEST(settings_reach_the_report)
{
  struct sc_source_options options = rig_bench(rig_numbered(), "");
  const struct sc_analysis_settings plain = {0};
  struct sc_source *source = rig_open(&options);
  struct sc_recorder *recorder = begin(source);
  keep(source, recorder, 48000);
  end(source, recorder);
  char copy[4096];
  (void)snprintf(copy, sizeof copy, "%s", support_file("copy.sigmf-meta"));
  const struct sc_record_settings settings = {.path = copy};
  struct sc_record_summary summary;
  struct sc_message message = {""};
  source = rig_open(&(struct sc_source_options){.path = path, .start_s = 0.1});
  ck_assert_int_eq(sc_record_source(source, &settings, NULL, NULL, &summary, &message), SC_OK);
  sc_source_close(source);
  source = rig_open(&(struct sc_source_options){.path = copy});
  struct sc_result result;
  ck_assert_int_eq(sc_analyse_source(source, &plain, NULL, NULL, &result, &message), SC_OK);
  const struct sc_receiver_facts *facts = &result.capture.receiver;
  ck_assert_double_eq(facts->gain_db.value, 20);
  ck_assert_str_eq(facts->stages, "LNA 20 dB");
  ck_assert_int_eq(facts->automatic, SC_UNKNOWN);
  ck_assert_str_eq(facts->antenna, "whip");
  ck_assert_double_eq(facts->bandwidth_hz.value, 2e6);
  ck_assert_double_eq(facts->correction_ppm.value, 0);
  sc_result_clear(&result);
  sc_source_close(source);
}
END_TEST

/* Foreign text: what is unusable is left out and counted, and the samples are read. */
START_TEST(broken_settings_are_left_out)
{
  static const char text[] =
      "{ \"global\": { \"core:datatype\": \"ci8\", \"core:sample_rate\": 240000 },"
      "  \"captures\": [ { \"core:sample_start\": 0, \"sidecomb:gain\": \"much\","
      "  \"sidecomb:gains\": [ { \"name\": \"L\\u001bNA\", \"gain\": 3 }, 7 ],"
      "  \"sidecomb:bandwidth\": -5, \"sidecomb:frequency_correction\": 1e9,"
      "  \"sidecomb:antenna\": \"0123456789012345678901234567890123456789\" } ] }";
  support_file_write("kept.sigmf-meta", text, sizeof text - 1);
  support_file_write("kept.sigmf-data", "0123456789", 10);
  struct sc_source *source = rig_open(&(struct sc_source_options){.path = path});
  const struct sc_tuning *tuned = &sc_source_info(source)->tuned;
  ck_assert_uint_eq(tuned->gain_count, 1);
  ck_assert_double_eq(tuned->gains[0].db, 3);
  ck_assert_ptr_null(strchr(tuned->gains[0].name, '\033'));
  ck_assert(tuned->bandwidth_hz == 0 && !tuned->ppm_given && tuned->antenna[0] == '\0');
  struct sc_notices notices;
  sc_source_notices(source, &notices);
  ck_assert_ptr_nonnull(strstr(notices.text[0], "5 settings of the receiver are left out"));
  sc_source_close(source);
}
END_TEST

Suite *kept_suite(void)
{
  Suite *suite = suite_create("receiver/kept");
  TCase *tests = tcase_create("kept");
  tcase_add_checked_fixture(tests, setup, rig_teardown);
  tcase_add_test(tests, a_recording_holds_the_settings);
  tcase_add_test(tests, a_change_begins_a_segment);
  tcase_add_test(tests, settings_reach_the_report);
  tcase_add_test(tests, broken_settings_are_left_out);
  suite_add_tcase(suite, tests);
  return suite;
}
