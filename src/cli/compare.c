/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* `sidecomb compare`: captures measured one after the other, and set side by side. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <stdlib.h>

#include <sidecomb/analysis.h>
#include <sidecomb/compare.h>

#include "cli/command.h"
#include "cli/measure.h"
#include "cli/output.h"

static enum cli_status measure_all(const struct cli_settings *settings, struct sc_result *results)
{
  const struct cli_yardsticks none = {.limits = NULL};
  enum cli_status status = CLI_MEASURED;
  for (size_t i = 0; i < settings->capture_count; i++) {
    struct cli_settings one = *settings;
    struct sc_message message = {""};
    one.source.path = settings->captures[i];
    enum sc_error error = cli_measure(&one, &none, &results[i], &message);
    if (error != SC_OK)
      return cli_complain(message.text[0] != '\0' ? message.text : sc_error_text(error));
    if (results[i].unmeasured == NULL)
      continue;
    sc_fail(&message, SC_OK, "%s: not measurable: %s", results[i].capture.info.name,
            results[i].unmeasured);
    cli_complain(message.text);
    status = CLI_NOT_MEASURED;
  }
  return status;
}

static enum cli_status refuse_kinds(const struct sc_result *results, size_t count)
{
  struct sc_message message;
  size_t other = 1;
  while (other + 1 < count && results[other].capture.info.kind == results[0].capture.info.kind)
    other++;
  sc_fail(&message, SC_BAD_ARGUMENT,
          "%.100s holds %s and %.100s %s: name captures of one kind, or say --as",
          results[0].capture.info.name, sc_kind_name(results[0].capture.info.kind),
          results[other].capture.info.name, sc_kind_name(results[other].capture.info.kind));
  return cli_complain(message.text);
}

static enum cli_status print(const struct cli_settings *settings, const struct sc_result *results)
{
  const struct sc_result *list[SC_COMPARED_MAX];
  for (size_t i = 0; i < settings->capture_count; i++)
    list[i] = &results[i];
  struct sc_comparison comparison;
  enum sc_error error = sc_compare(list, settings->capture_count, &comparison);
  if (error == SC_BAD_ARGUMENT)
    return refuse_kinds(results, settings->capture_count);
  if (error != SC_OK)
    return cli_complain(sc_error_text(error));
  const struct sc_report_settings layout = {
      .width = (unsigned)cli_width(), .utf8 = cli_utf8(), .lines_max = settings->lines};
  char *text;
  error = settings->json ? sc_comparison_json(&comparison, &text)
                         : sc_comparison_text(&comparison, &layout, &text);
  sc_comparison_clear(&comparison);
  return cli_print(error, text, settings->json ? "\n" : "");
}

enum cli_status cli_run_compare(const struct cli_settings *settings)
{
  struct sc_result *results = calloc(settings->capture_count, sizeof *results);
  if (results == NULL)
    return cli_complain(sc_error_text(SC_NO_MEMORY));
  enum cli_status status = measure_all(settings, results);
  if (status != CLI_FAILED) {
    enum cli_status printed = print(settings, results);
    status = printed == CLI_MEASURED ? status : printed;
  }
  for (size_t i = 0; i < settings->capture_count; i++)
    sc_result_clear(&results[i]);
  free(results);
  return status;
}
