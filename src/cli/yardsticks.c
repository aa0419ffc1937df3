/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Limits and masks out of their files, and the status that they give a result. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "cli/file.h"
#include "cli/yardsticks.h"

/* The name of the limits that are built in, unless a file has it. */
static const char standard[] = "standard";

static enum sc_error read_limits(const char *path, struct sc_limits *limits,
                                 struct sc_message *message)
{
  char *text;
  if (strcmp(path, standard) == 0 && access(path, F_OK) != 0)
    return sc_limits_parse(sc_limits_standard(), path, limits, message);
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

enum sc_error cli_yardsticks_read(const struct cli_settings *settings,
                                  struct cli_yardsticks *yardsticks, struct sc_message *message)
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

/* A failure weighs more than what stays open. */
enum cli_status cli_graver(enum cli_status a, enum cli_status b)
{
  if (a == CLI_BEYOND_LIMIT || b == CLI_BEYOND_LIMIT)
    return CLI_BEYOND_LIMIT;
  return a == CLI_NOT_MEASURED ? a : b;
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

static enum cli_status judge_masks(const struct sc_result *result)
{
  enum cli_status status = CLI_MEASURED;
  for (size_t i = 0; i < result->mask_count; i++) {
    enum sc_truth pass = result->masks[i].pass;
    status = cli_graver(status, pass == SC_YES  ? CLI_MEASURED
                                : pass == SC_NO ? CLI_BEYOND_LIMIT
                                                : CLI_NOT_MEASURED);
  }
  return status;
}

enum cli_status cli_judge(const struct sc_result *result, const struct sc_limits *limits)
{
  return cli_graver(judge_limits(result, limits), judge_masks(result));
}
