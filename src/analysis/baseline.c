/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A capture without the transmitter: its lines and spectra, and what they explain. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/air.h"
#include "analysis/baseline.h"
#include "analysis/warnings.h"
#include "dsp/select.h"

enum { READ_FRAMES = 1 << 15, RECORD_FRAMES = 1 << 18 };

static const double usable_share = 0.98; /* of half the rate, as for lines outside the channel */
static const double false_alarm = 1e-3;  /* of a line, in the whole baseline */
static const double sigmas = 3;
/* A line that is this much stronger is not called the same, however well both are known: our
 * choice, for a receiver whose gain is not touched. */
static const double gain_db = 1;
/* Who is so much weaker in the channel makes no line as strong as here: our choice. */
static const double clearly_weaker_db = 10;
static const double half_channel_hz = 100e3;
enum { ZERO_POINTS = 4 };            /* that a line at zero takes up to either side */
static const double above_noise = 2; /* a spectrum's excess begins at this multiple of its median */

struct sc_baseline {
  struct sc_source_info info;
  struct sc_lines *search;
  struct sc_spectrum *air, *of_mask[SC_MASKS_MAX];
  size_t mask_count;
  struct sc_lines_result lines;
  double noise; /* of air_trace, a point */
  struct sc_trace air_trace, mask_trace[SC_MASKS_MAX];
};

static enum sc_error create_search(struct sc_baseline *baseline)
{
  double edge = usable_share * baseline->info.sample_rate_hz / 2;
  const struct sc_lines_settings settings = {.sample_rate_hz = baseline->info.sample_rate_hz,
                                             .complex_input = true,
                                             .single_precision = true,
                                             .lower_hz = -edge,
                                             .upper_hz = edge,
                                             .record_max = RECORD_FRAMES,
                                             .false_alarm = false_alarm,
                                             .expected_frames = baseline->info.frames};
  return sc_lines_create(&settings, &baseline->search);
}

static enum sc_error create_parts(struct sc_baseline *baseline, const struct sc_mask *masks,
                                  size_t mask_count)
{
  enum sc_error error = create_search(baseline);
  if (error == SC_OK)
    error = analysis_air_create(&baseline->info, &baseline->air);
  for (size_t i = 0; error == SC_OK && i < mask_count; i++)
    error = analysis_mask_spectrum_create(&baseline->info, &masks[i],
                                          &baseline->of_mask[baseline->mask_count++]);
  return error;
}

static void feed(struct sc_baseline *baseline, const struct sc_block *block)
{
  sc_lines_feed(baseline->search, block->samples, block->frames, block->discontinuity);
  sc_spectrum_feed(baseline->air, block->samples, block->frames, block->discontinuity);
  for (size_t i = 0; i < baseline->mask_count; i++)
    sc_spectrum_feed(baseline->of_mask[i], block->samples, block->frames, block->discontinuity);
}

static enum sc_error read_all(struct sc_baseline *baseline, struct sc_source *source,
                              bool (*progress)(void *context, double share), void *context,
                              struct sc_message *message)
{
  uint64_t total = baseline->info.frames, read = 0;
  struct sc_block block;
  do {
    enum sc_error error = sc_source_read(source, READ_FRAMES, &block, message);
    if (error != SC_OK)
      return error;
    if (block.frames > 0)
      feed(baseline, &block);
    read += block.frames;
  } while (block.frames > 0 &&
           (progress == NULL ||
            progress(context, total > 0 ? (double)read / (double)total : (double)NAN)));
  return SC_OK;
}

static double median_of(const struct sc_trace *trace)
{
  return (double)dsp_select(trace->mean, trace->points, trace->points / 2);
}

static void finish(struct sc_baseline *baseline)
{
  sc_lines_result(baseline->search, &baseline->lines);
  sc_spectrum_result(baseline->air, &baseline->air_trace);
  for (size_t i = 0; i < baseline->mask_count; i++)
    sc_spectrum_result(baseline->of_mask[i], &baseline->mask_trace[i]);
  if (baseline->air_trace.points > 0)
    baseline->noise = median_of(&baseline->air_trace);
}

