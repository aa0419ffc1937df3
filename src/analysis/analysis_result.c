/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The result of everything that was fed. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/analysis_parts.h"

#include <math.h>

#include "account/account.h"
#include "analysis/absolute.h"
#include "analysis/baseline.h"
#include "analysis/blank.h"
#include "analysis/explain.h"
#include "analysis/foreign.h"
#include "analysis/missing.h"
#include "analysis/naming.h"
#include "analysis/overload.h"
#include "analysis/receiver.h"
#include "analysis/undecoded.h"
#include "analysis/unwanted.h"
#include "analysis/warnings.h"
static double left_out_s(const struct sc_analysis *analysis)
{
  if (analysis->channel == NULL)
    return 0;
  return (double)analysis->searched / analysis->info.sample_rate_hz +
         analysis_channel_left_out_s(analysis->channel);
}

static enum sc_error result_iq(struct sc_analysis *analysis, struct sc_result *result)
{
  enum sc_error error = analysis_wanted_now(analysis);
  if (error != SC_OK)
    return error;
  if (analysis->channel == NULL) {
    analysis_blank(result, analysis->channel_why, "there is no carrier");
    analysis_emission_refuse(analysis->emission, analysis->channel_why, result);
    result->carrier.present = analysis->head != NULL && !analysis->tentative ? SC_NO : SC_UNKNOWN;
    return SC_OK;
  }
  analysis_blank(result, "there is no carrier", "there is no composite");
  analysis_emission_refuse(analysis->emission, "there is no carrier", result);
  struct sc_trace air;
  sc_spectrum_result(analysis->air, &air);
  error = analysis_channel_result(analysis->channel, air.points > 0 ? &air : NULL, result);
  return error == SC_OK ? analysis_emission_result(analysis->emission, &air, result) : error;
}

static enum sc_error result_real(struct sc_analysis *analysis, struct sc_result *result)
{
  bool composite = analysis->info.kind == SC_KIND_COMPOSITE;
  analysis_blank(result, composite ? "a composite holds no carrier" : "audio holds no carrier",
                 composite ? "a composite holds no carrier" : "audio holds no composite");
  analysis_emission_refuse(analysis->emission, result->carrier.why, result);
  if (composite) {
    result->composite_why = NULL;
    result->composite_absolute = analysis_is_absolute(analysis);
    result->composite_full_scale =
        analysis_is_absolute(analysis) ? analysis->settings.full_scale_khz : 1;
    result->composite_rate_hz = sc_measured(analysis->info.sample_rate_hz, (double)NAN);
  }
  const struct sc_composite_noise unknown = sc_composite_noise_unknown();
  if (analysis->listener != NULL)
    analysis_listener_result(analysis->listener, &result->audio);
  if (!composite)
    result->audio.basis = "the recording as it is; --deemphasis does not concern it";
  return analysis_baseband_result(analysis->baseband, &unknown, 0, result);
}

static void refuse(const struct sc_analysis *analysis, const char *why, struct sc_result *result)
{
  analysis_blank(result, why, why);
  analysis_emission_refuse(analysis->emission, why, result);
}

static enum sc_error measure(struct sc_analysis *analysis, struct sc_result *result)
{
  const char *why = analysis_nothing_told(&analysis->variation, &analysis->info, &analysis->facts,
                                          analysis->other_settings);
  if (why == NULL)
    return analysis->info.kind == SC_KIND_IQ ? result_iq(analysis, result)
                                             : result_real(analysis, result);
  refuse(analysis, why, result);
  return SC_OK;
}

enum sc_error sc_analysis_result(struct sc_analysis *analysis, struct sc_result *result)
{
  bool iq = analysis->info.kind == SC_KIND_IQ;
  enum sc_error error = measure(analysis, result);
  if (error != SC_OK) {
    sc_result_clear(result);
    return error;
  }
  result->capture = analysis->facts;
  result->capture.info = analysis->info;
  analysis_receiver(&analysis->info.tuned, &result->capture.receiver);
  result->capture.reference_hz = analysis->settings.reference_hz;
  result->capture.duration_s = (double)analysis->facts.frames / analysis->info.sample_rate_hz;
  result->capture.left_out_s = iq ? left_out_s(analysis) : (double)NAN;
  result->capture.carried.count = 0;
  if (result->capture.left_out_s > 0)
    analysis_channel_carried(analysis->channel,
                             (double)analysis->searched / analysis->info.sample_rate_hz,
                             &result->capture.carried);
  result->capture.holes = analysis->channel != NULL ? analysis_channel_holes(analysis->channel) : 0;
  analysis_doubt_data(result);
  analysis_missing(result);
  analysis_name_injections(result);
  result->unmeasured = analysis_unmeasured(analysis->info.kind, result);
  double half_width =
      analysis->channel != NULL ? analysis_channel_half_width(analysis->channel) : 0;
  analysis_warnings(result, half_width, analysis->other_settings,
                    analysis->facts.frames > analysis->facts.invalid &&
                        !analysis->variation.varies);
  struct sc_trace air;
  double least_dbc;
  bool has_air = sc_analysis_air(analysis, &air) == SC_OK;
  error = analysis_explain(analysis_channel_beneath(analysis->channel), analysis->rounded,
                           has_air ? &air : NULL, analysis_channel_image(analysis->channel), result,
                           &least_dbc);
  if (error != SC_OK) {
    sc_result_clear(result);
    return error;
  }
  account_edges(result);
  analysis_warn_of_rounding(result);
  analysis_warn_of_reach(result);
  analysis_foreign(analysis_channel_beneath(analysis->channel), has_air ? &air : NULL, result);
  analysis_made(result);
  if (analysis->settings.baseline != NULL)
    analysis_baseline_lines(analysis->settings.baseline, result);
  analysis_overload_lines(result);
  analysis_unwanted(has_air ? &air : NULL, analysis_channel_beneath(analysis->channel), least_dbc,
                    result);
  analysis_absolute(&analysis->settings, result);
  analysis_overload(result);
  account_sentence(result);
  return SC_OK;
}

enum sc_error sc_analysis_save_audio(struct sc_analysis *analysis, struct sc_message *message)
{
  if (analysis->channel != NULL)
    return analysis_channel_save_audio(analysis->channel, message);
  if (analysis->baseband != NULL)
    return analysis_baseband_save_audio(analysis->baseband, message);
  if (analysis->settings.audio_path == NULL)
    return SC_OK;
  return sc_fail(message, SC_UNSUPPORTED, "%s: not written, %s", analysis->settings.audio_path,
                 analysis->channel_why);
}

enum sc_error sc_analysis_air(struct sc_analysis *analysis, struct sc_trace *trace)
{
  if (analysis->air == NULL)
    return SC_UNSUPPORTED;
  sc_spectrum_result(analysis->air, trace);
  return SC_OK;
}

enum sc_error sc_analysis_composite(struct sc_analysis *analysis, struct sc_trace *trace)
{
  if (analysis->channel != NULL)
    analysis_channel_trace(analysis->channel, trace);
  else if (analysis->baseband != NULL)
    analysis_baseband_trace(analysis->baseband, trace);
  else
    return SC_UNSUPPORTED;
  return SC_OK;
}
