/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The tables of what a report holds once: one row for each measured number. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <stdint.h>
#include <string.h>

#include <sidecomb/fields.h>
#include <sidecomb/result.h>

#include "report/fields_rows.h"

static const char *kind_choice(int kind)
{
  return sc_kind_name((enum sc_kind)kind);
}

static const char *mode_choice(int mode)
{
  return sc_stereo_mode_name((enum sc_stereo_mode)mode);
}

static const char *order_choice(int order)
{
  return sc_channel_order_name((enum sc_channel_order)order);
}

static const char *law_choice(int law)
{
  return sc_audio_law_name((enum sc_audio_law)law);
}

#define OF struct sc_result
#define NEEDS 0
#define NOBODY_SAID "neither a receiver nor the capture says so"

static const struct sc_field capture_fields[] = {
    CHARS("file", "file", capture.info.name, "it has no name"),
    CHARS("format", "format", capture.info.format, "no format was recorded"),
    CHOICE("kind", "the samples are", capture.info.kind, kind_choice),
    CHARS("kind_reason", "because", capture.info.kind_reason, "no reason was recorded"),
    POSITIVE("sample_rate_hz", "sample rate", HZ, 3, capture.info.sample_rate_hz,
             "the capture does not state its sample rate"),
    POSITIVE("centre_hz", "tuned to", HZ, 1, capture.info.centre_hz,
             "the capture does not state its tuned frequency"),
    NUMBER("clock_relative_uncertainty", NULL, NONE, 12, capture.info.clock_relative_uncertainty,
           "nobody stated the sample clock's uncertainty"),
    NUMBER("duration_s", "measured", SECOND, 3, capture.duration_s, "the duration is unknown"),
    NUMBER("left_out_s", "time without the carrier", SECOND, 3, capture.left_out_s,
           "only IQ holds a carrier"),
    NATURAL("samples", "samples", capture.frames),
    NATURAL("clipped_samples", NULL, capture.clipped),
    NATURAL("invalid_samples", NULL, capture.invalid),
    NATURAL("gaps", NULL, capture.gaps),
    NATURAL("holes", NULL, capture.holes),
};

static const struct sc_field receiver_fields[] = {
    EXACT("gain_db", "gain", DB, 2, capture.receiver.gain_db),
    CHARS("stages", "  of its stages", capture.receiver.stages, NOBODY_SAID),
    TRUTH("automatic_gain", "  moved by itself", capture.receiver.automatic,
          "the receiver does not say that it does"),
    CHARS("antenna", "antenna", capture.receiver.antenna, NOBODY_SAID),
    EXACT("bandwidth_hz", "bandwidth", HZ, 0, capture.receiver.bandwidth_hz),
    EXACT("correction_ppm", "frequency correction", PPM, 3, capture.receiver.correction_ppm),
};

static const struct sc_field carrier_fields[] = {
    TRUTH("present", "present", carrier.present, "this capture cannot tell"),
    TEXT("evidence", "evidence", carrier.why, "none was recorded"),
    CLOCKED("frequency_hz", "frequency", HZ, 3, carrier_frequency_hz),
    ESTIMATE("offset_hz", "offset from the centre", HZ, 3, carrier.offset_hz),
    BOUNDED("drift_hz_s", "  drift", HZ_S, 3, carrier.told_drift_hz_s, NULL, "drift_at_most_hz_s"),
    EXACT("drift_at_most_hz_s", "  drift at most", HZ_S, 3, carrier.drift_at_most_hz_s),
    RARE("wander_span_hz", "  wanders within", HZ, 3, carrier.wander_span_hz),
    RARE("wander_rms_hz", "  wander, rms", HZ, 3, carrier.wander_rms_hz),
    RARE("wander_period_s", "  wander, period", SECOND, 3, carrier.wander_period_s),
    ESTIMATE("level_dbfs", "level", DBFS, 3, carrier.level_dbfs),
    ESTIMATE("level_dbm", "  at the receiver's input", DBM, 2, carrier_level_dbm),
    ESTIMATE("cnr_db", "carrier to noise", DB, 2, carrier.cnr_db),
    EXACT("cnr_bandwidth_hz", "  in a bandwidth of", HZ, 0, carrier.cnr_bandwidth_hz),
    ESTIMATE("noise_density_dbfs_hz", "noise density", DBFS_HZ, 2, carrier.noise_density_dbfs_hz),
    TRUTH("above_threshold", "above the FM threshold", carrier.above_threshold,
          "not applicable without a carrier"),
};

