/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* `sidecomb plot`: a capture measured, and one of its spectra drawn into a file. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/analysis.h>
#include <sidecomb/file.h>
#include <sidecomb/plot.h>

#include "cli/capture.h"
#include "cli/command.h"
#include "cli/output.h"
#include "cli/progress.h"
#include "cli/second.h"
#include "cli/yardsticks.h"

/* Shown of the air to either side of the carrier, and of the composite, unless the user says. */
static const double channel_half_hz = 120e3, composite_top_hz = 100e3;
/* A resolution of the span's 1200th part: the paper has some 2000 columns. */
static const double parts = 1200;

/* The capture that --against names. */
struct second {
  struct cli_settings settings;
  struct cli_capture capture;
  struct sc_result result;
  struct sc_sight *sight;
  struct sc_trace trace;
  struct sc_plot_other other;
  struct sc_message message;
};

struct work {
  const struct cli_settings *settings;
  struct cli_yardsticks yardsticks;
  struct cli_capture capture;
  struct sc_result result;
  struct sc_plot plot;
  struct second *second; /* NULL: none */
  struct sc_message message;
};

/* Numbers instead of a picture. */
static bool is_table(const char *path)
{
  size_t length = strlen(path);
  return length > 4 && strcmp(path + length - 4, ".csv") == 0;
}

static enum sc_error check(const struct cli_settings *settings, enum sc_plot_format *format,
                           struct sc_message *message)
{
  const char *path = settings->compose.file.path;
  if (path == NULL)
    return sc_fail(message, SC_BAD_ARGUMENT, "plot: say where to with --out FILE");
  if (!is_table(path) && !sc_plot_format(path, format))
    return sc_fail(message, SC_BAD_ARGUMENT,
                   "--out %.200s: give a name that ends in .svg, .png, .pdf or .csv", path);
  if (!settings->compose.replace && sc_file_exists(path))
    return sc_fail(message, SC_WRITE_FAILED,
                   "%.200s: is there already; name another file, or say --replace", path);
  if (settings->emission.mask_count > 1)
    return sc_fail(message, SC_BAD_ARGUMENT,
                   "--mask: a plot has one; its resolution is the plot's");
  if (settings->emission.mask_count > 0 && settings->plot.rbw_hz > 0)
    return sc_fail(message, SC_BAD_ARGUMENT, "--rbw: with --mask the resolution is the mask's");
  return SC_OK;
}

/* What is shown when nobody says: the first that the capture has. */
static enum sc_sight_of choose(const struct cli_settings *settings, enum sc_kind kind)
{
  if (settings->plot.view > 0)
    return (enum sc_sight_of)(settings->plot.view - 1);
  return kind == SC_KIND_IQ          ? SC_SIGHT_AIR
         : kind == SC_KIND_COMPOSITE ? SC_SIGHT_COMPOSITE
                                     : SC_SIGHT_AUDIO;
}

static void place(const struct work *work, struct sc_plot *plot)
{
  const struct cli_plot *wanted = &work->settings->plot;
  const struct sc_carrier *carrier = &work->result.carrier;
  double half = plot->info->sample_rate_hz / 2;
  bool air = plot->of == SC_SIGHT_AIR, whole = work->settings->emission.mask_count > 0;
  double low = air ? -half : 0, high = half;
  plot->origin_hz = air && carrier->offset_hz.why == NULL ? carrier->offset_hz.value : 0;
  if (plot->of == SC_SIGHT_COMPOSITE)
    high = fmin(high, composite_top_hz);
  plot->low_hz = low;
  plot->high_hz = high;
  if (wanted->span_hz > 0 || !isnan(wanted->middle_hz)) {
    double span = wanted->span_hz > 0 ? wanted->span_hz : air ? 2 * channel_half_hz : high - low;
    double middle = !isnan(wanted->middle_hz) ? wanted->middle_hz : air ? 0 : (low + high) / 2;
    plot->low_hz = plot->origin_hz + middle - span / 2;
    plot->high_hz = plot->low_hz + span;
  } else if (air && !whole && carrier->offset_hz.why == NULL) {
    plot->low_hz = plot->origin_hz - channel_half_hz;
    plot->high_hz = plot->origin_hz + channel_half_hz;
  }
  plot->low_hz = fmax(plot->low_hz, low);
  plot->high_hz = fmin(plot->high_hz, high);
}

