/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* `sidecomb compose`: a scenario from a file and the command line, played into a capture. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <sidecomb/compose.h>

#include "cli/command.h"
#include "cli/output.h"
#include "cli/progress.h"
#include "report/layout.h"

static const char caution[] =
    "Caution: fed into a transmitter this is radiated. Work into a screened load; radiating needs "
    "a "
    "licence or a named exemption nearly everywhere. Local rules and licensed practice decide.";

/* ---- the scenario */

static void take_options(const struct cli_compose *compose, struct sc_scenario *scenario)
{
  if (compose->what != SC_KIND_UNDECIDED)
    scenario->what = compose->what == SC_KIND_IQ          ? SC_WHAT_IQ
                     : compose->what == SC_KIND_COMPOSITE ? SC_WHAT_COMPOSITE
                                                          : SC_WHAT_AUDIO;
  if (compose->rate_hz > 0)
    scenario->rate_hz = compose->rate_hz;
  if (compose->seconds > 0)
    scenario->seconds = compose->seconds;
  if (!isnan(compose->seed))
    scenario->seed = (uint64_t)compose->seed;
}

static enum sc_error make_scenario(const struct cli_compose *compose, struct sc_scenario *scenario,
                                   struct sc_message *message)
{
  enum sc_error error = SC_OK;
  sc_scenario_init(scenario);
  if (compose->ready != NULL)
    error = sc_scenario_ready(compose->ready, scenario, message);
  if (error == SC_OK && compose->scenario != NULL)
    error = sc_scenario_read(compose->scenario, scenario, message);
  for (size_t i = 0; error == SC_OK && i < compose->assignment_count; i++)
    error = sc_scenario_assign(compose->assignments[i], scenario, message);
  if (error == SC_OK)
    take_options(compose, scenario);
  return error;
}

/* ---- what was made, in words */

static void print_clipped(const struct sc_compose_result *result, unsigned floats)
{
  const double all = (double)result->frames * floats;
  if (result->clipped == 0)
    fputs("Nothing was clipped.\n", stderr);
  else
    fprintf(stderr,
            "%" PRIu64 " of %.0f samples (%.3g %%) did not fit and were held at full scale.\n",
            result->clipped, all, 100 * (double)result->clipped / all);
}

static void print_removed(double share)
{
  const bool hardly = share < 1e-5;
  fprintf(stderr, ", then band-limited, which removed %s%.3g %% of the power",
          hardly ? "less than " : "", hardly ? 0.001 : 100 * share);
}

static void print_modulation(const struct sc_generator_info *info)
{
  if (isfinite(info->modulation_rate_hz))
    fprintf(stderr, "Made at %.7g MS/s", info->modulation_rate_hz / 1e6);
  if (isfinite(info->removed_db))
    print_removed(-expm1(info->removed_db * 0.230258509299404568));
  if (isfinite(info->modulation_rate_hz))
    fputs(".\n", stderr);
  if (isfinite(info->peak_khz))
    fprintf(stderr, "Peak deviation %.4g kHz.\n", info->peak_khz);
}

static void print_wrapped(const char *words)
{
  struct report_buffer out = {0};
  report_wrap(&out, words, 0, 0, cli_width());
  char *text = report_take(&out);
  fputs(text != NULL ? text : words, stderr);
  free(text);
}

/* A scenario for IQ may be made as a composite, which has no air. */
static void print_left_out(const struct sc_scenario *scenario)
{
  static struct sc_annotation left_out[SC_TRUTH_MAX];
  const size_t count = sc_scenario_left_out(scenario, left_out);
  struct report_buffer out = {0};
  if (count == 0)
    return;
  report_add(&out, "Left out, as %s does not hold it: %s",
             scenario->what == SC_WHAT_COMPOSITE ? "a composite" : "audio", left_out[0].text);
  if (count > 1)
    report_add(&out, " and %zu more", count - 1);
  report_add(&out, ".");
  char *words = report_take(&out);
  print_wrapped(words != NULL ? words : left_out[0].text);
  free(words);
}

static void summarise(const struct sc_scenario *scenario, const struct cli_compose *compose,
                      const struct sc_compose_result *result)
{
  static const char *const kinds[] = {"IQ", "composite", "audio"};
  const bool piped = strcmp(compose->file.path, "-") == 0;
  struct sc_message line; /* clean, whatever the file is called */
  sc_fail(&line, SC_OK, "%.200s: %s, %s, %" PRIu64 " frames at %.10g S/s, %.6g s.",
          piped ? "standard output" : compose->file.path, kinds[scenario->what], result->format,
          result->frames, scenario->rate_hz, (double)result->frames / scenario->rate_hz);
  fprintf(stderr, "%s\n", line.text);
  print_modulation(&result->info);
  print_clipped(result, scenario->what == SC_WHAT_COMPOSITE ? 1 : 2);
  print_left_out(scenario);
  if (scenario->what != SC_WHAT_IQ)
    print_wrapped(caution);
}

/* ---- the work */

static enum cli_status make(const struct sc_scenario *scenario, const struct cli_compose *compose)
{
  struct sc_compose_settings file = compose->file;
  struct sc_compose_result result;
  struct sc_message message = {""};
  struct cli_progress progress = {0};
  file.bits = (unsigned)compose->bits;
  file.keep = !compose->replace;
  cli_signals_catch();
  const enum sc_error error =
      sc_compose(scenario, &file, cli_progress_show, &progress, &result, &message);
  cli_progress_clear(&progress);
  if (cli_signal_caught() != 0 && error != SC_OK)
    return cli_end_by_signal();
  if (error != SC_OK)
    return cli_complain(message.text[0] != '\0' ? message.text : sc_error_text(error));
  summarise(scenario, compose, &result);
  return CLI_MEASURED;
}

static enum cli_status print(const struct sc_scenario *scenario)
{
  char *text;
  const enum sc_error error = sc_scenario_print(scenario, &text);
  if (error != SC_OK)
    return cli_complain(sc_error_text(error));
  const enum cli_status status = cli_write(text);
  free(text);
  return status;
}

/* What is wrong with the options as a whole; NULL: nothing. */
static const char *wrong(const struct cli_compose *compose)
{
  const char *path = compose->file.path;
  if (path == NULL)
    return compose->print ? NULL
                          : "name what to write with --out FILE, or '-' for standard output; "
                            "'sidecomb compose --help' shows more";
  if (compose->file.floats && compose->bits > 0)
    return "--float and --bits: a sample is one or the other; floats have 32 bits";
  if (strcmp(path, "-") != 0)
    return NULL;
  if (compose->print)
    return "--print and --out -: both want standard output";
  if (isatty(STDOUT_FILENO))
    return "--out -: standard output is a terminal; samples want a pipe or a file";
  return NULL;
}

enum cli_status cli_run_compose(const struct cli_settings *settings)
{
  const struct cli_compose *compose = &settings->compose;
  struct sc_message message = {""};
  if (wrong(compose) != NULL)
    return cli_complain(wrong(compose));
  struct sc_scenario *scenario = malloc(sizeof *scenario);
  if (scenario == NULL)
    return cli_complain(sc_error_text(SC_NO_MEMORY));
  enum cli_status status = CLI_MEASURED;
  if (make_scenario(compose, scenario, &message) != SC_OK)
    status = cli_complain(message.text);
  if (status == CLI_MEASURED && compose->print)
    status = print(scenario);
  if (status == CLI_MEASURED && compose->file.path != NULL)
    status = make(scenario, compose);
  free(scenario);
  return status;
}
