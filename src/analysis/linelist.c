/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Tones of one or more searches as one list of lines: what they are relative to, and the
 * uncertainties that come with that. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>

#include "analysis/linelist.h"

static const double full_deviation_khz = 75; /* 100 % (ITU-R BS.450; 47 CFR 73.1570) */
static const double decibels_of_ratio = 8.685889638065037; /* 20 / ln 10 */

static const char on_air_only[] = "it is a quantity of lines on air";
static const char composite_only[] = "it is a quantity of lines of the composite";
static const char not_compared[] = "both sides of the carrier cannot be compared here";
static const char no_mirror[] = "no line at the mirrored offset";
static const char not_predicted[] = "nothing predicts a line here";

struct sc_line_list analysis_no_lines(const char *why)
{
  double none = (double)NAN;
  return (struct sc_line_list){
      .record_s = none, .threshold_db = none, .coverage = none, .resolution_hz = none, .why = why};
}

/* All that comes of other lines. */
static void forget_account(struct sc_line *line)
{
  line->mirror = -1;
  line->mirror_level_dbc = sc_not_measured(no_mirror);
  line->predicted_dbc = line->rest_db = sc_not_measured(not_predicted);
  line->fm_part_dbc = line->am_part_dbc = sc_not_measured(not_compared);
  line->one_sided_dbc = line->parts_limit_dbc = sc_not_measured(not_compared);
  line->order_count = 0;
}

static struct sc_line line_of(const struct sc_tone *tone, double shift_hz)
{
  struct sc_line line = {.tone = *tone,
                         .level_dbc = sc_not_measured(on_air_only),
                         .level_dbm = sc_not_measured(on_air_only),
                         .level_db75 = sc_not_measured(composite_only),
                         .level_db_pilot = sc_not_measured(composite_only),
                         .level_dbfs = sc_not_measured(composite_only),
                         .deviation_khz = sc_not_measured(composite_only)};
  forget_account(&line);
  line.tone.frequency_hz.value += shift_hz;
  line.offset_hz = line.tone.frequency_hz;
  return line;
}

static void take_facts(struct sc_line_list *list, const struct sc_lines_result *found)
{
  list->record_s = found->record_s;
  list->records = found->records;
  list->coverage = found->coverage;
  list->threshold_db = found->threshold_db;
  list->resolution_hz = found->resolution_hz;
  list->full = found->full;
  list->why = NULL;
}

/* From where the carrier was in the first record to its mean. Of one that jumps the mean is
 * nowhere: its place in the stretch that was searched is taken instead. */
static double follow(struct sc_line_list *list, const struct sc_lines_result *found,
                     const struct analysis_followed *followed)
{
  const bool told = list->jumped;
  list->jumped = list->jumped || found->jumped;
  if (followed == NULL || found->carrier_hz.why != NULL || (found->turned == 0 && !found->jumped))
    return 0;
  struct sc_quantity *offset_hz = &followed->carrier->offset_hz;
  list->followed = list->followed || found->turned > 0;
  if (found->jumped && told)
    return 0;
  if (found->jumped) {
    *offset_hz =
        sc_measured(followed->channel_hz + found->carrier_hz.value, found->carrier_hz.uncertainty);
    return 0;
  }
  offset_hz->uncertainty = fmin(offset_hz->uncertainty, found->carrier_hz.uncertainty);
  return offset_hz->value - followed->channel_hz - found->carrier_hz.value;
}

enum sc_error analysis_lines_add(struct sc_line_list *list, const struct sc_lines_result *found,
                                 double shift_hz, const struct analysis_followed *followed)
{
  size_t count = list->count + found->count;
  struct sc_line *lines = realloc(list->lines, (count > 0 ? count : 1) * sizeof *lines);
  if (lines == NULL)
    return SC_NO_MEMORY;
  bool first = list->lines == NULL;
  if (first)
    take_facts(list, found);
  list->lines = lines;
  const double moved_hz = follow(list, found, followed);
  for (size_t i = 0; i < found->count; i++) {
    const struct sc_tone *tone = &found->tones[i];
    lines[list->count] = line_of(tone, tone->still ? shift_hz : shift_hz + moved_hz);
    lines[list->count++].alongside = first;
  }
  return SC_OK;
}

static struct sc_quantity weakest_kept(const struct sc_lines_result *found)
{
  struct sc_quantity weakest = sc_not_measured("the search kept all lines that it found");
  for (size_t i = 0; found->full && i < found->count; i++)
    if (weakest.why != NULL || found->tones[i].level_db.value < weakest.value)
      weakest = found->tones[i].level_db;
  return weakest;
}

void analysis_lines_reach(struct sc_line_list *list, const struct sc_lines_result *found,
                          double reach_hz)
{
  list->full = list->full || found->full;
  if (list->search_count < SC_LINE_SEARCHES_MAX)
    list->searches[list->search_count++] = (struct sc_line_search){
        reach_hz, found->record_s, found->threshold_db, weakest_kept(found)};
}

static int by_offset(const void *a, const void *b)
{
  double x = ((const struct sc_line *)a)->offset_hz.value;
  double y = ((const struct sc_line *)b)->offset_hz.value;
  return (x > y) - (x < y);
}

