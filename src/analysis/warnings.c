/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What limits a measurement, as sentences for people. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <inttypes.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "account/account.h"
#include "analysis/warnings.h"
#include "analysis/widen.h"

/* A fully modulated stereo signal spreads beyond this (computed: 53 kHz at 75 kHz deviation has
 * lines of more than -26 dB up to 159 kHz). */
static const double wide_enough_hz = 128000;
/* From so many records on a search of unknown length leaves stretches out (measure/lines.c). */
enum { RECORDS_DENSE = 4 };

void analysis_warn(struct sc_notices *notices, const char *format, ...)
{
  if (notices->count == SC_NOTICES_MAX)
    return;
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(notices->text[notices->count++], SC_NOTICE_LENGTH, format, arguments);
  va_end(arguments);
}

static void warn_of_clock(struct sc_result *result)
{
  if (isfinite(result->capture.info.clock_relative_uncertainty))
    return;
  double carrier_hz = result->carrier_frequency_hz.value;
  if (isfinite(carrier_hz))
    analysis_warn(&result->warnings,
                  "Frequencies are against the receiver's clock, whose uncertainty nobody stated: "
                  "1 ppm of it moves the pilot by 0.019 Hz and the carrier by %.0f Hz "
                  "(--clock-ppm).",
                  carrier_hz * 1e-6);
  else
    analysis_warn(&result->warnings,
                  "Frequencies are against the sample clock, whose uncertainty nobody stated: "
                  "1 ppm of it moves the pilot by 0.019 Hz (--clock-ppm).");
}

static void warn_of_width(struct sc_result *result, double half_width_hz)
{
  if (!result->composite_truncated || result->composite_why != NULL)
    return;
  const char *loss = half_width_hz < wide_enough_hz ? "peaks read low and separation is limited"
                                                    : "the highest deviations read slightly low";
  analysis_warn(&result->warnings,
                "The capture keeps only %.0f kHz to either side of the carrier; a full stereo "
                "signal needs 175 kHz. Outer side lines are lost: %s.",
                half_width_hz * 1e-3, loss);
}

static const double reach_told = 0.01;

static void warn_of_peaks(struct sc_result *result, double half_width_hz)
{
  if (result->composite_why == NULL && analysis_reach_share(result, half_width_hz) > reach_told)
    analysis_warn(&result->warnings,
                  "The deviation comes so near to the %.0f kHz to either side of the carrier that "
                  "are demodulated that its highest peaks read low: by some %.0f %%, as their "
                  "uncertainty says.",
                  half_width_hz * 1e-3, 100 * analysis_reach_share(result, half_width_hz));
}

/* Also the first lines say so (account/sentence.c). What a capture cuts moves it as well. */
static void warn_of_envelope(struct sc_result *result)
{
  if (account_envelope_moves(result))
    analysis_warn(
        &result->warnings,
        "Something that is not this transmitter's FM moves the envelope by %.2g %% (rms): "
        "another station in the channel, a reflection, or AM. Deviation, stereo and what "
        "stands above 53 kHz take a part of it for modulation.",
        result->noise.envelope_percent.value);
}

/* A receiver that mixes to zero adds a line at its centre and mirrors the signal around it. */
static void warn_of_centre(struct sc_result *result, double half_width_hz)
{
  double offset = fabs(result->carrier.offset_hz.value);
  if (result->carrier.present != SC_YES || !(offset < half_width_hz))
    return;
  analysis_warn(&result->warnings,
                "The carrier is %.1f kHz from the receiver's centre: its own mirror image and "
                "residual carrier fall onto the signal and may pass for lines of the transmitter. "
                "Tuning off by more than %.0f kHz tells them apart.",
                offset * 1e-3, half_width_hz * 1e-3);
}

static void warn_of_gaps(struct sc_result *result)
{
  if (result->capture.gaps > 0)
    analysis_warn(&result->warnings,
                  "The capture has %" PRIu64 " gap%s; no record reaches across one.",
                  result->capture.gaps, result->capture.gaps == 1 ? "" : "s");
}

static void warn_of_holes(struct sc_result *result)
{
  const uint64_t holes = result->capture.holes;
  if (holes > 0)
    analysis_warn(&result->warnings,
                  "At %" PRIu64
                  " moment%s zeros stand in the signal's stead: samples were lost, or "
                  "were no numbers. They are left out with some 10 ms to either side; data about "
                  "them suffer.",
                  holes, holes == 1 ? "" : "s");
}

static void warn_of_scale(struct sc_result *result)
{
  if (result->capture.info.kind == SC_KIND_COMPOSITE && !result->composite_absolute)
    analysis_warn(&result->warnings,
                  "The composite has no absolute scale: levels are relative to the pilot until "
                  "--full-scale-khz gives the deviation of full scale.");
}