static const struct sc_field occupancy_fields[] = {
    ESTIMATE("obw99_hz", "99 % of the power within", HZ, 0, occupancy.obw99_hz),
    ESTIMATE("lower_hz", "  from the carrier's", HZ, 0, occupancy.lower_hz),
    ESTIMATE("upper_hz", "  to", HZ, 0, occupancy.upper_hz),
    EXACT("span_hz", "  integrated over", HZ, 0, occupancy.span_hz),
    ESTIMATE("minus26db_hz", "width at -26 dB, held", HZ, 0, occupancy.minus26db_hz),
    EXACT("rbw_hz", "  in a resolution of", HZ, 1, occupancy.rbw_hz),
    EXACT("coverage_percent", "  from records that cover", PERCENT, 0, occupancy.coverage_percent),
    EXACT("carson_hz", "Carson's rule gives", HZ, 0, occupancy.carson_hz),
};

static const struct sc_field unwanted_fields[] = {
    EXACT("count", "lines of other sources", NONE, 0, unwanted.count),
    BOUNDED("strongest_dbc", "the strongest", DBC, 2, unwanted.strongest_dbc, NULL,
            "strongest_at_most_dbc"),
    ESTIMATE("strongest_dbm", "  at the receiver's input", DBM, 2, unwanted.strongest_dbm),
    ESTIMATE("strongest_offset_hz", "  at the carrier's", HZ, 1, unwanted.strongest_offset_hz),
    EXACT("strongest_at_most_dbc", "anywhere none above", DBC, 1, unwanted.strongest_at_most_dbc),
    EXACT("beside_at_most_dbc", "beside 120 kHz none above", DBC, 1, unwanted.beside_at_most_dbc),
};

static const struct sc_field channel_fields[] = {
    EXACT("nearest_hz", "nearest channel", HZ, 0, channel.nearest_hz),
    EXACT("raster_hz", "  on a raster of", HZ, 0, channel.raster_hz),
    CLOCKED("nearest_error_hz", "  the carrier's error", HZ, 3, channel.nearest_error_hz),
    CLOCKED("error_hz", "off the nominal frequency", HZ, 3, channel.error_hz),
    CLOCKED("error_ppm", "  or", PPM, 6, channel.error_ppm),
};

static const struct sc_field composite_fields[] = {
    TEXT("not_measured", NULL, composite_why, "it was measured"),
    EXACT("rate_hz", NULL, HZ, 3, composite_rate_hz),
    FLAG("absolute", NULL, composite_absolute),
    FLAG("truncated", NULL, composite_truncated),
};

static const struct sc_field deviation_fields[] = {
    ESTIMATE("peak_khz", "held peak, raw", KHZ, 3, deviation.peak_khz),
    ESTIMATE("corrected_peak_khz", "held peak without noise", KHZ, 3, deviation.corrected_khz),
    ESTIMATE("positive_khz", "peak upwards, raw", KHZ, 3, deviation.positive_khz),
    ESTIMATE("negative_khz", "peak downwards, raw", KHZ, 3, deviation.negative_khz),
    ESTIMATE("rms_khz", "rms", KHZ, 4, deviation.rms_khz),
    TIMED("composite_power_dbr", "composite power", DBR, 3, deviation.power_dbr,
          "composite_power_at_least_dbr"),
    EXACT("power_window_s", "  over a window of", SECOND, 2, deviation.power_window_s),
    TRUTH("power_complete", "  60 s were seen (BS.412)", deviation.power_complete,
          "no composite power was measured"),
    EXACT("composite_power_at_least_dbr", "  over 60 s at least", DBR, 2,
          deviation.power_at_least_dbr),
    ESTIMATE("cut_off_khz", "cut off with its pilot at", KHZ, 1, deviation.cut_off_khz),
    EXACT("exceeded_percent", "time above 75 kHz", PERCENT, 4, deviation.exceeded_percent),
    EXACT("peaks_exceeded_percent", "50 ms peaks above 75 kHz", PERCENT, 2,
          deviation.intervals_exceeded_percent),
    EXACT("peaks_half_khz", "  half of them reach", KHZ, 0, deviation.intervals_half_khz),
    EXACT("peaks_tenth_khz", "  a tenth", KHZ, 0, deviation.intervals_tenth_khz),
    EXACT("peaks_hundredth_khz", "  a hundredth", KHZ, 0, deviation.intervals_hundredth_khz),
};