static enum sc_error refuse_source(const struct sc_source_info *info, struct sc_message *message)
{
  return sc_fail(message, SC_BAD_ARGUMENT,
                 "%s: holds %s; a baseline is an IQ capture without the transmitter", info->name,
                 sc_kind_name(info->kind));
}

enum sc_error sc_baseline_read(struct sc_source *source, const struct sc_mask *masks,
                               size_t mask_count, bool (*progress)(void *context, double share),
                               void *context, struct sc_baseline **out, struct sc_message *message)
{
  const struct sc_source_info *info = sc_source_info(source);
  *out = NULL;
  if (info->kind != SC_KIND_IQ)
    return refuse_source(info, message);
  if (mask_count > SC_MASKS_MAX)
    return sc_fail(message, SC_BAD_ARGUMENT, "more than %d masks", SC_MASKS_MAX);
  struct sc_baseline *baseline = calloc(1, sizeof *baseline);
  if (baseline == NULL)
    return sc_fail(message, SC_NO_MEMORY, "%s: %s", info->name, sc_error_text(SC_NO_MEMORY));
  baseline->info = *info;
  baseline->info.annotations = NULL;
  enum sc_error error = create_parts(baseline, masks, mask_count);
  if (error != SC_OK)
    sc_fail(message, error, "%s: %s", info->name, sc_error_text(error));
  if (error == SC_OK)
    error = read_all(baseline, source, progress, context, message);
  if (error == SC_OK)
    finish(baseline);
  if (error == SC_OK && baseline->lines.records == 0)
    error = sc_fail(message, SC_BAD_ARGUMENT, "%s: too short for a baseline", info->name);
  if (error != SC_OK) {
    sc_baseline_destroy(baseline);
    return error;
  }
  *out = baseline;
  return SC_OK;
}

enum sc_error sc_baseline_check(const struct sc_baseline *baseline,
                                const struct sc_source_info *info, struct sc_message *message)
{
  const struct sc_source_info *own = &baseline->info;
  if (info->kind != SC_KIND_IQ)
    return sc_fail(message, SC_BAD_ARGUMENT, "%s: holds %s; only an IQ capture has a baseline",
                   info->name, sc_kind_name(info->kind));
  if (own->sample_rate_hz == info->sample_rate_hz && own->centre_hz == info->centre_hz)
    return SC_OK;
  return sc_fail(message, SC_BAD_ARGUMENT,
                 "%.80s: a baseline at %.10g Hz, tuned to %.10g Hz, is none for %.80s at %.10g Hz, "
                 "tuned to %.10g Hz; take it with the same settings",
                 own->name, own->sample_rate_hz, own->centre_hz, info->name, info->sample_rate_hz,
                 info->centre_hz);
}

static const struct sc_tone *nearest_line(const struct sc_baseline *baseline,
                                          const struct sc_tone *tone, double resolution_hz)
{
  const struct sc_tone *nearest = NULL;
  double least = INFINITY;
  for (size_t i = 0; i < baseline->lines.count; i++) {
    const struct sc_tone *there = &baseline->lines.tones[i];
    double distance = fabs(there->frequency_hz.value - tone->frequency_hz.value);
    double doubt = hypot(there->frequency_hz.uncertainty, tone->frequency_hz.uncertainty);
    double reach = fmax(sigmas * doubt, fmax(resolution_hz, baseline->lines.resolution_hz));
    if (distance > reach || distance >= least)
      continue;
    nearest = there;
    least = distance;
  }
  return nearest;
}

/* A line that is stronger now holds something of the transmitter's. */
static bool is_as_strong(const struct sc_tone *there, const struct sc_tone *here)
{
  double doubt = hypot(there->level_db.uncertainty, here->level_db.uncertainty);
  return here->level_db.value - there->level_db.value < gain_db + sigmas * doubt;
}

