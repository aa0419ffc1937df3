/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The lines that nothing explains, in short: the strongest of each cause. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <string.h>

#include "common/number.h"
#include "report/brief_row.h"
#include "report/table.h"

enum { LINES_MOST = 3 };

static size_t count_open(const struct sc_line_list *list)
{
  size_t count = 0;
  for (size_t i = 0; i < list->count; i++)
    count += report_line_is_open(&list->lines[i]);
  return count;
}

static double strength(const struct sc_line *line)
{
  const double level = line->tone.level_db.value;
  return isfinite(level) ? level : -HUGE_VAL;
}

/* The strongest open line that is weaker than `above`, or as strong and stands behind it; NULL:
 * there is none. */
static const struct sc_line *next_open(const struct sc_line_list *list, const struct sc_line *above)
{
  const struct sc_line *best = NULL;
  for (const struct sc_line *line = list->lines; line < list->lines + list->count; line++) {
    const bool follows = above == NULL || strength(line) < strength(above) ||
                         (strength(line) == strength(above) && line > above);
    if (report_line_is_open(line) && follows && (best == NULL || strength(line) > strength(best)))
      best = line;
  }
  return best;
}

static void say_air_line(struct sc_brief_row *row, const struct sc_line *line)
{
  report_brief_add(row, "%s kHz, ", common_number(line->offset_hz.value * 1e-3, 3, true).text);
  report_brief_quantity(row, line->level_dbc, 1, "dBc");
}

static const double least_khz = 1e-3; /* weaker tones would be 0.000 kHz */

static void say_tone(struct sc_brief_row *row, const struct sc_line *line)
{
  report_brief_add(row, "%s kHz", common_number(line->offset_hz.value * 1e-3, 3, false).text);
  if (line->deviation_khz.why == NULL && line->deviation_khz.value < least_khz &&
      line->level_db75.why == NULL) {
    report_brief_add(row, ", ");
    report_brief_quantity(row, line->level_db75, 1, "dB re 75 kHz");
  } else if (line->deviation_khz.why == NULL) {
    report_brief_add(row, ", ");
    report_brief_quantity(row, line->deviation_khz, 3, "kHz");
  } else if (line->level_db_pilot.why == NULL) {
    report_brief_add(row, ", ");
    report_brief_quantity(row, line->level_db_pilot, 1, "dB re pilot");
  }
}

/* Of one cause in the same words. */
static bool is_alike(const struct sc_line *a, const struct sc_line *b)
{
  return a == b ||
         (a->verdict == b->verdict && a->cause[0] != '\0' && strcmp(a->cause, b->cause) == 0);
}

static size_t count_alike(const struct sc_line_list *list, const struct sc_line *line)
{
  size_t count = 0;
  for (size_t i = 0; i < list->count; i++)
    count += is_alike(&list->lines[i], line);
  return count;
}

/* The strongest of each cause: a hundred lines of one would hide all others. */
static void say_open_lines(struct sc_brief_row *row, const struct sc_line_list *list,
                           void (*say_line)(struct sc_brief_row *, const struct sc_line *))
{
  const struct sc_line *named[LINES_MOST], *line = NULL;
  size_t names = 0, left = count_open(list);
  while (names < LINES_MOST && (line = next_open(list, line)) != NULL) {
    bool said = false;
    for (size_t i = 0; i < names; i++)
      said = said || is_alike(named[i], line);
    if (said)
      continue;
    report_brief_add(row, "%s%s at ", names > 0 ? "; " : "", sc_verdict_name(line->verdict));
    say_line(row, line);
    if (line->label[0] != '\0')
      report_brief_add(row, " (%s)", line->label);
    const size_t alike = count_alike(list, line);
    if (alike > 1)
      report_brief_add(row, " and %zu alike: %s", alike - 1, line->cause);
    left -= alike;
    named[names++] = line;
  }
  if (left > 0)
    report_brief_add(row, "; and %zu more", left);
}

void report_brief_air(struct sc_brief_row *row, const struct sc_result *result)
{
  if (result->air_lines.why != NULL)
    return;
  if (result->air_lines.count == 0)
    report_brief_add(row, "nothing: no steady line stands out");
  else if (count_open(&result->air_lines) == 0)
    report_brief_add(row, "nothing");
  say_open_lines(row, &result->air_lines, say_air_line);
}

void report_brief_composite(struct sc_brief_row *row, const struct sc_result *result)
{
  if (result->composite_lines.why != NULL || result->composite_lines.count == 0 ||
      result->capture.info.kind == SC_KIND_AUDIO)
    return;
  if (result->air_lines.why != NULL)
    row->label =
        "not explained"; /* the row above, which its label would go on from, is not there */
  if (count_open(&result->composite_lines) == 0)
    report_brief_add(row, "nothing");
  say_open_lines(row, &result->composite_lines, say_tone);
}
