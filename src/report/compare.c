/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Results side by side: which numbers, words and lines differ from the first capture's. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/compare.h>

/* Chance that captures of one signal show a difference somewhere. */
static const double false_alarm = 0.01;

static const char of_itself[] = "it is the capture that the others are compared with";
static const char no_number[] = "it is a word, not a number";
static const char in_one_only[] = "it was not measured in both captures";
static const char not_in_both[] = "the line was not found in both captures";

const char *sc_likeness_name(enum sc_likeness likeness)
{
  static const char *const names[] = {[SC_LIKE_SAME] = "same",
                                      [SC_LIKE_DIFFERENT] = "different",
                                      [SC_LIKE_UNJUDGED] = "unjudged",
                                      [SC_LIKE_PARTLY] = "partly"};
  return names[likeness];
}

/* The k that a normal deviate exceeds, to either side, with this probability. */
static double sigmas_of(double probability)
{
  double low = 0, high = 40;
  for (int i = 0; i < 60; i++) {
    double middle = (low + high) / 2;
    if (erfc(middle / sqrt(2)) > probability)
      low = middle;
    else
      high = middle;
  }
  return high;
}

/* Evidence counts what a capture held, and of two captures of one signal the longer has more. */
static bool is_compared(const struct sc_section *section, const struct sc_field *field)
{
  return field->label != NULL && field->type != SC_FIELD_ABSENT &&
         strcmp(section->key, "capture") != 0 && strcmp(field->key, "evidence") != 0;
}

static bool is_word(const struct sc_value *value)
{
  return value->text != NULL;
}

static struct sc_quantity difference_of(struct sc_quantity a, struct sc_quantity b)
{
  return sc_measured(b.value - a.value, hypot(a.uncertainty, b.uncertainty));
}

/* Unequal numbers of which nobody knows how unequal they may be are no difference. */
static bool is_difference(struct sc_quantity difference, double sigmas)
{
  return fabs(difference.value) > sigmas * difference.uncertainty;
}

static enum sc_likeness compare_values(struct sc_compared *row, size_t i, double sigmas)
{
  const struct sc_value *a = &row->value[0], *b = &row->value[i];
  row->difference[i] = sc_not_measured(in_one_only);
  if (a->why != NULL || b->why != NULL)
    return a->why != NULL && b->why != NULL ? SC_LIKE_SAME : SC_LIKE_PARTLY;
  if (is_word(a)) {
    row->difference[i] = sc_not_measured(no_number);
    row->differs[i] = strcmp(a->text, b->text) != 0;
    return row->differs[i] ? SC_LIKE_DIFFERENT : SC_LIKE_SAME;
  }
  row->difference[i] = difference_of(a->number, b->number);
  if (!isfinite(row->difference[i].uncertainty))
    return row->difference[i].value != 0 ? SC_LIKE_UNJUDGED : SC_LIKE_SAME;
  row->differs[i] = is_difference(row->difference[i], sigmas);
  return row->differs[i] ? SC_LIKE_DIFFERENT : SC_LIKE_SAME;
}

/* What a reader looks for first weighs most. */
static enum sc_likeness weightier(enum sc_likeness a, enum sc_likeness b)
{
  static const int weight[] = {
      [SC_LIKE_SAME] = 0, [SC_LIKE_PARTLY] = 1, [SC_LIKE_UNJUDGED] = 2, [SC_LIKE_DIFFERENT] = 3};
  return weight[a] >= weight[b] ? a : b;
}

static bool is_anywhere(const struct sc_compared *row, size_t captures)
{
  for (size_t i = 0; i < captures; i++)
    if (row->value[i].why == NULL)
      return true;
  return false;
}

static void take_row(struct sc_comparison *comparison, const struct sc_section *section,
                     const struct sc_field *field)
{
  struct sc_compared *row = &comparison->rows[comparison->row_count];
  *row = (struct sc_compared){.section = section, .field = field};
  for (size_t i = 0; i < comparison->captures; i++)
    row->value[i] = sc_field_value(field, comparison->results[i]);
  comparison->row_count += is_anywhere(row, comparison->captures);
}

static enum sc_error take_rows(struct sc_comparison *comparison)
{
  size_t count, fields = 0;
  const struct sc_section *sections = sc_sections(&count);
  for (size_t i = 0; i < count; i++)
    fields += sections[i].count;
  comparison->rows = calloc(fields > 0 ? fields : 1, sizeof *comparison->rows);
  if (comparison->rows == NULL)
    return SC_NO_MEMORY;
  for (size_t i = 0; i < count; i++)
    for (size_t k = 0; k < sections[i].count; k++)
      if (is_compared(&sections[i], &sections[i].fields[k]))
        take_row(comparison, &sections[i], &sections[i].fields[k]);
  return SC_OK;
}

