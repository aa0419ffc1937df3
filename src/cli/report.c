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

/* What the user wants the capture to be judged by. */
struct yardsticks {
  struct sc_limits *limits; /* NULL: none were given */
  struct sc_limits read;
  struct sc_mask masks[SC_MASKS_MAX];
};

static enum sc_error analyse(const struct cli_settings *settings,
                             const struct yardsticks *yardsticks, struct sc_result *result,
                             struct sc_message *message)
{
  struct sc_source *source;
  struct sc_analysis_settings analysis;
  enum sc_error error = cli_open(settings, &source, &analysis, message);
  if (error != SC_OK)
    return error;
  analysis.masks = yardsticks->masks;
  analysis.mask_count = settings->emission.mask_count;
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

/* A failure weighs more than what stays open. */
static enum cli_status graver(enum cli_status a, enum cli_status b)
{
  if (a == CLI_BEYOND_LIMIT || b == CLI_BEYOND_LIMIT)
    return CLI_BEYOND_LIMIT;
  return a == CLI_NOT_MEASURED ? a : b;
}

static enum cli_status judge_masks(const struct sc_result *result)
{
  enum cli_status status = CLI_MEASURED;
  for (size_t i = 0; i < result->mask_count; i++) {
    enum sc_truth pass = result->masks[i].pass;
    status = graver(status, pass == SC_YES  ? CLI_MEASURED
                            : pass == SC_NO ? CLI_BEYOND_LIMIT
                                            : CLI_NOT_MEASURED);
  }
  return status;
}

static enum cli_status judge(const struct sc_result *result, const struct sc_limits *limits)
{
  enum cli_status status = graver(judge_limits(result, limits), judge_masks(result));
  struct sc_message message;
  if (result->unmeasured == NULL)
    return status;
  sc_fail(&message, SC_OK, "%s: not measurable: %s", result->capture.info.name, result->unmeasured);
  cli_complain(message.text);
  return status == CLI_BEYOND_LIMIT ? status : CLI_NOT_MEASURED;
}

static enum cli_status report(const struct cli_settings *settings,
                              const struct yardsticks *yardsticks, struct sc_result *result)
{
  struct sc_message message = {""};
  enum sc_error error = analyse(settings, yardsticks, result, &message);
  if (error != SC_OK)
    return cli_complain(message.text[0] != '\0' ? message.text : sc_error_text(error));
  enum cli_status status = print(result, settings, yardsticks->limits);
  return status == CLI_MEASURED ? judge(result, yardsticks->limits) : status;
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

static enum sc_error read_mask(const char *path, double power_w, struct sc_mask *mask,
                               struct sc_message *message)
{
  char *text;
  enum sc_error error = cli_read_text(path, &text, message);
  if (error != SC_OK)
    return error;
  error = sc_mask_parse(text, path, power_w, mask, message);
  free(text);
  return error;
}

static enum sc_error read_yardsticks(const struct cli_settings *settings,
                                     struct yardsticks *yardsticks, struct sc_message *message)
{
  enum sc_error error = SC_OK;
  if (settings->limits_path != NULL) {
    yardsticks->limits = &yardsticks->read;
    error = read_limits(settings->limits_path, yardsticks->limits, message);
  }
  const struct cli_emission *emission = &settings->emission;
  for (size_t i = 0; error == SC_OK && i < emission->mask_count; i++)
    error = read_mask(emission->mask_paths[i], emission->power_w, &yardsticks->masks[i], message);
  return error;
}

enum cli_status cli_run_report(const struct cli_settings *settings)
{
  static struct yardsticks yardsticks;
  struct sc_message message = {""};
  if (read_yardsticks(settings, &yardsticks, &message) != SC_OK)
    return cli_complain(message.text);
  struct sc_result *result = calloc(1, sizeof *result);
  if (result == NULL)
    return cli_complain(sc_error_text(SC_NO_MEMORY));
  enum cli_status status = report(settings, &yardsticks, result);
  sc_result_clear(result);
  free(result);
  return status;
}
