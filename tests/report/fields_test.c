/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The tables against their own rules, and against the report's schema. */
#include <config.h>

#include <string.h>

#include <sidecomb/fields.h>

#include "report/suites.h"

/* Every key of the schema's scalar sections. A row of the tables may be added, none of these
 * may go. */
static const char *const schema[] = {
    "capture.file",
    "capture.kind",
    "capture.format",
    "capture.sample_rate_hz",
    "capture.centre_hz",
    "capture.duration_s",
    "capture.samples",
    "carrier.present",
    "carrier.offset_hz",
    "carrier.level_dbfs",
    "carrier.cnr_db",
    "carrier.cnr_bandwidth_hz",
    "occupancy.obw99_hz",
    "occupancy.lower_hz",
    "occupancy.upper_hz",
    "occupancy.minus26db_hz",
    "occupancy.coverage_percent",
    "occupancy.carson_hz",
    "deviation.peak_khz",
    "deviation.positive_khz",
    "deviation.negative_khz",
    "deviation.rms_khz",
    "deviation.composite_power_dbr",
    "deviation.peaks_exceeded_percent",
    "deviation.peaks_half_khz",
    "deviation.peaks_tenth_khz",
    "deviation.peaks_hundredth_khz",
    "pilot.present",
    "pilot.frequency_hz",
    "pilot.deviation_khz",
    "sum.rms_khz",
    "sum.peak_khz",
    "difference.rms_khz",
    "difference.peak_khz",
    "difference.carrier_residual_percent",
    "difference.phase_error_deg",
    "stereo.mode",
    "stereo.left_rms_khz",
    "stereo.right_rms_khz",
    "stereo.separation_left_to_right_db",
    "stereo.separation_left_to_right_at_least_db",
    "stereo.separation_right_to_left_db",
    "stereo.separation_right_to_left_at_least_db",
    "stereo.balance_db",
    "stereo.correlation",
    "stereo.interchannel_phase_deg",
    "stereo.channel_order",
    "preemphasis.tau_us",
    "preemphasis.fitted_tau_us",
    "preemphasis.uncertainty_us",
    "preemphasis.basis",
    "rds.present",
    "rds.subcarrier_hz",
    "rds.injection_khz",
    "rds.phase_deg",
    "rds.bit_rate_bps",
    "rds.blocks",
    "rds.block_error_rate",
    "rds.corrected_blocks",
    "rds.groups",
    "rds.pi",
    "rds.ps",
    "rds.rt",
    "rds.pty",
    "rds.pty_name",
    "rds.ptyn",
    "rds.tp",
    "rds.ta",
    "rds.ms",
    "rds.di",
    "rds.ct",
    "rds.ecc",
    "rds.language",
    "rds.call_letters",
    "rds.detection_limit_khz",
    "rds.raw_groups",
    "audio.separation_left_to_right_db",
    "audio.separation_right_to_left_db",
    "audio.channel_order",
    "audio.phase_deg",
    "audio.left.frequency_hz",
    "audio.left.level_dbfs",
    "audio.left.thd_n_db",
    "audio.left.sinad_db",
    "audio.left.snr_db",
    "audio.left.snr_weighted_db",
    "audio.right.frequency_hz",
    "audio.right.level_dbfs",
    "audio.right.thd_n_db",
    "audio.right.sinad_db",
    "audio.right.snr_db",
    "audio.right.snr_weighted_db",
    "noise.am_unmodulated_db",
    "noise.am_synchronous_db",
    "noise.fm_noise_db",
    "noise.crosstalk_sum_to_difference_db",
    "noise.crosstalk_difference_to_sum_db",
};

static bool has_key(const struct sc_section *section, const char *key)
{
  for (size_t i = 0; i < section->count; i++)
    if (strcmp(section->fields[i].key, key) == 0)
      return true;
  return false;
}

START_TEST(holds_every_key_of_the_schema)
{
  size_t count;
  const struct sc_section *sections = sc_sections(&count);
  for (size_t k = 0; k < sizeof schema / sizeof schema[0]; k++) {
    bool found = false;
    for (size_t i = 0; i < count; i++) {
      size_t stem = strlen(sections[i].key);
      found |= strncmp(schema[k], sections[i].key, stem) == 0 && schema[k][stem] == '.' &&
               has_key(&sections[i], schema[k] + stem + 1);
    }
    ck_assert_msg(found, "%s is in no table", schema[k]);
  }
}
END_TEST

static void check_unique(const struct sc_section *section)
{
  for (size_t i = 0; i < section->count; i++)
    for (size_t k = 0; k < i; k++)
      ck_assert_msg(strcmp(section->fields[i].key, section->fields[k].key) != 0,
                    "%s.%s stands twice", section->key, section->fields[i].key);
}

