/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Limits out of their text, and what a result keeps of them. Keys are looked up in the tables of
 * fields, so whatever the report shows can be limited. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/limits.h>

#include "common/text.h"

enum { LINE_MAX_BYTES = 300, WORDS_MAX = 8 };

/* In a normal distribution one in twenty is farther off. */
static const double sure_sigmas = 2;

struct reader {
  struct sc_limits *limits;
  const char *name;
  unsigned line;
  struct sc_message *message;
};

static enum sc_error refuse(const struct reader *reader, const char *word, const char *what)
{
  return sc_fail(reader->message, SC_BAD_FORMAT, "%.120s: line %u: %.60s%s%s", reader->name,
                 reader->line, word, word[0] != '\0' ? ": " : "", what);
}

static bool is_truth(const struct sc_field *field)
{
  return field->type == SC_FIELD_TRUTH || field->type == SC_FIELD_FLAG;
}

static bool is_number(const struct sc_field *field)
{
  return field->type == SC_FIELD_ESTIMATE || field->type == SC_FIELD_EXACT ||
         field->type == SC_FIELD_NUMBER || field->type == SC_FIELD_POSITIVE ||
         field->type == SC_FIELD_COUNT;
}

static bool read_number(const char *word, double *value)
{
  if (word == NULL || strspn(word, "+-.0123456789eEkMG") != strlen(word))
    return false;
  char *end;
  *value = strtod(word, &end);
  if (end == word || !isfinite(*value))
    return false;
  *value *= *end == 'k' ? 1e3 : *end == 'M' ? 1e6 : *end == 'G' ? 1e9 : 1;
  end += *end != '\0' && strchr("kMG", *end) != NULL;
  return *end == '\0';
}

static bool matches(char *const *words, size_t count, const char *first, const char *second)
{
  return count >= 2 && strcmp(words[0], first) == 0 && strcmp(words[1], second) == 0;
}

/* The words after the key. */
static bool read_range(char *const *words, size_t count, struct sc_limit *limit)
{
  limit->lower = -INFINITY;
  limit->upper = INFINITY;
  if (matches(words, count, "at", "most"))
    return count == 3 && read_number(words[2], &limit->upper);
  if (matches(words, count, "at", "least"))
    return count == 3 && read_number(words[2], &limit->lower);
  if (count == 2 && strcmp(words[0], "within") == 0 && read_number(words[1], &limit->upper)) {
    limit->lower = -limit->upper;
    return limit->upper >= 0;
  }
  return count == 4 && strcmp(words[0], "from") == 0 && strcmp(words[2], "to") == 0 &&
         read_number(words[1], &limit->lower) && read_number(words[3], &limit->upper) &&
         limit->lower <= limit->upper;
}

static bool read_wanted(char *const *words, size_t count, struct sc_limit *limit)
{
  if (count != 2 || strcmp(words[0], "is") != 0)
    return false;
  limit->wanted = strcmp(words[1], "yes") == 0  ? SC_YES
                  : strcmp(words[1], "no") == 0 ? SC_NO
                                                : SC_UNKNOWN;
  return limit->wanted != SC_UNKNOWN;
}

static enum sc_error take_limit(const struct reader *reader, char *const *words, size_t count,
                                const char *source)
{
  struct sc_limits *limits = reader->limits;
  struct sc_limit limit = {.wanted = SC_UNKNOWN};
  if (limits->count == SC_LIMITS_MAX)
    return refuse(reader, "", "there are too many limits");
  if (!sc_field_find(words[0], &limit.section, &limit.field))
    return refuse(reader, words[0], "no number of the report has this key");
  if (!is_truth(limit.field) && !is_number(limit.field))
    return refuse(reader, words[0],
                  limit.field->type == SC_FIELD_ABSENT
                      ? "it is a list, and only a number has limits"
                      : "only a number, or yes and no, has limits");
  if (is_truth(limit.field) && !read_wanted(words + 1, count - 1, &limit))
    return refuse(reader, words[0], "write 'is yes' or 'is no'");
  if (is_number(limit.field) && !read_range(words + 1, count - 1, &limit))
    return refuse(reader, words[0], "write 'from A to B', 'within A', 'at most A' or 'at least A'");
  common_clean(limit.source, sizeof limit.source, source, strlen(source));
  limits->limits[limits->count++] = limit;
  return SC_OK;
}

static enum sc_error take_line(struct reader *reader, const char *line, size_t length)
{
  char text[LINE_MAX_BYTES + 1], *words[WORDS_MAX + 1], *rest = NULL;
  reader->line++;
  if (length > LINE_MAX_BYTES)
    return refuse(reader, "", "the line is too long");
  memcpy(text, line, length);
  text[length] = '\0';
  text[strcspn(text, "#\r")] = '\0';
  char *source = strchr(text, ';');
  if (source != NULL)
    *source++ = '\0';
  size_t count = 0;
  for (char *word = strtok_r(text, " \t", &rest); word != NULL && count < WORDS_MAX;
       word = strtok_r(NULL, " \t", &rest))
    words[count++] = word;
  if (count == 0)
    return SC_OK;
  return take_limit(reader, words, count, source != NULL ? source + strspn(source, " \t") : "");
}