static void judge_line(const struct sc_baseline *baseline, double resolution_hz,
                       struct sc_line *line)
{
  const struct sc_tone *there = nearest_line(baseline, &line->tone, resolution_hz);
  if (there == NULL || line->verdict == SC_VERDICT_EXPLAINED)
    return;
  if (is_as_strong(there, &line->tone)) {
    line->verdict = SC_VERDICT_ARTEFACT;
    snprintf(line->cause, sizeof line->cause,
             "as strong without the transmitter (%.1f dBFS in the baseline): of the receiver, or "
             "of another station",
             there->level_db.value);
    return;
  }
  size_t used = strlen(line->cause);
  snprintf(line->cause + used, sizeof line->cause - used, "%sthe baseline has %.1f dB less of it",
           used > 0 ? "; " : "", line->tone.level_db.value - there->level_db.value);
}

/* Power about a frequency, above the noise. At zero receivers have a line of their own. */
static double power_about(const struct sc_trace *trace, double noise, double hz)
{
  double sum = 0;
  for (size_t i = 0; i < trace->points; i++) {
    const double at = trace->start_hz + (double)i * trace->step_hz;
    if (fabs(at - hz) < half_channel_hz && fabs(at) > ZERO_POINTS * trace->step_hz)
      sum += (double)trace->mean[i] - noise;
  }
  return sum * trace->step_hz / trace->rbw_hz;
}

/* Of what the baseline has in the carrier's channel, less the carrier's level; NAN: nothing. */
static double channel_db(const struct sc_baseline *baseline, const struct sc_carrier *carrier)
{
  if (carrier->offset_hz.why != NULL || carrier->level_dbfs.why != NULL)
    return (double)NAN;
  const double power = power_about(&baseline->air_trace, baseline->noise, carrier->offset_hz.value);
  return power > 0 ? 10 * log10(power) - carrier->level_dbfs.value : (double)NAN;
}

bool analysis_baseline_holds(const struct sc_baseline *baseline, const struct sc_carrier *carrier)
{
  return channel_db(baseline, carrier) > -clearly_weaker_db;
}

static void refuse(const struct sc_baseline *baseline, struct sc_result *result)
{
  const double db = channel_db(baseline, &result->carrier);
  result->baseline_refused = true;
  analysis_warn(&result->warnings,
                "The baseline %.80s holds an FM signal in this channel, %.1f dB %s the carrier's: "
                "it is none without the transmitter, and excuses no line, nor anything of the "
                "bandwidth or of masks.",
                baseline->info.name, fabs(db), db < 0 ? "below" : "above");
}

void analysis_baseline_lines(const struct sc_baseline *baseline, struct sc_result *result)
{
  struct sc_line_list *list = &result->air_lines;
  if (analysis_baseline_holds(baseline, &result->carrier)) {
    refuse(baseline, result);
    return;
  }
  for (size_t i = 0; list->why == NULL && i < list->count; i++)
    judge_line(baseline, list->resolution_hz, &list->lines[i]);
}

const struct sc_trace *analysis_baseline_air(const struct sc_baseline *baseline)
{
  return &baseline->air_trace;
}

const struct sc_trace *analysis_baseline_mask(const struct sc_baseline *baseline, size_t mask)
{
  return &baseline->mask_trace[mask];
}

void analysis_baseline_subtract(const struct sc_trace *baseline, float *mean,
                                struct sc_trace *trace)
{
  if (baseline->points != trace->points || baseline->start_hz != trace->start_hz ||
      baseline->step_hz != trace->step_hz || trace->points == 0)
    return;
  double noise = median_of(baseline);
  for (size_t i = 0; i < trace->points; i++) {
    double there = (double)baseline->mean[i], here = (double)trace->mean[i];
    bool excess = there > above_noise * noise;
    mean[i] = excess ? (float)fmax(here - (there - noise), fmin(here, noise)) : trace->mean[i];
  }
  trace->mean = mean;
}

void sc_baseline_destroy(struct sc_baseline *baseline)
{
  if (baseline == NULL)
    return;
  sc_lines_destroy(baseline->search);
  sc_spectrum_destroy(baseline->air);
  for (size_t i = 0; i < baseline->mask_count; i++)
    sc_spectrum_destroy(baseline->of_mask[i]);
  free(baseline);
}
