/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* `sidecomb report`: a capture read to its end, and what was measured on standard output. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <stdlib.h>

#include <sidecomb/analysis.h>
#include <sidecomb/report.h>

#include "cli/command.h"
#include "cli/measure.h"
#include "cli/output.h"
#include "cli/yardsticks.h"

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
  return cli_print(error, text, settings->json ? "\n" : "");
}

static enum cli_status judge(const struct sc_result *result, const struct sc_limits *limits)
{
  enum cli_status status = cli_judge(result, limits);
  struct sc_message message;
  if (result->unmeasured == NULL)
    return status;
  sc_fail(&message, SC_OK, "%s: not measurable: %s", result->capture.info.name, result->unmeasured);
  cli_complain(message.text);
  return status == CLI_BEYOND_LIMIT ? status : CLI_NOT_MEASURED;
}

static enum cli_status report(const struct cli_settings *settings,
                              const struct cli_yardsticks *yardsticks, struct sc_result *result)
{
  struct sc_message message = {""};
  enum sc_error error = cli_measure(settings, yardsticks, result, &message);
  if (error != SC_OK)
    return cli_complain(message.text[0] != '\0' ? message.text : sc_error_text(error));
  enum cli_status status = print(result, settings, yardsticks->limits);
  return status == CLI_MEASURED ? judge(result, yardsticks->limits) : status;
}

enum cli_status cli_run_report(const struct cli_settings *settings)
{
  static struct cli_yardsticks yardsticks;
  struct sc_message message = {""};
  if (cli_yardsticks_read(settings, &yardsticks, &message) != SC_OK)
    return cli_complain(message.text);
  struct sc_result *result = calloc(1, sizeof *result);
  if (result == NULL)
    return cli_complain(sc_error_text(SC_NO_MEMORY));
  enum cli_status status = report(settings, &yardsticks, result);
  sc_result_clear(result);
  free(result);
  return status;
}
