/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The columns of repeated measurements, their count, and the CSV. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <sidecomb/log.h>

#include "common/number.h"
#include "common/text.h"
#include "report/buffer.h"
#include "report/log_count.h"

enum { TEXT_MAX = 512, KEY_MAX = 96 };

static const char *const usual_keys[] = {
    [SC_KIND_UNDECIDED] = "",
    [SC_KIND_IQ] =
        ("carrier.offset_hz,carrier.level_dbfs,carrier.cnr_db,deviation.corrected_peak_khz,"
         "deviation.composite_power_dbr,pilot.frequency_hz,pilot.deviation_khz,stereo.mode,"
         "difference.carrier_residual_percent,rds.present"),
    [SC_KIND_COMPOSITE] = ("deviation.peak_khz,deviation.composite_power_dbr,pilot.frequency_hz,"
                           "pilot.deviation_khz,stereo.mode,difference.carrier_residual_db_pilot,"
                           "rds.present"),
    [SC_KIND_AUDIO] = ("audio.left.rms_dbfs,audio.left.peak_dbfs,audio.right.rms_dbfs,"
                       "audio.right.peak_dbfs,audio.correlation"),
};

static bool has_column(const struct sc_log *log, const struct sc_section *section,
                       const struct sc_field *field)
{
  for (size_t i = 0; i < log->count; i++)
    if (log->columns[i].section == section && log->columns[i].field == field)
      return true;
  return false;
}

static enum sc_error add_column(struct sc_log *log, const struct sc_section *section,
                                const struct sc_field *field, struct sc_message *message)
{
  if (has_column(log, section, field))
    return SC_OK;
  if (log->count == SC_LOG_COLUMNS_MAX)
    return sc_fail(message, SC_BAD_ARGUMENT, "more than %d keys and limits", SC_LOG_COLUMNS_MAX);
  log->columns[log->count].section = section;
  log->columns[log->count].field = field;
  log->tallies[log->count++] = (struct sc_log_tally){.least = INFINITY, .most = -INFINITY};
  return SC_OK;
}

static enum sc_error add_key(struct sc_log *log, const char *key, size_t length,
                             struct sc_message *message)
{
  char path[KEY_MAX];
  const struct sc_section *section;
  const struct sc_field *field;
  common_clean(path, sizeof path, key, length);
  if (!sc_field_find(path, &section, &field) || field->type == SC_FIELD_ABSENT)
    return sc_fail(message, SC_BAD_ARGUMENT,
                   "%s: no quantity of the report has this key; write section.key, like "
                   "pilot.deviation_khz",
                   path);
  return add_column(log, section, field, message);
}

enum sc_error sc_log_begin(struct sc_log *log, const char *keys, enum sc_kind kind,
                           const struct sc_limits *limits, struct sc_message *message)
{
  *log = (struct sc_log){.limits = limits};
  const char *key = keys != NULL ? keys : usual_keys[kind];
  enum sc_error error = SC_OK;
  while (error == SC_OK && *key != '\0') {
    size_t length = strcspn(key, ",");
    error = add_key(log, key, length, message);
    key += length + (key[length] == ',');
  }
  for (size_t i = 0; error == SC_OK && limits != NULL && i < limits->count; i++)
    error = add_column(log, limits->limits[i].section, limits->limits[i].field, message);
  return error;
}

bool sc_log_needs_lines(const struct sc_log *log)
{
  for (size_t i = 0; i < log->count; i++)
    if (strcmp(log->columns[i].section->key, "unwanted") == 0 ||
        strcmp(log->columns[i].section->key, "occupancy") == 0)
      return true;
  return false;
}

enum sc_truth report_log_judge(const struct sc_log *log, const struct sc_result *result)
{
  enum sc_truth kept = SC_YES;
  for (size_t i = 0; log->limits != NULL && i < log->limits->count; i++) {
    enum sc_truth one = sc_limit_judge(&log->limits->limits[i], result).kept;
    if (one == SC_NO || (one == SC_UNKNOWN && kept == SC_YES))
      kept = one;
  }
  return kept;
}

static void count_limits(struct sc_log *log, const struct sc_result *result)
{
  for (size_t i = 0; log->limits != NULL && i < log->limits->count; i++) {
    enum sc_truth kept = sc_limit_judge(&log->limits->limits[i], result).kept;
    log->failures[i] += kept == SC_NO;
    log->open[i] += kept == SC_UNKNOWN;
  }
}

void report_log_count(struct sc_log *log, const struct sc_result *result)
{
  for (size_t i = 0; i < log->count; i++) {
    struct sc_value value = sc_field_value(log->columns[i].field, result);
    struct sc_log_tally *tally = &log->tallies[i];
    if (value.why != NULL)
      continue;
    tally->measured++;
    if (!isfinite(value.number.value))
      continue;
    tally->least = fmin(tally->least, value.number.value);
    tally->most = fmax(tally->most, value.number.value);
    tally->sum += value.number.value;
  }
  if (result->unmeasured != NULL && log->unmeasured_lines++ == 0)
    log->unmeasured_why = result->unmeasured;
  count_limits(log, result);
  enum sc_truth kept = report_log_judge(log, result);
  log->lines++;
  log->failed_lines += kept == SC_NO;
  log->open_lines += kept == SC_UNKNOWN;
}

static void uncertainty_key(const struct sc_log *log, size_t i, char *key)
{
  char own[KEY_MAX];
  sc_field_uncertainty_key(log->columns[i].field, own, sizeof own);
  snprintf(key, 2 * KEY_MAX, "%s.%s", log->columns[i].section->key, own);
}