double analysis_with_clock(double uncertainty_hz, double frequency_hz, double clock_relative)
{
  return isfinite(clock_relative) ? hypot(uncertainty_hz, frequency_hz * clock_relative)
                                  : uncertainty_hz;
}

static void join(struct sc_line_list *list, size_t low, size_t high)
{
  struct sc_line *lower = &list->lines[low], *upper = &list->lines[high];
  lower->mirror = (ptrdiff_t)high;
  upper->mirror = (ptrdiff_t)low;
  lower->mirror_level_dbc = upper->level_dbc;
  upper->mirror_level_dbc = lower->level_dbc;
}

/* The lines are sorted: one walk from both ends finds the pairs. */
static void pair_mirrors(struct sc_line_list *list)
{
  size_t low = 0, end = list->count;
  while (low + 1 < end) {
    double sum = list->lines[low].offset_hz.value + list->lines[end - 1].offset_hz.value;
    bool paired = fabs(sum) <= list->resolution_hz;
    if (paired)
      join(list, low, end - 1);
    low += paired || sum < 0;
    end -= paired || sum > 0;
  }
}

static void refer_to_carrier(struct sc_line *line, const struct sc_carrier *carrier,
                             double clock_relative_uncertainty)
{
  const struct sc_quantity *frequency = &line->tone.frequency_hz;
  const struct sc_quantity *level = &line->tone.level_db;
  double offset = frequency->value - carrier->offset_hz.value;
  double uncertainty = hypot(frequency->uncertainty, carrier->offset_hz.uncertainty);
  line->offset_hz =
      sc_measured(offset, analysis_with_clock(uncertainty, offset, clock_relative_uncertainty));
  line->level_dbc = sc_measured(level->value - carrier->level_dbfs.value,
                                hypot(level->uncertainty, carrier->level_dbfs.uncertainty));
}

void analysis_lines_on_air(struct sc_line_list *list, const struct sc_carrier *carrier,
                           double clock_relative_uncertainty)
{
  for (size_t i = 0; i < list->count; i++)
    refer_to_carrier(&list->lines[i], carrier, clock_relative_uncertainty);
  if (list->count > 0)
    qsort(list->lines, list->count, sizeof *list->lines, by_offset);
  pair_mirrors(list);
}

enum sc_error analysis_lines_join(struct sc_line_list *list, struct sc_line_list *more)
{
  if (more->count == 0)
    return SC_OK;
  struct sc_line *lines = realloc(list->lines, (list->count + more->count) * sizeof *lines);
  if (lines == NULL)
    return SC_NO_MEMORY;
  list->lines = lines;
  for (size_t i = 0; i < more->count; i++)
    lines[list->count++] = more->lines[i];
  more->count = 0;
  for (size_t i = 0; i < list->count; i++)
    forget_account(&lines[i]);
  qsort(lines, list->count, sizeof *lines, by_offset);
  pair_mirrors(list);
  return SC_OK;
}

void analysis_lines_drop_beneath(struct sc_line_list *list)
{
  size_t kept = 0;
  for (size_t i = 0; i < list->count; i++)
    if (!list->lines[i].beneath)
      list->lines[kept++] = list->lines[i];
  list->count = kept;
  for (size_t i = 0; i < kept; i++)
    forget_account(&list->lines[i]);
  pair_mirrors(list);
}

static struct sc_quantity level_over(struct sc_quantity amplitude, struct sc_quantity reference)
{
  double relative =
      hypot(amplitude.uncertainty / amplitude.value, reference.uncertainty / reference.value);
  return sc_measured(20 * log10(amplitude.value / reference.value), decibels_of_ratio * relative);
}

static void scale_line(struct sc_line *line, bool absolute, const struct sc_pilot *pilot)
{
  struct sc_quantity amplitude =
      sc_measured(line->tone.amplitude, line->tone.amplitude_uncertainty);
  line->deviation_khz = line->level_db75 = sc_not_measured("the capture has no absolute scale");
  line->level_db_pilot = sc_not_measured("there is no pilot to refer it to");
  line->level_dbfs = sc_not_measured("the scale is that of the deviation");
  if (!(amplitude.value > 0))
    return;
  if (absolute) {
    line->deviation_khz = amplitude;
    line->level_db75 = level_over(amplitude, sc_measured(full_deviation_khz, 0));
  } else {
    line->level_dbfs = level_over(amplitude, sc_measured(1, 0));
  }
  if (pilot != NULL && pilot->present == SC_YES && pilot->amplitude.value > 0)
    line->level_db_pilot = level_over(amplitude, pilot->amplitude);
}

void analysis_lines_on_composite(struct sc_line_list *list, bool absolute,
                                 const struct sc_pilot *pilot, double clock_relative_uncertainty)
{
  for (size_t i = 0; i < list->count; i++) {
    struct sc_quantity *frequency = &list->lines[i].offset_hz;
    frequency->uncertainty =
        analysis_with_clock(frequency->uncertainty, frequency->value, clock_relative_uncertainty);
    scale_line(&list->lines[i], absolute, pilot);
  }
}