static const struct sc_field pilot_fields[] = {
    TRUTH("present", "present", pilot.present, "this capture cannot tell"),
    TEXT("evidence", "evidence", pilot.why, "none was recorded"),
    CLOCKED("frequency_hz", "frequency", HZ, 6, pilot.frequency_hz),
    CLOCKED("frequency_error_hz", "error against 19 kHz", HZ, 6, pilot.frequency_error_hz),
    TRUTH("within_tolerance", "within 2 Hz (BS.450)", pilot.within_tolerance,
          "it takes a pilot and a known sample clock (--clock-ppm)"),
    ESTIMATE("deviation_khz", "deviation", KHZ, 5, pilot.deviation_khz),
    ESTIMATE("injection_percent", "share of 75 kHz", PERCENT, 4, pilot.injection_percent),
    ESTIMATE("amplitude", NULL, NONE, 6, pilot.amplitude),
    NUMBER("steadiness_db", "unsteady within 20 Hz", DB, 2, pilot.steadiness_db,
           "no pilot was measured"),
    NUMBER("snr_db", NULL, DB, 2, pilot.snr_db, "no pilot was measured"),
};

static const struct sc_field sum_fields[] = {
    ESTIMATE("rms_khz", "rms", KHZ, 4, stereo.sum_rms_khz),
    ESTIMATE("peak_khz", "held peak, raw", KHZ, 3, stereo.sum_peak_khz),
    ESTIMATE("level_db75", "level", DB75, 2, stereo.sum_level_db75),
    ESTIMATE("level_db_pilot", "beside the pilot", DB_PILOT, 2, stereo.sum_level_db_pilot),
};

static const struct sc_field difference_fields[] = {
    ESTIMATE("rms_khz", "rms", KHZ, 4, stereo.difference_rms_khz),
    ESTIMATE("peak_khz", "held peak, raw", KHZ, 3, stereo.difference_peak_khz),
    ESTIMATE("level_db75", "level", DB75, 2, stereo.difference_level_db75),
    ESTIMATE("level_db_pilot", "beside the pilot", DB_PILOT, 2, stereo.difference_level_db_pilot),
    ESTIMATE("phase_error_deg", "subcarrier against pilot", DEGREE, 3, stereo.phase_error_deg),
    TRUTH("carrier_residual_present", "38 kHz carrier left over", stereo.residual_present,
          "it takes a pilot, 1 s, and no low notes that hide it"),
    BOUNDED("carrier_residual_percent", "  share of 75 kHz", PERCENT, 4, stereo.residual_percent,
            NULL, "carrier_residual_limit_percent"),
    ESTIMATE("carrier_residual_db_pilot", "  level", DB_PILOT, 2, stereo.residual_level_db_pilot),
    EXACT("carrier_residual_limit_percent", "  seen from", PERCENT, 4,
          stereo.residual_limit_percent),
};

/* Of what the test audio says, in the recording or in what was decoded. */
#define ORDER                                                                                      \
  ROW(CHOICE, "channel_order", "order of the channels", NONE, 0, audio.order,                      \
      "only the test audio tells it (sidecomb sequence)", order_choice)

