/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Results made by hand, so that the report is tested without any measuring. */
#include <config.h>

#include <stdio.h>
#include <string.h>

#include <sidecomb/fields.h>

#include "report/suites.h"

static struct sc_line air_lines[EXAMPLE_AIR_LINES];
static struct sc_line composite_lines[EXAMPLE_COMPOSITE_LINES];

static void fill_line(struct sc_line *line, double offset_hz, const char *label, const char *cause)
{
  static const char reason[] = "the example does not measure it";
  *line = (struct sc_line){.offset_hz = sc_measured(offset_hz, 0.0123),
                           .level_dbc = sc_not_measured(reason),
                           .level_dbm = sc_not_measured(reason),
                           .deviation_khz = sc_not_measured(reason),
                           .level_db75 = sc_not_measured(reason),
                           .level_db_pilot = sc_not_measured(reason),
                           .level_dbfs = sc_measured(-26.99, 0.1),
                           .mirror = -1,
                           .mirror_level_dbc = sc_not_measured("no line at the mirrored offset"),
                           .predicted_dbc = sc_not_measured(reason),
                           .rest_db = sc_not_measured(reason),
                           .fm_part_dbc = sc_not_measured(reason),
                           .am_part_dbc = sc_not_measured(reason),
                           .one_sided_dbc = sc_not_measured(reason),
                           .parts_limit_dbc = sc_not_measured(reason)};
  line->tone.level_db = sc_measured(-30, 0.1);
  line->tone.frequency_hz = line->offset_hz;
  line->tone.snr_db = 61.5;
  snprintf(line->label, sizeof line->label, "%s", label);
  snprintf(line->cause, sizeof line->cause, "%s", cause);
}

static void fill_air(void)
{
  fill_line(&air_lines[0], -38000.0, "", "the second-order line of the pilot");
  air_lines[0].level_dbc = sc_measured(-36.13, 0.021);
  air_lines[0].tone.level_db = sc_measured(-42.15, 0.021);
  air_lines[0].predicted_dbc = sc_measured(-36.11, 0.03);
  air_lines[0].rest_db = sc_measured(-0.02, 0.04);
  air_lines[0].fm_part_dbc = sc_measured(-36.12, 0.015);
  air_lines[0].am_part_dbc = sc_not_measured("none stands out of its uncertainty");
  air_lines[0].one_sided_dbc = sc_measured(-61.4, 0.9);
  air_lines[0].parts_limit_dbc = sc_measured(-68.25, (double)NAN);
  air_lines[0].orders[0] = -2;
  air_lines[0].order_count = 1;
  air_lines[0].verdict = SC_VERDICT_EXPLAINED;
  fill_line(&air_lines[1], 0.0, "carrier", "what the modulation leaves of the carrier");
  air_lines[1].level_dbc = sc_measured(-0.28, 0.001);
  air_lines[1].tone.level_db = sc_measured(-6.3, 0.001);
  fill_line(&air_lines[2], 91234.5678, "", "");
  air_lines[2].level_dbc = sc_measured(-71.2, 0.5);
  air_lines[2].tone.level_db = sc_measured(-77.2, 0.5);
}

static void fill_composite(void)
{
  fill_line(&composite_lines[0], 19000.0123, "pilot", "a steady line at 19 kHz");
  composite_lines[0].offset_hz.uncertainty = 0.00042;
  composite_lines[0].deviation_khz = sc_measured(6.75, 0.002);
  composite_lines[0].level_db75 = sc_measured(-20.92, 0.003);
  composite_lines[0].level_dbfs = sc_not_measured("the scale is that of the deviation");
  fill_line(&composite_lines[1], 38000.0, "", "nothing explains it");
}

