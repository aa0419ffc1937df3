/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The margin of a spectrum to a mask. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <sidecomb/mask.h>

static const double decibels_of_power = 4.342944819032518; /* 10 / ln 10 */
/* What stands so many standard deviations of the averaged noise over a limit fails it even
 * where the noise alone is above the limit: one in a million by chance. */
static const double sure_sigmas = 4.9;

static double limit_of(const struct sc_mask_range *range, double offset)
{
  if (offset < range->lower_hz || offset > range->upper_hz)
    return (double)NAN;
  if (range->lower_db == range->upper_db)
    return range->lower_db;
  double share = (offset - range->lower_hz) / (range->upper_hz - range->lower_hz);
  return range->lower_db + share * (range->upper_db - range->lower_db);
}

double sc_mask_limit_db(const struct sc_mask *mask, double offset_hz)
{
  double strictest = (double)NAN;
  for (size_t i = 0; i < mask->range_count; i++)
    strictest = fmax(strictest, limit_of(&mask->ranges[i], fabs(offset_hz))); /* NAN gives way */
  return strictest;
}

struct judge {
  const struct sc_mask *mask;
  const struct sc_trace *trace;
  double carrier_hz, carrier_power;
  double noise, noise_deviation;           /* in one point, and its scatter */
  double worst_db, worst_hz;               /* margin so far */
  size_t asked, judged;                    /* points */
  double hidden_lower_hz, hidden_upper_hz; /* offsets where the noise is above the limit */
};

static void judge_point(struct judge *judge, size_t i)
{
  double offset = judge->trace->start_hz + judge->trace->step_hz * (double)i - judge->carrier_hz;
  double limit_db = sc_mask_limit_db(judge->mask, offset);
  if (isnan(limit_db))
    return;
  const float *trace = judge->mask->max_hold ? judge->trace->max_hold : judge->trace->mean;
  double limit = judge->carrier_power * pow(10, -limit_db / 10);
  double power = (double)trace[i] - judge->noise;
  judge->asked++;
  if (judge->noise > limit && power < limit + sure_sigmas * judge->noise_deviation) {
    judge->hidden_lower_hz = fmin(judge->hidden_lower_hz, fabs(offset));
    judge->hidden_upper_hz = fmax(judge->hidden_upper_hz, fabs(offset));
    return;
  }
  judge->judged++;
  double margin = 10 * log10(limit / fmax(power, judge->noise_deviation + 1e-30));
  if (margin < judge->worst_db) {
    judge->worst_db = margin;
    judge->worst_hz = offset;
  }
}

static double farthest(const struct sc_mask *mask)
{
  double end = 0;
  for (size_t i = 0; i < mask->range_count; i++)
    end = fmax(end, mask->ranges[i].upper_hz);
  return end;
}

static void tell_unjudged(const struct judge *judge, char *text, size_t size)
{
  const struct sc_trace *trace = judge->trace;
  double lower = judge->carrier_hz - trace->start_hz;
  double upper = trace->start_hz + trace->step_hz * (double)trace->points - judge->carrier_hz;
  size_t used = 0;
  text[0] = '\0';
  if (fmin(lower, upper) < farthest(judge->mask))
    used = (size_t)snprintf(text, size,
                            "the capture ends %.0f kHz below and %.0f kHz above the "
                            "carrier",
                            lower * 1e-3, upper * 1e-3);
  if (judge->judged < judge->asked && used < size)
    snprintf(text + used, size - used,
             "%sbetween %.0f and %.0f kHz its noise (%.1f dBc) is above the limit",
             used > 0 ? "; " : "", judge->hidden_lower_hz * 1e-3, judge->hidden_upper_hz * 1e-3,
             10 * log10(judge->noise / judge->carrier_power));
}

static void fill_verdict(const struct judge *judge, const struct sc_mask_settings *settings,
                         struct sc_mask_result *result)
{
  if (judge->judged == 0)
    return;
  double looks = fmax(1, judge->trace->independent_records);
  double uncertainty = hypot(settings->carrier_dbfs.uncertainty, decibels_of_power / sqrt(looks));
  result->pass = judge->worst_db >= 0 ? SC_YES : SC_NO;
  result->worst_margin_db = sc_measured(judge->worst_db, uncertainty);
  result->worst_offset_hz = sc_measured(judge->worst_hz, judge->trace->rbw_hz / sqrt(12));
  result->judged_share = (double)judge->judged / (double)judge->asked;
}

static struct judge make_judge(const struct sc_mask *mask, const struct sc_trace *trace,
                               const struct sc_mask_settings *settings)
{
  double noise = isfinite(settings->noise_density) ? settings->noise_density * trace->rbw_hz : 0;
  return (struct judge){.mask = mask,
                        .trace = trace,
                        .carrier_hz = settings->carrier_hz,
                        .carrier_power = pow(10, settings->carrier_dbfs.value / 10),
                        .noise = noise,
                        .noise_deviation = noise / sqrt(fmax(1, trace->independent_records)),
                        .worst_db = INFINITY,
                        .hidden_lower_hz = INFINITY};
}

/* Power that is spread goes with the resolution: in one that is another by more than 1 dB the trace
 * holds less, or more, than the mask limits. */
static const char *misses_resolution(const struct sc_mask *mask, const struct sc_trace *trace)
{
  const double tolerated_db = 1, off_db = 10 * log10(trace->rbw_hz / mask->resolution_hz);
  return off_db < -tolerated_db  ? "the capture is too narrow for the mask's resolution"
         : off_db > tolerated_db ? "the capture is too short for the mask's resolution"
                                 : NULL;
}

static const char *obstacle(const struct sc_mask *mask, const struct sc_trace *trace,
                            const struct sc_mask_settings *settings)
{
  return settings->carrier_dbfs.why != NULL ? settings->carrier_dbfs.why
         : trace->points == 0               ? "the capture is too short"
                                            : misses_resolution(mask, trace);
}

void sc_mask_judge(const struct sc_mask *mask, const struct sc_trace *trace,
                   const struct sc_mask_settings *settings, struct sc_mask_result *result)
{
  const char *why = obstacle(mask, trace, settings);
  const bool judgeable = why == NULL;
  if (judgeable)
    why = "the capture reaches no part of the mask above its noise";
  struct sc_quantity none = sc_not_measured(why);
  *result = (struct sc_mask_result){
      .worst_margin_db = none, .worst_offset_hz = none, .resolution_hz = none, .judged_share = 0};
  memcpy(result->name, mask->name, sizeof result->name);
  memcpy(result->source, mask->source, sizeof result->source);
  memcpy(result->note, mask->note, sizeof result->note);
  if (trace->points > 0)
    result->resolution_hz = sc_measured(trace->rbw_hz, (double)NAN);
  if (!judgeable) {
    (void)snprintf(result->unjudged, sizeof result->unjudged, "all: %s", why);
    return;
  }
  struct judge judge = make_judge(mask, trace, settings);
  for (size_t i = 0; i < trace->points; i++)
    judge_point(&judge, i);
  fill_verdict(&judge, settings, result);
  tell_unjudged(&judge, result->unjudged, sizeof result->unjudged);
}
