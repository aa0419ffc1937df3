/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Repeated measurements as JSON, one object a line. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/json_write.h"
#include "report/log_count.h"

enum { TIME_DECIMALS = 6, SUM_DECIMALS = 9 };

static enum sc_error finish(struct report_json *json, json_t *root, char **text)
{
  char *line = report_json_line(json, root);
  *text = NULL;
  if (line != NULL)
    *text = realloc(line, strlen(line) + 2);
  if (*text == NULL) {
    free(line);
    return SC_NO_MEMORY;
  }
  strcat(*text, "\n");
  return SC_OK;
}

static void put_limits(struct report_json *json, json_t *root, const struct sc_log *log,
                       const struct sc_result *result)
{
  json_t *failed = json_array();
  for (size_t i = 0; i < log->limits->count; i++) {
    const struct sc_limit *limit = &log->limits->limits[i];
    if (sc_limit_judge(limit, result).kept == SC_NO)
      report_json_append(json, failed,
                         json_sprintf("%s.%s", limit->section->key, limit->field->key));
  }
  report_json_put(json, root, "limits",
                  json_string(report_log_verdict(report_log_judge(log, result))));
  report_json_put(json, root, "failed", failed);
}

/* Columns of one section are members of its object, as in the report. */
static void put_column(struct report_json *json, json_t *root, const struct sc_section *section,
                       const struct sc_field *field, const struct sc_result *result)
{
  json_t *object = json_object_get(root, section->key);
  if (object == NULL) {
    object = json_object();
    report_json_put(json, root, section->key, object);
    report_json_put(json, object, "why", json_object());
  }
  report_json_field(json, object, json_object_get(object, "why"), field, result);
}

enum sc_error sc_log_json(struct sc_log *log, double start_s, const char *utc,
                          const struct sc_result *result, char **text)
{
  struct report_json json = {false};
  json_t *root = json_object();
  report_log_count(log, result);
  report_json_put(&json, root, "start_s", report_json_number(start_s, TIME_DECIMALS));
  report_json_put(&json, root, "duration_s",
                  report_json_number(result->capture.duration_s, TIME_DECIMALS));
  report_json_put(&json, root, "utc", utc != NULL ? json_string(utc) : json_null());
  for (size_t i = 0; i < log->count; i++)
    put_column(&json, root, log->columns[i].section, log->columns[i].field, result);
  if (log->limits != NULL)
    put_limits(&json, root, log, result);
  return finish(&json, root, text);
}

static void put_tally(struct report_json *json, json_t *columns, const struct sc_log *log, size_t i)
{
  const struct sc_log_tally *tally = &log->tallies[i];
  bool numbers = tally->measured > 0 && isfinite(tally->least);
  json_t *object = json_object();
  report_json_put(json, object, "key",
                  json_sprintf("%s.%s", log->columns[i].section->key, log->columns[i].field->key));
  report_json_put(json, object, "measured", json_integer((json_int_t)tally->measured));
  report_json_put(json, object, "least",
                  numbers ? report_json_number(tally->least, SUM_DECIMALS) : json_null());
  report_json_put(json, object, "most",
                  numbers ? report_json_number(tally->most, SUM_DECIMALS) : json_null());
  report_json_put(json, object, "mean",
                  numbers ? report_json_number(tally->sum / (double)tally->measured, SUM_DECIMALS)
                          : json_null());
  report_json_append(json, columns, object);
}

enum sc_error sc_log_summary_json(const struct sc_log *log, char **text)
{
  struct report_json json = {false};
  json_t *root = json_object(), *summary = json_object(), *columns = json_array();
  report_json_put(&json, summary, "intervals", json_integer((json_int_t)log->lines));
  report_json_put(&json, summary, "failed", json_integer((json_int_t)log->failed_lines));
  report_json_put(&json, summary, "open", json_integer((json_int_t)log->open_lines));
  for (size_t i = 0; i < log->count; i++)
    put_tally(&json, columns, log, i);
  report_json_put(&json, summary, "quantities", columns);
  report_json_put(&json, root, "summary", summary);
  return finish(&json, root, text);
}