struct sc_result example_result(void)
{
  fill_air();
  fill_composite();
  struct sc_result result = empty_result();
  snprintf(result.capture.info.name, sizeof result.capture.info.name, "bench-unit.cf32");
  snprintf(result.capture.info.format, sizeof result.capture.info.format, "raw, cf32_le");
  snprintf(result.capture.info.kind_reason, sizeof result.capture.info.kind_reason,
           "complex samples");
  result.capture.info.kind = SC_KIND_IQ;
  result.capture.info.sample_rate_hz = 480000;
  result.capture.info.centre_hz = 98.3e6;
  result.capture.frames = 960000;
  result.capture.duration_s = 2;
  result.carrier = (struct sc_carrier){.present = SC_YES,
                                       .why = "a line of constant envelope",
                                       .offset_hz = sc_measured(1234.5678, 0.02),
                                       .level_dbfs = sc_measured(-6.02, 0.001),
                                       .cnr_db = sc_measured(45.1, 0.2),
                                       .cnr_bandwidth_hz = sc_measured(200e3, (double)NAN),
                                       .noise_density_dbfs_hz = sc_measured(-104.1, 0.2),
                                       .above_threshold = SC_YES};
  result.carrier_frequency_hz = sc_measured(98301234.5678, 0.02);
  result.composite_why = NULL;
  result.composite_rate_hz = sc_measured(480000, (double)NAN);
  result.composite_absolute = true;
  result.pilot.present = SC_YES;
  result.pilot.why = "one steady tone";
  result.pilot.frequency_hz = sc_measured(19000.0123, 0.00042);
  result.pilot.frequency_error_hz = sc_measured(0.0123, 0.00042);
  result.pilot.within_tolerance = SC_YES;
  result.pilot.deviation_khz = sc_measured(6.75, 0.002);
  const struct sc_line_list list = {
      .record_s = 1, .threshold_db = 14, .coverage = 1, .resolution_hz = 1, .records = 2};
  result.air_lines = result.composite_lines = list;
  result.air_lines.lines = air_lines;
  result.air_lines.count = EXAMPLE_AIR_LINES;
  result.composite_lines.lines = composite_lines;
  result.composite_lines.count = EXAMPLE_COMPOSITE_LINES;
  snprintf(result.account, sizeof result.account, "A carrier with a pilot and nothing else.");
  return result;
}

/* Nothing of what the tables list is measured. */
static void refuse_all(struct sc_result *result, const char *why)
{
  size_t count;
  const struct sc_section *sections = sc_sections(&count);
  for (const struct sc_section *s = sections; s < sections + count; s++)
    for (const struct sc_field *f = s->fields; f < s->fields + s->count; f++) {
      const struct sc_quantity none = sc_not_measured(why);
      if (f->type == SC_FIELD_ESTIMATE || f->type == SC_FIELD_EXACT)
        memcpy((char *)result + f->offset, &none, sizeof none);
    }
}

struct sc_result empty_result(void)
{
  static const char reason[] = "there is no carrier";
  struct sc_quantity none = sc_not_measured(reason);
  struct sc_line_list no_lines = {.record_s = (double)NAN,
                                  .threshold_db = (double)NAN,
                                  .resolution_hz = (double)NAN,
                                  .why = reason};
  struct sc_result result = {0};
  refuse_all(&result, reason);
  result.rds_groups.why = reason;
  result.capture.info.clock_relative_uncertainty = (double)NAN;
  result.carrier =
      (struct sc_carrier){SC_NO, "only noise", none, none,       none,       none, none, SC_UNKNOWN,
                          none,  none,         none, SC_UNKNOWN, SC_UNKNOWN, none, none, none};
  result.carrier_frequency_hz = none;
  result.composite_rate_hz = none;
  result.composite_why = reason;
  result.pilot =
      (struct sc_pilot){SC_UNKNOWN, reason, none,        none,        SC_UNKNOWN, none,
                        none,       none,   (double)NAN, (double)NAN, 0,          (double)NAN};
  result.audio.points_why = reason;
  result.air_lines = no_lines;
  result.composite_lines = no_lines;
  return result;
}

char *example_text(const struct sc_result *result, struct sc_report_settings settings)
{
  char *text = NULL;
  ck_assert_int_eq(sc_report_text(result, &settings, &text), SC_OK);
  return text;
}
