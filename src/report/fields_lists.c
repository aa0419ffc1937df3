/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The tables of what a report has lists of: lines, bands, masks, tones, subcarriers. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <sidecomb/fields.h>
#include <sidecomb/result.h>

#include "report/fields_rows.h"

#define NEEDS 0

static const char *verdict_choice(int verdict)
{
  return sc_verdict_name((enum sc_verdict)verdict);
}

#define OF struct sc_line

static const struct sc_field air_line_fields[] = {
    ESTIMATE("offset_hz", "offset", HZ, 4, offset_hz),
    ESTIMATE("level_dbc", "level", DBC, 3, level_dbc),
    ESTIMATE("level_dbm", "at the receiver's input", DBM, 3, level_dbm),
    NUMBER("snr_db", "over the noise", DB, 1, tone.snr_db, "no noise was measured around it"),
    ESTIMATE("mirror_level_dbc", "mirrored line", DBC, 3, mirror_level_dbc),
    ESTIMATE("predicted_dbc", "predicted", DBC, 3, predicted_dbc),
    ESTIMATE("rest_db", "measured less predicted", DB, 3, rest_db),
    ESTIMATE("fm_part_dbc", "FM part of the pair", DBC, 3, fm_part_dbc),
    ESTIMATE("am_part_dbc", "AM part of the pair", DBC, 3, am_part_dbc),
    ESTIMATE("one_sided_dbc", "on this side alone", DBC, 3, one_sided_dbc),
    EXACT("parts_limit_dbc", "parts are seen from", DBC, 2, parts_limit_dbc),
    FLAG("beneath", "beneath the modulation", beneath),
    CHOICE("verdict", "verdict", verdict, verdict_choice),
    CHARS("label", "label", label, "the evidence supports no name"),
    CHARS("cause", "cause", cause, "no cause was found"),
};

static const struct sc_field composite_line_fields[] = {
    ESTIMATE("frequency_hz", "frequency", HZ, 4, offset_hz),
    ESTIMATE("deviation_khz", "deviation", KHZ, 6, deviation_khz),
    ESTIMATE("level_db75", "level", DB75, 3, level_db75),
    ESTIMATE("level_db_pilot", "level", DB_PILOT, 3, level_db_pilot),
    EXACT("level_dbfs", "level", DBFS, 3, level_dbfs),
    NUMBER("level_dbfs_uncertainty_db", NULL, DB, 3, level_dbfs.uncertainty,
           "there is no level in dBFS, or its uncertainty could not be stated"),
    NUMBER("snr_db", "over the noise", DB, 1, tone.snr_db, "no noise was measured around it"),
    CHOICE("verdict", "verdict", verdict, verdict_choice),
    CHARS("label", "label", label, "the evidence supports no name"),
    CHARS("cause", "cause", cause, "no cause was found"),
};

const struct sc_section *sc_air_line_section(void)
{
  static const struct sc_section section = SECTION("lines", "Lines on air", air_line_fields);
  return &section;
}

const struct sc_section *sc_composite_line_section(void)
{
  static const struct sc_section section =
      SECTION("composite_lines", "Lines of the composite", composite_line_fields);
  return &section;
}

#undef OF
#define OF struct sc_seen_span

static const struct sc_field seen_fields[] = {
    EXACT("lower_hz", "from the carrier's", HZ, 0, lower_hz),
    EXACT("upper_hz", "to", HZ, 0, upper_hz),
    EXACT("level_dbc", "found from", DBC, 1, level_dbc),
    TRUTH("by_modulation", "the modulation hides weaker ones", by_modulation, "it is not known"),
    TRUTH("by_full_list", "the list of lines was full", by_full_list, "it is not known"),
};

const struct sc_section *sc_seen_section(void)
{
  static const struct sc_section section = SECTION("seen_from", "Found from", seen_fields);
  return &section;
}

#undef OF
#define OF struct sc_unwanted_band

static const struct sc_field unwanted_band_fields[] = {
    EXACT("lower_hz", "from the carrier's", HZ, 0, lower_hz),
    EXACT("upper_hz", "to", HZ, 0, upper_hz),
    ESTIMATE("level_dbc", "power above the noise", DBC, 2, level_dbc),
    TRUTH("of_phase", "leaves the envelope alone", of_phase,
          "the envelope is seen within the channel alone"),
};

const struct sc_section *sc_unwanted_band_section(void)
{
  static const struct sc_section section = SECTION("bands", "Band", unwanted_band_fields);
  return &section;
}

#undef OF
#define OF struct sc_mask_result

static const struct sc_field mask_fields[] = {
    CHARS("name", "mask", name, "it has no name"),
    CHARS("source", "source", source, "it names no source"),
    TRUTH("pass", "kept where it was judged", pass, "no part of it could be judged"),
    ESTIMATE("worst_margin_db", "worst margin", DB, 2, worst_margin_db),
    ESTIMATE("worst_offset_hz", "  at the carrier's", HZ, 0, worst_offset_hz),
    EXACT("resolution_hz", "resolution bandwidth", HZ, 1, resolution_hz),
    NUMBER("judged_share", NULL, NONE, 4, judged_share, "nothing was judged"),
    CHARS("unjudged", "not judged", unjudged, "all that the capture reaches was judged"),
    CHARS("note", "note", note, "it has no note"),
};

const struct sc_section *sc_mask_section(void)
{
  static const struct sc_section section = SECTION("masks", "Mask", mask_fields);
  return &section;
}

#undef OF
#define OF struct sc_audio_point

static const struct sc_field audio_tone_fields[] = {
    NUMBER("frequency_hz", "tone", HZ, 0, frequency_hz, "it has none"),
    FLAG("right", "sent on the right", right),
    ESTIMATE("response_db", "response", DB, 3, response_db),
    ESTIMATE("separation_db", "separation", DB, 2, separation_db),
};

const struct sc_section *sc_audio_tone_section(void)
{
  static const struct sc_section section =
      SECTION("tones", "Response and separation", audio_tone_fields);
  return &section;
}

#undef OF
#define OF struct sc_injection

static const char *injection_choice(int kind)
{
  return sc_injection_kind_name((enum sc_injection_kind)kind);
}

static const struct sc_field injection_fields[] = {
    ESTIMATE("offset_hz", "at", HZ, 0, offset_hz),
    CHOICE("kind", "kind", kind, injection_choice),
    ESTIMATE("deviation_khz", "deviates the carrier by", KHZ, 3, deviation_khz),
    ESTIMATE("injection_percent", "share of 75 kHz", PERCENT, 2, injection_percent),
    ESTIMATE("level_db_pilot", "level", DB_PILOT, 2, level_db_pilot),
    EXACT("bandwidth_hz", "99 % of its power within", HZ, 0, bandwidth_hz),
    NUMBER("lower_hz", NULL, HZ, 0, lower_hz, "it was not noted"),
    NUMBER("upper_hz", NULL, HZ, 0, upper_hz, "it was not noted"),
    EXACT("own_rms_khz", "its own deviation, rms", KHZ, 2, own_rms_khz),
    TEXT("label", "position and form fit", label, "no service has that position and form"),
    TEXT("customary", "customary there", customary, "no service has that position and form"),
};

const struct sc_section *sc_injection_section(void)
{
  static const struct sc_section section = SECTION("subcarriers", "Above 53 kHz", injection_fields);
  return &section;
}