static const struct sc_field stereo_fields[] = {
    ROW(CHOICE, "mode", "mode", NONE, 0, stereo.mode, "it is open: see the evidence", mode_choice),
    CHARS("evidence", "evidence", stereo.evidence, "none was recorded"),
    ESTIMATE("left_rms_khz", "left, rms", KHZ, 4, stereo.left_rms_khz),
    ESTIMATE("right_rms_khz", "right, rms", KHZ, 4, stereo.right_rms_khz),
    ESTIMATE("balance_db", "left against right", DB, 3, stereo.balance_db),
    ESTIMATE("correlation", "correlation", NONE, 4, stereo.correlation),
    BOUNDED("separation_left_to_right_db", "separation, left to right", DB, 2,
            stereo.separation_left_to_right_db, "separation_left_to_right_at_least_db", NULL),
    CLOCKED("separation_left_hz", "  of a left tone at", HZ, 3, stereo.separation_left_hz),
    EXACT("separation_left_to_right_at_least_db", "left to right at least", DB, 1,
          stereo.separation_left_to_right_at_least_db),
    BOUNDED("separation_right_to_left_db", "separation, right to left", DB, 2,
            stereo.separation_right_to_left_db, "separation_right_to_left_at_least_db", NULL),
    CLOCKED("separation_right_hz", "  of a right tone at", HZ, 3, stereo.separation_right_hz),
    EXACT("separation_right_to_left_at_least_db", "right to left at least", DB, 1,
          stereo.separation_right_to_left_at_least_db),
    ESTIMATE("interchannel_phase_deg", "left ahead of right by", DEGREE, 2,
             stereo.interchannel_phase_deg),
    CLOCKED("interchannel_hz", "  of a tone at", HZ, 3, stereo.interchannel_hz),
    ORDER,
};

static const struct sc_field preemphasis_fields[] = {
    EXACT("tau_us", "time constant", MICROSECOND, 0, preemphasis.tau_us),
    ESTIMATE("fitted_tau_us", "  as fitted", MICROSECOND, 2, preemphasis.fitted_us),
    EXACT("uncertainty_us", NULL, MICROSECOND, 2, preemphasis.uncertainty_us),
    TEXT("basis", "basis", preemphasis.basis, "none was recorded"),
};