static double channel_of(const struct sc_result *result)
{
  const struct sc_quantity *offset = &result->carrier.offset_hz;
  return offset->why == NULL ? offset->value : (double)NAN;
}

/* 0: all that was read. */
static double carried_s(const struct sc_passages *passages)
{
  double seconds = 0;
  for (size_t i = 0; passages != NULL && i < passages->count; i++)
    seconds += passages->at[i].to_s - passages->at[i].from_s;
  return seconds;
}

/* What the result was measured over. Frames that are missing would shift it. */
static const struct sc_passages *passages_of(const struct sc_result *result)
{
  return result->capture.gaps == 0 ? &result->capture.carried : NULL;
}

static struct sc_sight_settings sight_settings(const struct work *work)
{
  const struct sc_plot *plot = &work->plot;
  double span = plot->high_hz - plot->low_hz, wanted = work->settings->plot.rbw_hz;
  struct sc_sight_settings settings = {.of = plot->of,
                                       .centre_hz = (plot->low_hz + plot->high_hz) / 2,
                                       .span_hz = span,
                                       .rbw_hz = wanted > 0 ? wanted : span / parts,
                                       .window = SC_WINDOW_BLACKMAN_HARRIS,
                                       .channel_hz = channel_of(&work->result),
                                       .expected = work->settings->plot.expected,
                                       .noise_dbfs_hz = sc_sight_noise_dbfs_hz(&work->result),
                                       .passages = passages_of(&work->result)};
  if (plot->mask != NULL) {
    settings.rbw_hz = plot->mask->resolution_hz;
    settings.window = SC_WINDOW_FLAT_TOP;
  }
  return settings;
}

static enum sc_error measure(struct cli_capture *capture, struct sc_result *result,
                             struct sc_message *message)
{
  struct cli_progress progress = {0};
  const struct sc_source_info *info = sc_source_info(capture->source);
  if (info->live)
    return sc_fail(message, SC_UNSUPPORTED,
                   "%s: a plot reads its capture twice; save it to a file first", info->name);
  enum sc_error error = sc_analyse_source(capture->source, &capture->analysis, cli_progress_show,
                                          &progress, result, message);
  cli_progress_clear(&progress);
  return error;
}

static enum sc_error look(struct cli_capture *capture, const struct sc_sight_settings *settings,
                          struct sc_sight **sight, struct sc_message *message)
{
  struct cli_progress progress = {0};
  enum sc_error error =
      sc_sight_read(capture->source, settings, cli_progress_show, &progress, sight, message);
  cli_progress_clear(&progress);
  return error;
}

/* ---- a second capture */

static enum sc_error refuse_unit(struct work *work, struct sc_sight_scale scale)
{
  return sc_fail(&work->second->message, SC_UNSUPPORTED,
                 "--against: the levels of %.100s are %s, which cannot be set beside the first's",
                 work->second->result.capture.info.name, scale.meaning);
}

