/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* From what the user said to an open capture and the settings of its analysis. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "cli/capture.h"
#include "cli/progress.h"
#include "common/text.h"

/* By the choice of --deemphasis; the first is what holds without it. */
static const double deemphasis_us[] = {50, 0, 50, 75};

/* The offset from the centre that --carrier means; NAN: not given. */
static enum sc_error place_carrier(const struct cli_carrier *carrier,
                                   const struct sc_source_info *info, double *channel_hz,
                                   struct sc_message *message)
{
  *channel_hz = (double)NAN;
  if (!carrier->given)
    return SC_OK;
  if (info->kind != SC_KIND_IQ)
    return sc_fail(message, SC_BAD_ARGUMENT, "--carrier: %s holds %s, which has no carrier",
                   info->name, sc_kind_name(info->kind));
  double offset = carrier->is_offset ? carrier->hz : carrier->hz - info->centre_hz;
  double reach = info->sample_rate_hz / 2;
  if (fabs(offset) > reach)
    return sc_fail(message, SC_BAD_ARGUMENT,
                   "--carrier: %.10g Hz is outside %s, which reaches from %.10g to %.10g Hz; an "
                   "offset from the centre wants a sign, like +150k",
                   info->centre_hz + offset, info->name, info->centre_hz - reach,
                   info->centre_hz + reach);
  *channel_hz = offset;
  return SC_OK;
}

static enum sc_error check_scale(const struct cli_settings *settings,
                                 const struct sc_source_info *info, struct sc_message *message)
{
  if (settings->full_scale_khz == 0 || info->kind == SC_KIND_COMPOSITE)
    return SC_OK;
  return sc_fail(message, SC_BAD_ARGUMENT,
                 "--full-scale-khz: %s holds %s; only a captured composite needs a scale",
                 info->name, sc_kind_name(info->kind));
}

static struct sc_analysis_settings settings_of(const struct cli_settings *settings,
                                               const struct cli_yardsticks *yardsticks)
{
  return (struct sc_analysis_settings){.full_scale_khz = settings->full_scale_khz,
                                       .nominal_hz = settings->emission.nominal_hz,
                                       .raster_hz = settings->emission.raster_hz,
                                       .reference_hz = settings->emission.reference_hz,
                                       .masks = yardsticks->masks,
                                       .mask_count = settings->emission.mask_count,
                                       .full_scale_dbm_given =
                                           isfinite(settings->emission.full_scale_dbm),
                                       .full_scale_dbm = settings->emission.full_scale_dbm,
                                       .deemphasis_us = deemphasis_us[settings->deemphasis],
                                       .audio_path = settings->audio_path,
                                       .audio_keep = !settings->compose.replace,
                                       .rds_region = settings->rds_region,
                                       .rds_groups = (size_t)settings->rds_groups,
                                       .threads = (unsigned)settings->threads,
                                       .lines = true};
}

enum sc_error cli_source_open(const struct sc_source_options *options, struct sc_source **source,
                              struct sc_message *message)
{
  char name[PATH_MAX] = "standard input";
  if (isatty(STDERR_FILENO) && sc_source_waits(options)) {
    if (strcmp(options->path, "-") != 0)
      common_clean(name, sizeof name, options->path, strlen(options->path));
    fprintf(stderr, "%s: waiting for samples; Ctrl-C ends that\n", name);
  }
  return sc_source_open(options, source, message);
}

/* The baseline has the capture's type and rate where these are said, and is read as a whole. */
static enum sc_error read_baseline(const struct cli_settings *settings,
                                   const struct sc_source_info *info, struct cli_capture *capture,
                                   struct sc_message *message)
{
  if (settings->emission.baseline_path == NULL)
    return SC_OK;
  struct sc_source_options options = settings->source;
  struct cli_progress progress = {0};
  struct sc_source *source;
  options.path = settings->emission.baseline_path;
  options.sound = options.receiver = NULL;
  options.start_s = options.duration_s = 0;
  enum sc_error error = sc_source_open(&options, &source, message);
  if (error != SC_OK)
    return error;
  error = sc_baseline_read(source, capture->analysis.masks, capture->analysis.mask_count,
                           cli_progress_show, &progress, &capture->baseline, message);
  cli_progress_clear(&progress);
  sc_source_close(source);
  if (error == SC_OK)
    error = sc_baseline_check(capture->baseline, info, message);
  capture->analysis.baseline = capture->baseline;
  return error;
}

enum sc_error cli_capture_open(const struct cli_settings *settings,
                               const struct cli_yardsticks *yardsticks, struct cli_capture *capture,
                               struct sc_message *message)
{
  *capture = (struct cli_capture){.analysis = settings_of(settings, yardsticks)};
  enum sc_error error = cli_source_open(&settings->source, &capture->source, message);
  if (error != SC_OK)
    return error;
  const struct sc_source_info *info = sc_source_info(capture->source);
  error = place_carrier(&settings->carrier, info, &capture->analysis.channel_hz, message);
  if (error == SC_OK)
    error = check_scale(settings, info, message);
  if (error == SC_OK)
    error = read_baseline(settings, info, capture, message);
  if (error != SC_OK)
    cli_capture_close(capture);
  return error;
}

void cli_capture_close(struct cli_capture *capture)
{
  sc_source_close(capture->source);
  sc_baseline_destroy(capture->baseline);
  *capture = (struct cli_capture){.source = NULL};
}