enum sc_error sc_log_heading(const struct sc_log *log, char **text)
{
  struct report_buffer out = {0};
  report_add(&out, "start_s,duration_s,utc");
  for (size_t i = 0; i < log->count; i++) {
    const struct sc_field *field = log->columns[i].field;
    char key[2 * KEY_MAX];
    report_add(&out, ",%s.%s", log->columns[i].section->key, field->key);
    uncertainty_key(log, i, key);
    if (field->type == SC_FIELD_ESTIMATE)
      report_add(&out, ",%s", key);
  }
  report_add(&out, "%s\r\n", log->limits != NULL ? ",limits,failed" : "");
  *text = report_take(&out);
  return *text != NULL ? SC_OK : SC_NO_MEMORY;
}

/* Quotes where RFC 4180 wants them. */
static void add_word(struct report_buffer *out, const char *word)
{
  char clean[TEXT_MAX];
  common_clean(clean, sizeof clean, word, strlen(word));
  if (strpbrk(clean, ",\"") == NULL) {
    report_add(out, "%s", clean);
    return;
  }
  report_add(out, "\"");
  for (const char *c = clean; *c != '\0'; c++)
    report_add(out, "%s%c", *c == '"' ? "\"" : "", *c);
  report_add(out, "\"");
}

static void add_cell(struct report_buffer *out, const struct sc_value *value)
{
  report_add(out, ",");
  if (value->text != NULL)
    add_word(out, value->text);
  else if (value->why == NULL)
    report_add(out, "%s",
               common_number(value->number.value,
                             sc_decimals(value->number.uncertainty, value->field->decimals + 3),
                             false)
                   .text);
  if (!value->has_uncertainty)
    return;
  report_add(out, ",");
  if (value->why == NULL && isfinite(value->number.uncertainty))
    report_add(out, "%.3g", value->number.uncertainty);
}

static void add_verdict(struct report_buffer *out, const struct sc_log *log,
                        const struct sc_result *result)
{
  bool first = true;
  report_add(out, ",%s,", report_log_verdict(report_log_judge(log, result)));
  for (size_t i = 0; i < log->limits->count; i++) {
    const struct sc_limit *limit = &log->limits->limits[i];
    if (sc_limit_judge(limit, result).kept != SC_NO)
      continue;
    report_add(out, "%s%s.%s", first ? "" : " ", limit->section->key, limit->field->key);
    first = false;
  }
}

const char *report_log_verdict(enum sc_truth kept)
{
  return kept == SC_YES ? "kept" : kept == SC_NO ? "failed" : "open";
}

enum sc_error sc_log_csv(struct sc_log *log, double start_s, const char *utc,
                         const struct sc_result *result, char **text)
{
  struct report_buffer out = {0};
  report_log_count(log, result);
  report_add(&out, "%.6f,%.6f,%s", start_s, result->capture.duration_s, utc != NULL ? utc : "");
  for (size_t i = 0; i < log->count; i++) {
    struct sc_value value = sc_field_value(log->columns[i].field, result);
    add_cell(&out, &value);
  }
  if (log->limits != NULL)
    add_verdict(&out, log, result);
  report_add(&out, "\r\n");
  *text = report_take(&out);
  return *text != NULL ? SC_OK : SC_NO_MEMORY;
}

static void summarise_column(struct report_buffer *out, const struct sc_log *log, size_t i)
{
  const struct sc_log_tally *tally = &log->tallies[i];
  const struct sc_field *field = log->columns[i].field;
  const char *symbol = sc_unit_names(field->unit)->symbol;
  report_add(out, "%s.%s: measured in %" PRIu64 " of %" PRIu64, log->columns[i].section->key,
             field->key, tally->measured, log->lines);
  if (tally->measured > 0 && isfinite(tally->least))
    report_add(out, ", from %s to %s %s, mean %s",
               common_number(tally->least, field->decimals, false).text,
               common_number(tally->most, field->decimals, false).text, symbol,
               common_number(tally->sum / (double)tally->measured, field->decimals, false).text);
  report_add(out, "\n");
}

enum sc_error sc_log_summary(const struct sc_log *log, char **text)
{
  struct report_buffer out = {0};
  if (log->lines == 0) {
    report_add(&out, "no interval was measured: nothing came in\n");
    *text = report_take(&out);
    return *text != NULL ? SC_OK : SC_NO_MEMORY;
  }
  report_add(&out, "%" PRIu64 " interval%s measured", log->lines, log->lines == 1 ? "" : "s");
  if (log->limits != NULL)
    report_add(&out, "; %" PRIu64 " failed a limit, %" PRIu64 " left one open", log->failed_lines,
               log->open_lines);
  report_add(&out, "\n");
  if (log->unmeasured_lines > 0)
    report_add(&out, "%" PRIu64 " of them not measurable, the first because %s\n",
               log->unmeasured_lines, log->unmeasured_why);
  for (size_t i = 0; i < log->count; i++)
    summarise_column(&out, log, i);
  for (size_t i = 0; log->limits != NULL && i < log->limits->count; i++) {
    const struct sc_limit *limit = &log->limits->limits[i];
    if (log->failures[i] + log->open[i] > 0)
      report_add(&out, "limit of %s.%s: failed in %" PRIu64 ", open in %" PRIu64 "\n",
                 limit->section->key, limit->field->key, log->failures[i], log->open[i]);
  }
  *text = report_take(&out);
  return *text != NULL ? SC_OK : SC_NO_MEMORY;
}
