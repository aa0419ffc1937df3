/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* `sidecomb report`: a capture read to its end, and what was measured on standard output. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>

#include <sidecomb/analysis.h>
#include <sidecomb/report.h>

#include "cli/capture.h"
#include "cli/command.h"
#include "cli/file.h"
#include "cli/output.h"
#include "cli/progress.h"

static enum sc_error analyse(const struct cli_settings *settings, struct sc_result *result,
                             struct sc_message *message)
{
  struct sc_source *source;
  struct sc_analysis_settings analysis;
  enum sc_error error = cli_open(settings, &source, &analysis, message);
  if (error != SC_OK)
    return error;
  struct cli_progress progress = {0};
  if (sc_source_info(source)->live)
    cli_signal_catch(SIGINT); /* a live capture is reported as far as it went */
  error = sc_analyse_source(source, &analysis, cli_progress_show, &progress, result, message);
  cli_progress_clear(&progress);
  sc_source_close(source);
  return error;
}

static enum sc_error compose(const struct sc_result *result, const struct cli_settings *settings,
                             const struct sc_limits *limits, char **text)
{
  struct sc_report_settings layout = {.width = (unsigned)cli_width(),
                                      .utf8 = cli_utf8(),
                                      .lines_max = settings->lines,
                                      .limits = limits};
  return settings->json ? sc_report_json(result, &layout, text)
                        : sc_report_text(result, &layout, text);
}

static enum cli_status print(const struct sc_result *result, const struct cli_settings *settings,
                             const struct sc_limits *limits)
{
  char *text;
  enum sc_error error = compose(result, settings, limits, &text);
  if (error != SC_OK)
    return cli_complain(sc_error_text(error));
  enum cli_status status = cli_write(text);
  free(text);
  if (status == CLI_MEASURED && settings->json)
    status = cli_write("\n");
  return status;
}

/* A failed limit weighs more than one that stays open, whatever else could not be measured. */
static enum cli_status judge_limits(const struct sc_result *result, const struct sc_limits *limits)
{
  enum cli_status status = CLI_MEASURED;
  for (size_t i = 0; limits != NULL && i < limits->count; i++) {
    enum sc_truth kept = sc_limit_judge(&limits->limits[i], result).kept;
    if (kept == SC_NO)
      return CLI_BEYOND_LIMIT;
    if (kept == SC_UNKNOWN)
      status = CLI_NOT_MEASURED;
  }
  return status;
}

static enum cli_status judge(const struct sc_result *result, const struct sc_limits *limits)
{
  enum cli_status status = judge_limits(result, limits);
  struct sc_message message;
  if (result->unmeasured == NULL)
    return status;
  sc_fail(&message, SC_OK, "%s: not measurable: %s", result->capture.info.name, result->unmeasured);
  cli_complain(message.text);
  return status == CLI_BEYOND_LIMIT ? status : CLI_NOT_MEASURED;
}

static enum cli_status report(const struct cli_settings *settings, const struct sc_limits *limits,
                              struct sc_result *result)
{
  struct sc_message message = {""};
  enum sc_error error = analyse(settings, result, &message);
  if (error != SC_OK)
    return cli_complain(message.text[0] != '\0' ? message.text : sc_error_text(error));
  enum cli_status status = print(result, settings, limits);
  return status == CLI_MEASURED ? judge(result, limits) : status;
}

static enum sc_error read_limits(const char *path, struct sc_limits *limits,
                                 struct sc_message *message)
{
  char *text;
  enum sc_error error = cli_read_text(path, &text, message);
  if (error != SC_OK)
    return error;
  error = sc_limits_parse(text, path, limits, message);
  free(text);
  return error;
}

enum cli_status cli_run_report(const struct cli_settings *settings)
{
  static struct sc_limits limits;
  struct sc_message message = {""};
  bool limited = settings->limits_path != NULL;
  if (limited && read_limits(settings->limits_path, &limits, &message) != SC_OK)
    return cli_complain(message.text);
  struct sc_result *result = calloc(1, sizeof *result);
  if (result == NULL)
    return cli_complain(sc_error_text(SC_NO_MEMORY));
  enum cli_status status = report(settings, limited ? &limits : NULL, result);
  sc_result_clear(result);
  free(result);
  return status;
}