enum sc_error sc_limits_parse(const char *text, const char *name, struct sc_limits *limits,
                              struct sc_message *message)
{
  *limits = (struct sc_limits){.count = 0};
  struct reader reader = {limits, name, 0, message};
  while (*text != '\0') {
    size_t length = strcspn(text, "\n");
    enum sc_error error = take_line(&reader, text, length);
    if (error != SC_OK)
      return error;
    text += length + (text[length] == '\n');
  }
  if (limits->count == 0)
    return sc_fail(message, SC_BAD_FORMAT, "%.120s: it holds no limit", name);
  return SC_OK;
}

static double margin_of(const struct sc_limit *limit, double value)
{
  return fmin(value - limit->lower, limit->upper - value);
}

/* Its field is NULL where there is none, or it was not measured. */
static struct sc_value value_of(const struct sc_limit *limit, const char *key,
                                const struct sc_result *result)
{
  for (size_t i = 0; key != NULL && i < limit->section->count; i++)
    if (strcmp(limit->section->fields[i].key, key) == 0) {
      struct sc_value bound = sc_field_value(&limit->section->fields[i], result);
      return bound.why == NULL ? bound : (struct sc_value){.field = NULL};
    }
  return (struct sc_value){.field = NULL};
}

/* All from the bound on, to the side where the number may be, is judged. */
static enum sc_truth judge_bound(const struct sc_limit *limit, double bound)
{
  const bool upwards = limit->field->at_least != NULL;
  const double near = upwards ? limit->lower : limit->upper;
  const double far = upwards ? limit->upper : limit->lower;
  if (upwards ? bound > far : bound < far)
    return SC_NO;
  return isinf(far) && (upwards ? bound >= near : bound <= near) ? SC_YES : SC_UNKNOWN;
}

static void judge_unseen(const struct sc_limit *limit, struct sc_limit_verdict *verdict)
{
  verdict->why = verdict->value.why;
  if (verdict->bound.field == NULL)
    return;
  const double bound = verdict->bound.number.value;
  verdict->kept = judge_bound(limit, bound);
  if (verdict->kept == SC_UNKNOWN)
    return;
  verdict->why = NULL;
  verdict->margin = margin_of(limit, bound);
  verdict->sure = true;
}

/* What the number is no less, or no more, than. */
static struct sc_value bound_of(const struct sc_limit *limit, const struct sc_result *result)
{
  const struct sc_field *field = limit->field;
  return value_of(limit, field->at_least != NULL ? field->at_least : field->at_most, result);
}

/* Of a time that was not seen whole a number that is too high says nothing, but for what it is no
 * less than over all of it. */
static bool is_too_short(const struct sc_limit *limit, const struct sc_result *result,
                         const struct sc_limit_verdict *verdict)
{
  const struct sc_value least = value_of(limit, limit->field->over_all, result);
  return least.field != NULL && verdict->value.number.value > limit->upper &&
         least.number.value <= limit->upper;
}

static void judge_number(const struct sc_limit *limit, struct sc_limit_verdict *verdict)
{
  const struct sc_quantity *number = &verdict->value.number;
  const double doubt = isfinite(number->uncertainty) ? sure_sigmas * number->uncertainty : 0;
  const double margin = margin_of(limit, number->value);
  const bool hidden = verdict->bound.field != NULL && margin >= 0 &&
                      judge_bound(limit, verdict->bound.number.value) == SC_UNKNOWN;
  if (hidden) {
    verdict->why = "what was found keeps it, but more may be hidden here";
    return;
  }
  verdict->bound.field = NULL;
  if (limit->field->by_clock && fabs(margin) < doubt) {
    verdict->why = "the limit is within twice its uncertainty, the clock's included";
    return;
  }
  verdict->margin = margin;
  verdict->kept = margin >= 0 ? SC_YES : SC_NO;
  verdict->sure = fabs(margin) >= doubt;
}

struct sc_limit_verdict sc_limit_judge(const struct sc_limit *limit, const struct sc_result *result)
{
  struct sc_limit_verdict verdict = {.kept = SC_UNKNOWN,
                                     .value = sc_field_value(limit->field, result),
                                     .bound = bound_of(limit, result),
                                     .margin = (double)NAN};
  const bool clockless = isnan(result->capture.info.clock_relative_uncertainty);
  if (verdict.value.why != NULL) {
    judge_unseen(limit, &verdict);
  } else if (limit->wanted != SC_UNKNOWN) {
    verdict.kept = verdict.value.truth == limit->wanted ? SC_YES : SC_NO;
    verdict.sure = true;
  } else if (limit->field->by_clock && clockless) {
    verdict.why = "nobody stated the uncertainty of the clock that it was measured with "
                  "(--clock-ppm)";
  } else if (is_too_short(limit, result, &verdict)) {
    verdict.bound.field = NULL;
    verdict.why = "it is defined over a longer time than was seen, in which it may be lower";
  } else {
    judge_number(limit, &verdict);
  }
  return verdict;
}