static void warn_of_jumps(struct sc_result *result)
{
  const size_t jumps = result->pilot.present == SC_YES ? result->pilot.jumps : 0;
  if (jumps > 0)
    analysis_warn(&result->warnings,
                  "The pilot's phase jumps at %zu moment%s while its frequency stays: samples are "
                  "missing there, and nothing marks it. Lines and data about them suffer.",
                  jumps, jumps == 1 ? "" : "s");
}

static void warn_of_carrier(struct sc_result *result)
{
  const struct sc_line_list *list = &result->air_lines;
  const double off_hz = list->stretch_hz.value - result->carrier.offset_hz.value;
  if (list->why == NULL && list->jumped && list->stretch_hz.why == NULL)
    analysis_warn(&result->warnings,
                  "The carrier jumps. Lines are those of one stretch between its jumps, in which "
                  "it is %.*f Hz %s its mean, in records of %.2g s: what stands elsewhere only, or "
                  "is weaker than so short a time shows, is not found.",
                  fabs(off_hz) < 100, fabs(off_hz), off_hz < 0 ? "below" : "above", list->record_s);
}

/* A search spreads its records over a length that it knows. */
static void warn_of_length(struct sc_result *result)
{
  const struct sc_line_list *lists[] = {&result->air_lines, &result->composite_lines};
  bool in_part = false;
  for (size_t i = 0; i < 2; i++)
    in_part |= lists[i]->records >= RECORDS_DENSE;
  if (in_part && result->capture.info.frames == 0)
    analysis_warn(&result->warnings,
                  "The capture's length was not known beforehand: lines were looked for in other "
                  "parts of it than in a file of the same samples, and the weakest may differ.");
}

static void warn_of_other_settings(struct sc_result *result, uint64_t frames)
{
  if (frames > 0)
    analysis_warn(&result->warnings,
                  "%" PRIu64 " samples were taken at another rate or tuned frequency and were left "
                  "out.",
                  frames);
}

static void warn_of_silence(struct sc_result *result)
{
  const struct sc_capture_facts *capture = &result->capture;
  if (capture->left_out_s > 0)
    analysis_warn(&result->warnings,
                  "The carrier is there in %.6g s of %.6g s; the rest is left out of all "
                  "measurements.",
                  capture->duration_s - capture->left_out_s, capture->duration_s);
}

static void warn_of_stillness(struct sc_result *result)
{
  analysis_warn(
      &result->warnings,
      "All samples have the same value: the input is dead, or the sample type is another. "
      "%sThey tell nothing of a signal.",
      result->capture.info.kind == SC_KIND_IQ
          ? "A carrier exactly at the centre, without noise and modulation, would look "
            "the same. "
          : "");
}

static void warn_of_type(struct sc_result *result)
{
  const struct sc_source_info *info = &result->capture.info;
  if (info->likely_type[0] == '\0')
    return;
  analysis_warn(&result->warnings,
                "Read as %s the samples are %.0f dB more regular, as those of a signal are, than "
                "as they were read (%s): a wrong type or byte order makes noise and lines of them. "
                "State --type %s, or mend core:datatype of SigMF.",
                info->likely_type, info->likely_db, info->format, info->likely_type);
}

/* After the account. */
void analysis_warn_of_rounding(struct sc_result *result)
{
  size_t count = 0;
  for (size_t i = 0; i < result->air_lines.count; i++)
    count += strcmp(result->air_lines.lines[i].label, "rounding") == 0;
  if (count > 0)
    analysis_warn(
        &result->warnings,
        "Hardly any noise covers the capture's steps of %u bits, which so make lines: "
        "%zu of those on air. With more gain in front of the converter noise covers them, "
        "and weaker lines of the transmitter can be told.",
        result->capture.info.bits, count);
}

/* After the account. What the capture itself cuts has a warning of its own. */
void analysis_warn_of_reach(struct sc_result *result)
{
  size_t count = 0;
  for (size_t i = 0; i < result->composite_lines.count; i++)
    count += strcmp(result->composite_lines.lines[i].label, "cut by the capture") == 0;
  if (count > 0 && !result->composite_truncated)
    analysis_warn(&result->warnings,
                  "The modulation reaches farther than the %.0f kHz to either side of the carrier "
                  "that are demodulated: %zu tone%s of the composite come%s of what is missing "
                  "there, and what stands above 53 kHz may read low.",
                  result->composite_half_width_hz * 1e-3, count, count == 1 ? "" : "s",
                  count == 1 ? "s" : "");
}

void analysis_warnings(struct sc_result *result, double half_width_hz, uint64_t other_settings,
                       bool still)
{
  if (still)
    warn_of_stillness(result);
  warn_of_type(result);
  warn_of_clock(result);
  warn_of_width(result, half_width_hz);
  warn_of_peaks(result, half_width_hz);
  warn_of_envelope(result);
  warn_of_centre(result, half_width_hz);
  warn_of_scale(result);
  warn_of_gaps(result);
  warn_of_holes(result);
  warn_of_jumps(result);
  warn_of_carrier(result);
  warn_of_silence(result);
  warn_of_length(result);
  warn_of_other_settings(result, other_settings);
}
