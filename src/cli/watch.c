/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* `sidecomb watch`: a capture measured interval by interval, one line each. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include <sidecomb/analysis.h>
#include <sidecomb/log.h>

#include "cli/capture.h"
#include "cli/command.h"
#include "cli/output.h"
#include "cli/progress.h"
#include "cli/yardsticks.h"

struct watching {
  struct sc_log log;
  struct cli_progress progress;
  bool json, live;
  enum cli_status status; /* of the output */
};

/* Of a live capture only: what a file holds was not measured now. */
static const char *now_utc(bool live, char *text, size_t size)
{
  struct tm parts;
  time_t now = time(NULL);
  if (!live || gmtime_r(&now, &parts) == NULL ||
      strftime(text, size, "%Y-%m-%dT%H:%M:%SZ", &parts) == 0)
    return NULL;
  return text;
}

static bool take(void *context, double start_s, const struct sc_result *result)
{
  struct watching *watching = context;
  char *text, stamp[32];
  const char *utc = now_utc(watching->live, stamp, sizeof stamp);
  cli_progress_clear(&watching->progress);
  enum sc_error error = watching->json ? sc_log_json(&watching->log, start_s, utc, result, &text)
                                       : sc_log_csv(&watching->log, start_s, utc, result, &text);
  watching->status = cli_print(error, text, "");
  return watching->status == CLI_MEASURED;
}

static bool progress(void *context, double share)
{
  struct watching *watching = context;
  return cli_progress_show(&watching->progress, share);
}

static enum cli_status print_heading(const struct watching *watching)
{
  char *text;
  if (watching->json)
    return CLI_MEASURED;
  enum sc_error error = sc_log_heading(&watching->log, &text);
  return cli_print(error, text, "");
}

static enum cli_status print_summary(const struct watching *watching)
{
  char *text;
  if (watching->json) {
    enum sc_error error = sc_log_summary_json(&watching->log, &text);
    return cli_print(error, text, "");
  }
  if (sc_log_summary(&watching->log, &text) != SC_OK)
    return cli_complain(sc_error_text(SC_NO_MEMORY));
  fputs(text, stderr);
  free(text);
  return CLI_MEASURED;
}

/* Of nothing, where an error says why that is: its line is enough. */
static bool is_told_by(enum sc_error error, const struct watching *watching)
{
  return error != SC_OK && watching->log.lines == 0 && !watching->json;
}

static enum cli_status verdict(const struct sc_log *log)
{
  if (log->failed_lines > 0)
    return CLI_BEYOND_LIMIT;
  return log->open_lines > 0 || log->lines == 0 ? CLI_NOT_MEASURED : CLI_MEASURED;
}

static enum cli_status watch(const struct cli_settings *settings, struct cli_capture *capture,
                             struct watching *watching)
{
  struct sc_message message = {""};
  const struct sc_intervals intervals = {settings->every_s, progress, take, watching};
  watching->status = print_heading(watching);
  if (watching->status != CLI_MEASURED)
    return watching->status;
  capture->analysis.lines = sc_log_needs_lines(&watching->log);
  watching->progress.source = capture->source;
  watching->progress.duration_s = settings->source.duration_s;
  cli_signals_catch();
  enum sc_error error =
      sc_analyse_intervals(capture->source, &capture->analysis, &intervals, &message);
  cli_progress_clear(&watching->progress);
  enum cli_status summary = watching->status;
  if (summary == CLI_MEASURED && !is_told_by(error, watching))
    summary = print_summary(watching);
  if (error != SC_OK)
    return cli_complain(message.text[0] != '\0' ? message.text : sc_error_text(error));
  return summary == CLI_MEASURED ? verdict(&watching->log) : summary;
}

enum cli_status cli_run_watch(const struct cli_settings *settings)
{
  static struct cli_yardsticks yardsticks;
  static struct watching watching;
  struct sc_message message = {""};
  struct cli_capture capture;
  if (cli_yardsticks_read(settings, &yardsticks, &message) != SC_OK ||
      cli_capture_open(settings, &yardsticks, &capture, &message) != SC_OK)
    return cli_complain(message.text);
  const struct sc_source_info *info = sc_source_info(capture.source);
  watching = (struct watching){.json = settings->json, .live = info->live};
  enum cli_status status;
  if (sc_log_begin(&watching.log, settings->keys, info->kind, yardsticks.limits, &message) == SC_OK)
    status = watch(settings, &capture, &watching);
  else
    status = cli_complain(message.text);
  cli_capture_close(&capture);
  return status;
}