static const char rds_open[] = "it was not received often enough to be sure";
static const struct sc_field rds_fields[] = {
    TRUTH("present", "present", rds.present, "this capture cannot tell"),
    CHARS("evidence", "evidence", rds.evidence, "none was recorded"),
#undef NEEDS
#define NEEDS offsetof(OF, rds.subcarrier_hz)
    CLOCKED("subcarrier_hz", "subcarrier", HZ, 5, rds.subcarrier_hz),
    ESTIMATE("injection_khz", "injection, peak", KHZ, 4, rds.injection_khz),
    ESTIMATE("injection_percent", "share of 75 kHz", PERCENT, 3, rds.injection_percent),
    ESTIMATE("amplitude_rms", NULL, NONE, 6, rds.amplitude_rms),
    ESTIMATE("phase_deg", "against the pilot's third", DEGREE, 2, rds.phase_deg),
    TRUTH("phase_within_tolerance", "  within 10 of 0 or 90", rds.phase_within,
          "it takes a subcarrier that is locked to a pilot"),
    CLOCKED("bit_rate_bps", "bit rate", BPS, 5, rds.bit_rate_bps),
    EXACT("detection_limit_khz", "seen here in 99 % from", KHZ, 3, rds.detection_limit_khz),
    NATURAL("blocks", "blocks", rds.blocks),
    EXACT("block_error_rate", "  share with errors", NONE, 4, rds.block_error_rate),
    NATURAL("corrected_blocks", "  corrected", rds.corrected_blocks),
    NATURAL("lost_blocks", "  lost", rds.lost_blocks),
    NATURAL("groups", "groups", rds.data.groups),
    CHARS("pi", "programme identification", rds.data.pi, rds_open),
    CHARS("call_letters", "call letters", rds.data.call_letters,
          "the region is not North America, or open, or its formula does not give the PI"),
    CHARS("ps", "programme service name", rds.data.ps, rds_open),
    CHARS("rt", "RadioText", rds.data.rt, rds_open),
    CHARS("rt_flag", NULL, rds.data.rt_flag, rds_open),
    NUMBER("pty", "programme type", NONE, 0, rds.data.pty, rds_open),
    CHARS("pty_name", "  that is", rds.data.pty_name, rds_open),
    CHARS("pty_name_world", NULL, rds.data.pty_names[0], rds_open),
    CHARS("pty_name_north_america", NULL, rds.data.pty_names[1], rds_open),
    TEXT("region", "region", rds.data.region_name, "neither ECC nor a frequency tells it"),
    CHARS("region_evidence", "  evidence", rds.data.region_evidence,
          "neither ECC nor a frequency tells it"),
    CHARS("ptyn", "programme type name", rds.data.ptyn, rds_open),
    TRUTH("tp", "traffic programme", rds.data.tp, rds_open),
    TRUTH("ta", "traffic announcement", rds.data.ta, rds_open),
    TRUTH("ms", "music", rds.data.music, rds_open),
    CHARS("di", "decoder identification", rds.data.di, rds_open),
    CHARS("af_list", "other frequencies in MHz", rds.data.af_list, rds_open),
    CHARS("af_method", "  listed by method", rds.data.af_method,
          "too few pairs, or too mixed, to tell A from B"),
    CHARS("ct", "clock", rds.data.ct, "it comes once a minute, and counts without an error only"),
    FLAG("ct_confirmed", NULL, rds.data.ct_confirmed),
    CHARS("pin", "programme item", rds.data.pin, "none was received, or not often enough"),
    CHARS("ecc", "extended country code", rds.data.ecc, rds_open),
    CHARS("country", "country", rds.data.country, "the table here lacks it, or ECC is not known"),
    CHARS("language", "language", rds.data.language, rds_open),
    LISTED("raw_groups"),
#undef NEEDS
#define NEEDS 0
};

static const struct sc_field audio_fields[] = {
    TEXT("basis", "measured on", audio.basis, "no audio was there to measure on"),
    TRUTH("test_audio_present", "test audio", audio.sequence, "nothing of it could be looked for"),
    TEXT("test_audio_evidence", "  evidence", audio.evidence, "none was recorded"),
    NATURAL("test_audio_beginnings", NULL, audio.sequences),
    ESTIMATE("test_audio_start_s", "  begins at", SECOND, 5, audio.sequence_start_s),
    ESTIMATE("clock_error_ppm", "sample clock is fast by", PPM, 3, audio.clock_error_ppm),
    ESTIMATE("slip_us", "samples gained or lost", MICROSECOND, 0, audio.slip_us),
    ORDER,
    TEXT("channel_order_evidence", "about the order", audio.order_why, "none was recorded"),
    ESTIMATE("separation_left_to_right_db", "separation, left to right", DB, 2,
             audio.separation_left_to_right_db),
    ESTIMATE("separation_right_to_left_db", "separation, right to left", DB, 2,
             audio.separation_right_to_left_db),
    EXACT("separation_limit_db", "separation seen up to", DB, 1, audio.separation_limit_db),
    ESTIMATE("balance_db", "left against right", DB, 3, audio.balance_db),
    ESTIMATE("phase_deg", "left ahead of right by", DEGREE, 3, audio.phase_deg),
    EXACT("correlation", "correlation", NONE, 4, audio.correlation),
    ROW(CHOICE, "response_law", "response follows", NONE, 0, audio.law,
        "no law follows it, or the test audio is not there", law_choice),
    ESTIMATE("response_rest_db", "  off that, rms", DB, 3, audio.law_rms_db),
    ESTIMATE("response_flat_db", "  off a flat one", DB, 3, audio.flat_db),
    ESTIMATE("response_deemphasis_50_db", "  off 50 µs de-emphasis", DB, 3, audio.deemphasis_50_db),
    ESTIMATE("response_deemphasis_75_db", "  off 75 µs de-emphasis", DB, 3, audio.deemphasis_75_db),
    ESTIMATE("response_preemphasis_50_db", "  off 50 µs pre-emphasis", DB, 3,
             audio.preemphasis_50_db),
    ESTIMATE("response_preemphasis_75_db", "  off 75 µs pre-emphasis", DB, 3,
             audio.preemphasis_75_db),
    ESTIMATE("comb_compression_db", "compression of the combs", DB, 3, audio.comb_compression_db),
    ESTIMATE("walk_null_db", "null of the walking phase", DB, 2, audio.walk_null_db),
    EXACT("walk_null_limit_db", "null seen down to", DB, 1, audio.walk_null_limit_db),
    ESTIMATE("walk_null_deg", "sum lowest at", DEGREE, 2, audio.walk_null_deg),
    EXACT("walk_law_db", "sum off its law by", DB, 2, audio.walk_law_db),
    ESTIMATE("walk_ripple_db", "crosstalk moves level by", DB, 3, audio.walk_ripple_db),
    EXACT("walk_phase_deg", "phase off the walk by", DEGREE, 2, audio.walk_phase_deg),
};