static enum sc_error look_at_second(struct work *work)
{
  struct second *second = work->second;
  const struct sc_plot *plot = &work->plot;
  struct sc_sight_settings settings = sight_settings(work);
  const struct sc_source_info *info = sc_source_info(second->capture.source);
  enum sc_error error = measure(&second->capture, &second->result, &second->message);
  if (error != SC_OK)
    return error;
  struct sc_sight_scale own =
      sc_sight_scale(plot->of, info->kind, plot->full_scale_khz, &work->result);
  struct sc_sight_scale scale =
      sc_sight_scale(plot->of, info->kind, plot->full_scale_khz, &second->result);
  if (strcmp(own.unit, scale.unit) != 0)
    return refuse_unit(work, scale);
  double channel_hz = channel_of(&second->result);
  double shift_hz =
      plot->of == SC_SIGHT_AIR && isfinite(channel_hz) ? channel_hz - plot->origin_hz : 0;
  settings.centre_hz += shift_hz;
  settings.channel_hz = channel_hz;
  settings.passages = passages_of(&second->result);
  settings.expected = false;
  error = look(&second->capture, &settings, &second->sight, &second->message);
  if (error != SC_OK)
    return error;
  sc_sight_trace(second->sight, &second->trace);
  second->other = (struct sc_plot_other){info->name, &second->trace, shift_hz, scale.offset_db};
  return SC_OK;
}