static void judge_rows(struct sc_comparison *comparison)
{
  for (size_t r = 0; r < comparison->row_count; r++) {
    struct sc_compared *row = &comparison->rows[r];
    row->difference[0] = sc_not_measured(of_itself);
    for (size_t i = 1; i < comparison->captures; i++)
      row->likeness = weightier(row->likeness, compare_values(row, i, comparison->sigmas));
  }
}

/* A line with the capture that it is of. */
struct found {
  const struct sc_line *line;
  size_t capture;
  double resolution_hz;
};

static int by_offset(const void *a, const void *b)
{
  double x = ((const struct found *)a)->line->offset_hz.value;
  double y = ((const struct found *)b)->line->offset_hz.value;
  return (x > y) - (x < y);
}

static bool is_same_line(const struct found *a, const struct found *b, double sigmas)
{
  double distance = fabs(b->line->offset_hz.value - a->line->offset_hz.value);
  double doubt = hypot(a->line->offset_hz.uncertainty, b->line->offset_hz.uncertainty);
  double reach = fmax(a->resolution_hz, b->resolution_hz);
  return distance <= fmax(reach, isfinite(doubt) ? sigmas * doubt : 0);
}

static struct sc_quantity level_of(const struct sc_line *line)
{
  return line->level_dbc.why == NULL ? line->level_dbc : line->tone.level_db;
}

/* E of the line (as a ratio) in a capture of the other's length, with the noise as it was here. */
static double energy_there(const struct sc_line *line, const struct sc_line_list *here,
                           const struct sc_line_list *there)
{
  double seconds = here->record_s * (double)here->records;
  double other_seconds = there->record_s * (double)there->records;
  return pow(10, line->tone.snr_db / 10) * other_seconds / seconds;
}

static double weakest_in(const struct sc_line_list *list)
{
  double weakest = INFINITY;
  for (size_t i = 0; i < list->count; i++)
    weakest = fmin(weakest, level_of(&list->lines[i]).value);
  return weakest;
}

/* A full list dropped what was weaker than its weakest line. */
static bool was_to_be_kept(const struct sc_line *line, const struct sc_line_list *there,
                           double sigmas)
{
  struct sc_quantity level = level_of(line);
  return !there->full || level.value - sqrt(2) * sigmas * level.uncertainty > weakest_in(there);
}

/* Whether the other search would have found the line, had it been there: its amplitude, in units
 * of its own uncertainty sqrt(2 E), lies k above the threshold's. */
static bool was_to_be_found(const struct sc_line *line, const struct sc_line_list *here,
                            const struct sc_line_list *there, double sigmas)
{
  double energy = energy_there(line, here, there);
  double needed = pow(10, there->threshold_db / 10);
  return there->why == NULL && sqrt(2 * energy) - sqrt(2 * needed) > sigmas &&
         was_to_be_kept(line, there, sigmas);
}

/* The same of a line that stood beneath the modulation: above what would be seen of one there. */
static bool was_to_be_seen(const struct sc_line *line, const struct sc_result *there, double sigmas)
{
  const struct sc_unwanted *unwanted = &there->unwanted;
  const double level = line->level_dbc.value - sigmas * line->level_dbc.uncertainty;
  const double away = fabs(line->offset_hz.value);
  for (size_t i = 0; i < unwanted->seen_count; i++) {
    const struct sc_seen_span *span = &unwanted->seen[i];
    if (away >= span->lower_hz.value && away < span->upper_hz.value)
      return level > span->level_dbc.value;
  }
  return false;
}

static enum sc_likeness judge_absence(const struct sc_compared_line *row,
                                      const struct sc_comparison *comparison,
                                      const struct sc_line_list *const *lists, size_t i)
{
  const double sigmas = comparison->sigmas;
  size_t here = row->line[0] != NULL ? 0 : i, there = here == 0 ? i : 0;
  const struct sc_line *line = row->line[here];
  if (line == NULL)
    return SC_LIKE_SAME;
  if (line->beneath)
    return was_to_be_seen(line, comparison->results[there], sigmas) ? SC_LIKE_DIFFERENT
                                                                    : SC_LIKE_PARTLY;
  return was_to_be_found(row->line[here], lists[here], lists[there], sigmas) ? SC_LIKE_DIFFERENT
                                                                             : SC_LIKE_PARTLY;
}

static double contrast_of(const struct sc_compared_line *row,
                          const struct sc_line_list *const *lists, size_t i)
{
  const struct sc_line *a = row->line[0], *b = row->line[i];
  if (a != NULL && b != NULL)
    return fabs(row->difference_db[i].value);
  if (a == NULL && b == NULL)
    return 0;
  return a != NULL ? a->tone.snr_db - lists[0]->threshold_db
                   : b->tone.snr_db - lists[i]->threshold_db;
}