#define AUDIO_CHANNEL(side)                                                                        \
  {                                                                                                \
    EXACT("rms_dbfs", "rms of all", DBFS, 2, audio.channel[side].rms_dbfs),                        \
        EXACT("peak_dbfs", "peak of all", DBFS, 2, audio.channel[side].peak_dbfs),                 \
        EXACT("flat_percent", "  samples at a flat top", PERCENT, 4,                               \
              audio.channel[side].flat_percent),                                                   \
        CLOCKED("frequency_hz", "tone", HZ, 5, audio.channel[side].frequency_hz),                  \
        ESTIMATE("level_dbfs", "  level", DBFS, 3, audio.channel[side].level_dbfs),                \
        ESTIMATE("thd_n_db", "  distortion and noise", DB, 2, audio.channel[side].thd_n_db),       \
        ESTIMATE("sinad_db", "  SINAD", DB, 2, audio.channel[side].sinad_db),                      \
        ESTIMATE("compression_db", "  compression of 6 dB", DB, 3,                                 \
                 audio.channel[side].compression_db),                                              \
        ESTIMATE("snr_db", "tone to noise, unweighted", DB, 2, audio.channel[side].snr_db),        \
        ESTIMATE("snr_a_db", "  A weighted", DB, 2, audio.channel[side].snr_a_db),                 \
        ESTIMATE("snr_weighted_db", "  BS.468-4, quasi-peak", DB, 2,                               \
                 audio.channel[side].snr_weighted_db),                                             \
  }
static const struct sc_field audio_left_fields[] = AUDIO_CHANNEL(0);
static const struct sc_field audio_right_fields[] = AUDIO_CHANNEL(1);

static const struct sc_field noise_fields[] = {
    BOUNDED("am_unmodulated_db", "AM without programme", DB, 1, noise.am_unmodulated_db, NULL,
            "am_unmodulated_at_most_db"),
    EXACT("am_unmodulated_at_most_db", "  at most", DB, 1, noise.am_unmodulated_at_most_db),
    BOUNDED("am_synchronous_db", "AM under programme", DB, 1, noise.am_synchronous_db, NULL,
            "am_synchronous_at_most_db"),
    EXACT("am_synchronous_at_most_db", "  at most", DB, 1, noise.am_synchronous_at_most_db),
    EXACT("am_limit_db", "AM: the capture's own", DB, 1, noise.am_limit_db),
    ESTIMATE("envelope_percent", "envelope moves by", PERCENT, 2, noise.envelope_percent),
    BOUNDED("fm_noise_db", "hum and noise re 75 kHz", DB, 1, noise.fm_noise_db, NULL,
            "fm_noise_at_most_db"),
    EXACT("fm_noise_at_most_db", "  at most", DB, 1, noise.fm_noise_at_most_db),
    EXACT("fm_noise_limit_db", "hum: the capture's own", DB, 1, noise.fm_noise_limit_db),
    EXACT("deemphasis_us", "hum: behind de-emphasis", MICROSECOND, 0, noise.deemphasis_us),
    BOUNDED("crosstalk_sum_to_difference_db", "sum into difference", DB, 1,
            stereo.crosstalk_sum_to_difference_db, NULL, "crosstalk_sum_to_difference_at_most_db"),
    EXACT("crosstalk_sum_to_difference_at_most_db", "  at most", DB, 1,
          stereo.crosstalk_sum_to_difference_at_most_db),
    BOUNDED("crosstalk_difference_to_sum_db", "difference into sum", DB, 1,
            stereo.crosstalk_difference_to_sum_db, NULL, "crosstalk_difference_to_sum_at_most_db"),
    EXACT("crosstalk_difference_to_sum_at_most_db", "  at most", DB, 1,
          stereo.crosstalk_difference_to_sum_at_most_db),
    EXACT("crosstalk_limit_db", "crosstalk seen down to", DB, 1, stereo.crosstalk_limit_db),
};