static enum sc_error take_second(struct work *work)
{
  struct cli_settings first = *work->settings;
  first.emission.mask_count = 0; /* the first is judged alone */
  work->second = calloc(1, sizeof *work->second);
  if (work->second == NULL)
    return sc_fail(&work->message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  struct second *second = work->second;
  enum sc_error error = cli_second_open(&first, work->plot.info->kind, &second->settings,
                                        &second->capture, &second->message);
  if (error == SC_OK)
    error = look_at_second(work);
  if (error != SC_OK)
    work->message = second->message;
  else
    work->plot.other = &second->other;
  return error;
}

static void drop_second(struct second *second)
{
  if (second == NULL)
    return;
  sc_sight_destroy(second->sight);
  sc_result_clear(&second->result);
  cli_capture_close(&second->capture);
  free(second);
}

/* ---- the work */

static enum sc_error compose(const struct sc_plot *plot, const char *path,
                             enum sc_plot_format format, unsigned char **bytes, size_t *size,
                             struct sc_message *message)
{
  char *text;
  if (!is_table(path))
    return sc_plot_make(plot, format, bytes, size, message);
  enum sc_error error = sc_plot_csv(plot, &text);
  *bytes = (unsigned char *)text;
  *size = error == SC_OK ? strlen(text) : 0;
  return error;
}

static enum sc_error draw(struct work *work, enum sc_plot_format format)
{
  const struct cli_settings *settings = work->settings;
  struct sc_plot *plot = &work->plot;
  struct sc_sight_settings seen = sight_settings(work);
  struct sc_sight *sight;
  enum sc_error error = look(&work->capture, &seen, &sight, &work->message);
  if (error == SC_OK && settings->against_path != NULL)
    error = take_second(work);
  struct sc_trace trace, expected;
  unsigned char *bytes = NULL;
  size_t size;
  if (error == SC_OK) {
    sc_sight_trace(sight, &trace);
    sc_sight_expected(sight, &expected);
    plot->trace = &trace;
    plot->expected = &expected;
    error = compose(plot, settings->compose.file.path, format, &bytes, &size, &work->message);
  }
  sc_sight_destroy(sight);
  if (error == SC_OK)
    error = sc_file_save(settings->compose.file.path, bytes, size, settings->compose.replace,
                         &work->message);
  free(bytes);
  return error;
}

struct reach {
  double low, high; /* hertz on the plot's axis */
  const char *from;
};

static struct reach reach_of(const struct sc_plot *plot)
{
  const bool air = plot->of == SC_SIGHT_AIR;
  const double half = plot->info->sample_rate_hz / 2;
  return (struct reach){.low = air ? -half - plot->origin_hz : 0,
                        .high = plot->of == SC_SIGHT_COMPOSITE ? fmin(half, composite_top_hz)
                                                               : half - plot->origin_hz,
                        .from = air ? " from the carrier" : ""};
}

static enum sc_error refuse_beyond(struct work *work)
{
  const struct reach reach = reach_of(&work->plot);
  return sc_fail(&work->message, SC_BAD_ARGUMENT,
                 "--middle %.10g: nothing of the spectrum of %s is within that span: it reaches "
                 "from %.7g to %.7g Hz%s",
                 work->settings->plot.middle_hz, work->plot.info->name, reach.low, reach.high,
                 reach.from);
}

static void tell_narrowed(struct work *work)
{
  const double drawn = work->plot.high_hz - work->plot.low_hz,
               wanted = work->settings->plot.span_hz;
  const struct reach reach = reach_of(&work->plot);
  if (!(wanted > drawn + 0.5))
    return;
  sc_fail(&work->message, SC_OK,
          "--span %.10g: %.10g Hz are drawn, as the spectrum of %s reaches from %.7g to %.7g Hz%s",
          wanted, drawn, work->plot.info->name, reach.low, reach.high, reach.from);
  cli_complain(work->message.text);
}

static enum sc_error make(struct work *work, enum sc_plot_format format)
{
  const struct cli_settings *settings = work->settings;
  const struct sc_source_info *info = sc_source_info(work->capture.source);
  enum sc_sight_of of = choose(settings, info->kind);
  if (!sc_sight_offered(of, info->kind))
    return sc_fail(&work->message, SC_UNSUPPORTED, "--view: a capture of %s has no spectrum '%s'",
                   sc_kind_name(info->kind), sc_sight_name(of));
  if (of != SC_SIGHT_AIR && settings->emission.mask_count > 0)
    return sc_fail(&work->message, SC_BAD_ARGUMENT, "--mask: only for the spectrum on air");
  if (of != SC_SIGHT_AIR && settings->plot.expected)
    return sc_fail(&work->message, SC_BAD_ARGUMENT, "--expected: only for the spectrum on air");
  enum sc_error error = measure(&work->capture, &work->result, &work->message);
  if (error != SC_OK)
    return error;
  work->plot = (struct sc_plot){
      .of = of,
      .info = info,
      .result = &work->result,
      .full_scale_khz = settings->full_scale_khz,
      .from_s = settings->source.start_s,
      .to_s = settings->source.start_s + work->result.capture.duration_s,
      .carried_s = carried_s(passages_of(&work->result)),
      .top_db = (double)NAN,
      .bottom_db = (double)NAN,
      .rows = settings->lines_given ? settings->lines == 0 ? SC_LISTED_MAX : settings->lines : 0};
  if (settings->emission.mask_count > 0) {
    work->plot.mask = &work->yardsticks.masks[0];
    work->plot.highest = work->plot.mask->max_hold;
  }
  place(work, &work->plot);
  if (!(work->plot.high_hz > work->plot.low_hz))
    return refuse_beyond(work);
  const enum sc_error drawn = draw(work, format);
  if (drawn == SC_OK)
    tell_narrowed(work);
  return drawn;
}

static enum cli_status finish(struct work *work, enum sc_error error)
{
  if (error != SC_OK)
    return cli_complain(work->message.text[0] != '\0' ? work->message.text : sc_error_text(error));
  enum cli_status status = cli_judge(&work->result, NULL);
  if (work->result.unmeasured == NULL)
    return status;
  sc_fail(&work->message, SC_OK, "%s: drawn, but not measurable: %s",
          work->result.capture.info.name, work->result.unmeasured);
  cli_complain(work->message.text);
  return cli_graver(status, CLI_NOT_MEASURED);
}

enum cli_status cli_run_plot(const struct cli_settings *settings)
{
  enum sc_plot_format format;
  struct work *work = calloc(1, sizeof *work);
  if (work == NULL)
    return cli_complain(sc_error_text(SC_NO_MEMORY));
  work->settings = settings;
  enum sc_error error = check(settings, &format, &work->message);
  if (error == SC_OK)
    error = cli_yardsticks_read(settings, &work->yardsticks, &work->message);
  if (error == SC_OK)
    error = cli_capture_open(settings, &work->yardsticks, &work->capture, &work->message);
  if (error == SC_OK)
    error = make(work, format);
  enum cli_status status = finish(work, error);
  drop_second(work->second);
  cli_capture_close(&work->capture);
  sc_result_clear(&work->result);
  free(work);
  return status;
}