/* Two estimates that share the key of their uncertainty would lose one of them in the JSON. */
static void check_uncertainties(const struct sc_section *section)
{
  char one[96], other[96];
  for (size_t i = 0; i < section->count; i++)
    for (size_t k = 0; k < i; k++) {
      if (section->fields[i].type != SC_FIELD_ESTIMATE ||
          section->fields[k].type != SC_FIELD_ESTIMATE)
        continue;
      sc_field_uncertainty_key(&section->fields[i], one, sizeof one);
      sc_field_uncertainty_key(&section->fields[k], other, sizeof other);
      ck_assert_msg(strcmp(one, other) != 0, "%s.%s stands twice", section->key, one);
    }
}

static bool ends_in(const char *key, const char *suffix)
{
  size_t length = strlen(key), tail = strlen(suffix);
  return tail > 0 && length > tail && key[length - tail - 1] == '_' &&
         strcmp(key + length - tail, suffix) == 0;
}

/* The unit with the longest suffix that ends the key. */
static enum sc_unit unit_of_key(const char *key)
{
  enum sc_unit best = SC_UNIT_NONE;
  for (int unit = 0; unit < SC_UNIT_COUNT; unit++) {
    const char *suffix = sc_unit_names((enum sc_unit)unit)->suffix;
    if (ends_in(key, suffix) && strlen(suffix) > strlen(sc_unit_names(best)->suffix))
      best = (enum sc_unit)unit;
  }
  return best;
}

static void check_row(const struct sc_section *section, const struct sc_field *field)
{
  if (field->type == SC_FIELD_ABSENT) {
    ck_assert_ptr_null(field->label);
    ck_assert_ptr_nonnull(field->absent);
    return;
  }
  ck_assert_msg(unit_of_key(field->key) == field->unit, "%s.%s: the key ends in %s, the unit is %s",
                section->key, field->key, sc_unit_names(unit_of_key(field->key))->suffix,
                sc_unit_names(field->unit)->suffix);
  ck_assert_int_ge(field->decimals, 0);
  /* the column of labels has 26 places, the last of them blank */
  ck_assert_msg(field->label == NULL || strlen(field->label) < 26, "%s.%s: '%s' is too long",
                section->key, field->key, field->label);
  ck_assert_msg((field->type == SC_FIELD_CHOICE) == (field->choice != NULL), "%s.%s", section->key,
                field->key);
  bool needs_reason = field->type == SC_FIELD_NUMBER || field->type == SC_FIELD_POSITIVE ||
                      field->type == SC_FIELD_TRUTH || field->type == SC_FIELD_TEXT ||
                      field->type == SC_FIELD_CHARS;
  ck_assert_msg(!needs_reason || field->absent != NULL, "%s.%s may be absent without a reason",
                section->key, field->key);
}

static void check_section(const struct sc_section *section)
{
  ck_assert_ptr_nonnull(section->title);
  ck_assert_uint_gt(section->count, 0);
  check_unique(section);
  check_uncertainties(section);
  for (size_t i = 0; i < section->count; i++)
    check_row(section, &section->fields[i]);
}

START_TEST(keys_are_unique_and_end_in_their_unit)
{
  size_t count;
  const struct sc_section *sections = sc_sections(&count);
  for (size_t i = 0; i < count; i++)
    check_section(&sections[i]);
  for (size_t i = 0; i < count; i++)
    for (size_t k = 0; k < i; k++)
      ck_assert_str_ne(sections[i].key, sections[k].key);
  check_section(sc_air_line_section());
  check_section(sc_composite_line_section());
}
END_TEST

START_TEST(uncertainty_keys_follow_the_pattern)
{
  static const struct {
    const char *key;
    enum sc_unit unit;
    const char *expected;
  } cases[] = {
      {"offset_hz", SC_UNIT_HZ, "offset_uncertainty_hz"},
      {"level_dbc", SC_UNIT_DBC, "level_uncertainty_db"},
      {"deviation_khz", SC_UNIT_KHZ, "deviation_uncertainty_khz"},
      {"carrier_residual_percent", SC_UNIT_PERCENT, "carrier_residual_uncertainty_percent"},
      {"correlation", SC_UNIT_NONE, "correlation_uncertainty"},
      {"noise_density_dbfs_hz", SC_UNIT_DBFS_HZ, "noise_density_uncertainty_db"},
      {"level_dbm", SC_UNIT_DBM, "level_uncertainty_dbm"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct sc_field field = {.key = cases[i].key, .unit = cases[i].unit};
    char key[96];
    sc_field_uncertainty_key(&field, key, sizeof key);
    ck_assert_str_eq(key, cases[i].expected);
  }
}
END_TEST

Suite *fields_suite(void)
{
  Suite *suite = suite_create("fields");
  TCase *tables = tcase_create("tables");
  tcase_add_test(tables, holds_every_key_of_the_schema);
  tcase_add_test(tables, keys_are_unique_and_end_in_their_unit);
  tcase_add_test(tables, uncertainty_keys_follow_the_pattern);
  suite_add_tcase(suite, tables);
  return suite;
}