static const struct sc_section sections[] = {
    SECTION("capture", "Capture", capture_fields),
    SECTION("capture.receiver", "Capture, the receiver's settings", receiver_fields),
    SECTION("carrier", "Carrier", carrier_fields),
    SECTION("channel", "Channel", channel_fields),
    SECTION("occupancy", "Occupied bandwidth", occupancy_fields),
    SECTION("unwanted", "Not this transmitter's modulation", unwanted_fields),
    SECTION("composite", "Composite", composite_fields),
    SECTION("deviation", "Deviation", deviation_fields),
    SECTION("pilot", "Pilot", pilot_fields),
    SECTION("sum", "Sum signal", sum_fields),
    SECTION("difference", "Difference signal", difference_fields),
    SECTION("stereo", "Stereo", stereo_fields),
    SECTION("preemphasis", "Pre-emphasis", preemphasis_fields),
    SECTION("rds", "Data (RDS)", rds_fields),
    SECTION("audio", "Audio", audio_fields),
    SECTION("audio.left", "Audio, left", audio_left_fields),
    SECTION("audio.right", "Audio, right", audio_right_fields),
    SECTION("noise", "Noise", noise_fields),
};

static bool is_received(const struct sc_receiver_facts *facts)
{
  return facts->gain_db.why == NULL || facts->stages[0] != '\0' || facts->antenna[0] != '\0' ||
         facts->bandwidth_hz.why == NULL || facts->correction_ppm.why == NULL ||
         facts->automatic == SC_YES;
}

bool sc_section_concerns(const struct sc_section *section, const struct sc_result *result)
{
  if (strcmp(section->key, "capture.receiver") == 0)
    return is_received(&result->capture.receiver);
  const struct sc_audio *audio = &result->audio;
  bool of_audio = strncmp(section->key, "audio", strlen("audio")) == 0;
  if (result->capture.info.kind == SC_KIND_AUDIO)
    return of_audio || strcmp(section->key, "capture") == 0;
  return !of_audio || audio->sequence == SC_YES || audio->channel[0].frequency_hz.why == NULL ||
         audio->channel[1].frequency_hz.why == NULL;
}

const struct sc_section *sc_sections(size_t *count)
{
  *count = COUNT(sections);
  return sections;
}

static const struct sc_section *find_section(const char *key, size_t length)
{
  for (size_t i = 0; i < COUNT(sections); i++)
    if (strlen(sections[i].key) == length && strncmp(sections[i].key, key, length) == 0)
      return &sections[i];
  return NULL;
}

bool sc_field_find(const char *path, const struct sc_section **section,
                   const struct sc_field **field)
{
  const char *dot = strrchr(path, '.');
  *field = NULL;
  *section = dot != NULL ? find_section(path, (size_t)(dot - path)) : NULL;
  for (size_t i = 0; *section != NULL && i < (*section)->count; i++)
    if (strcmp((*section)->fields[i].key, dot + 1) == 0)
      *field = &(*section)->fields[i];
  return *field != NULL;
}