static void judge_line(struct sc_compared_line *row, const struct sc_comparison *comparison,
                       const struct sc_line_list *const *lists)
{
  const size_t captures = comparison->captures;
  const double sigmas = comparison->sigmas;
  row->difference_db[0] = sc_not_measured(of_itself);
  for (size_t i = 1; i < captures; i++) {
    const struct sc_line *a = row->line[0], *b = row->line[i];
    enum sc_likeness likeness;
    if (a != NULL && b != NULL) {
      row->difference_db[i] = difference_of(level_of(a), level_of(b));
      likeness = is_difference(row->difference_db[i], sigmas) ? SC_LIKE_DIFFERENT : SC_LIKE_SAME;
    } else {
      row->difference_db[i] = sc_not_measured(not_in_both);
      likeness = judge_absence(row, comparison, lists, i);
    }
    row->differs[i] = likeness == SC_LIKE_DIFFERENT;
    if (row->differs[i])
      row->contrast_db = fmax(row->contrast_db, contrast_of(row, lists, i));
    row->likeness = weightier(row->likeness, likeness);
  }
}

/* The lines are sorted: what follows closely and is of another capture is the same line. */
static void group(const struct found *found, size_t count, const struct sc_comparison *comparison,
                  const struct sc_line_list *const *lists, struct sc_compared_lines *out)
{
  for (size_t i = 0; i < count;) {
    struct sc_compared_line *row = &out->lines[out->count++];
    *row = (struct sc_compared_line){.offset_hz = found[i].line->offset_hz.value};
    size_t first = i;
    while (i < count && row->line[found[i].capture] == NULL &&
           is_same_line(&found[first], &found[i], comparison->sigmas)) {
      row->line[found[i].capture] = found[i].line;
      i++;
    }
    judge_line(row, comparison, lists);
  }
}

static enum sc_error compare_lines(const struct sc_comparison *comparison,
                                   const struct sc_line_list *const *lists,
                                   struct sc_compared_lines *out)
{
  size_t count = 0, used = 0;
  for (size_t i = 0; i < comparison->captures; i++)
    count += lists[i]->why == NULL ? lists[i]->count : 0;
  if (count == 0)
    return SC_OK;
  struct found *found = calloc(count, sizeof *found);
  out->lines = calloc(count, sizeof *out->lines);
  if (found == NULL || out->lines == NULL) {
    free(found);
    return SC_NO_MEMORY;
  }
  for (size_t i = 0; i < comparison->captures; i++)
    for (size_t k = 0; lists[i]->why == NULL && k < lists[i]->count; k++)
      found[used++] = (struct found){&lists[i]->lines[k], i, lists[i]->resolution_hz};
  qsort(found, count, sizeof *found, by_offset);
  group(found, count, comparison, lists, out);
  free(found);
  return SC_OK;
}

static size_t lines_in(const struct sc_comparison *comparison)
{
  size_t count = 0;
  for (size_t i = 0; i < comparison->captures; i++)
    count +=
        comparison->results[i]->air_lines.count + comparison->results[i]->composite_lines.count;
  return count;
}

static enum sc_error compare_all_lines(struct sc_comparison *comparison)
{
  const struct sc_line_list *air[SC_COMPARED_MAX], *composite[SC_COMPARED_MAX];
  for (size_t i = 0; i < comparison->captures; i++) {
    air[i] = &comparison->results[i]->air_lines;
    composite[i] = &comparison->results[i]->composite_lines;
  }
  enum sc_error error = compare_lines(comparison, air, &comparison->air);
  return error == SC_OK ? compare_lines(comparison, composite, &comparison->composite) : error;
}

enum sc_error sc_compare(const struct sc_result *const *results, size_t count,
                         struct sc_comparison *comparison)
{
  *comparison = (struct sc_comparison){.captures = count};
  if (count < 2 || count > SC_COMPARED_MAX)
    return SC_BAD_ARGUMENT;
  for (size_t i = 0; i < count; i++) {
    if (results[i]->capture.info.kind != results[0]->capture.info.kind)
      return SC_BAD_ARGUMENT;
    comparison->results[i] = results[i];
  }
  enum sc_error error = take_rows(comparison);
  if (error == SC_OK) {
    size_t comparisons = comparison->row_count * (count - 1) + lines_in(comparison);
    comparison->sigmas = sigmas_of(false_alarm / (double)(comparisons > 0 ? comparisons : 1));
    judge_rows(comparison);
    error = compare_all_lines(comparison);
  }
  if (error != SC_OK)
    sc_comparison_clear(comparison);
  return error;
}

void sc_comparison_clear(struct sc_comparison *comparison)
{
  free(comparison->rows);
  free(comparison->air.lines);
  free(comparison->composite.lines);
  *comparison = (struct sc_comparison){0};
}
