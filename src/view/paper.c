/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* From state and model to what a file holds. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "view/overlay.h"
#include "view/paper.h"
#include "view/words.h"

static size_t take_markers(const struct view_state *state, const struct view_model *model,
                           struct sc_plot_marker *markers)
{
  const struct view_pane *pane = view_state_shown(state);
  size_t count = 0;
  for (int m = 0; m < VIEW_MARKERS && count < SC_PLOT_MARKERS_MAX; m++) {
    char words[1024];
    struct sc_plot_marker *marker = &markers[count];
    if (!pane->markers[m].on)
      continue;
    view_words_marker(state, model, m, words, sizeof words);
    marker->hz = pane->markers[m].hz;
    snprintf(marker->name, sizeof marker->name, "%c", 'A' + m);
    const char *reading = words + strcspn(words, " ") + 1;
    bool cut = strlen(reading) >= sizeof marker->reading;
    snprintf(marker->reading, sizeof marker->reading, "%.*s%s", SC_PLOT_READING_LENGTH - 8, reading,
             cut ? " …" : "");
    count++;
  }
  return count;
}

static enum sc_sight_of sight_of(const struct view_state *state)
{
  return state->view == VIEW_AIR         ? SC_SIGHT_AIR
         : state->view == VIEW_COMPOSITE ? SC_SIGHT_COMPOSITE
                                         : SC_SIGHT_AUDIO;
}

static double origin(const struct view_state *state, const struct view_model *model)
{
  return state->view == VIEW_AIR && state->absolute ? -model->info->centre_hz
                                                    : view_model_origin(model, state->view);
}

struct sc_plot view_paper_plot(const struct view_state *state, const struct view_model *model,
                               struct sc_plot_marker *markers)
{
  const struct view_pane *pane = view_state_shown(state);
  const struct view_spectrum *spectrum = &model->spectrum;
  struct view_range range = view_state_range(state, model);
  return (struct sc_plot){.of = sight_of(state),
                          .info = model->info,
                          .result = model->result,
                          .full_scale_khz = model->full_scale_khz,
                          .trace = &spectrum->trace,
                          .expected = view_overlay_is_on(state, model) ? &spectrum->expected : NULL,
                          .low_hz = range.low_hz,
                          .high_hz = range.high_hz,
                          .origin_hz = origin(state, model),
                          .absolute = state->view == VIEW_AIR && state->absolute,
                          .from_s = model->start_s + spectrum->from_s,
                          .to_s = model->start_s + spectrum->to_s,
                          .top_db = pane->top,
                          .bottom_db = pane->top - VIEW_DIVISIONS * pane->per_division,
                          .markers = markers,
                          .marker_count = take_markers(state, model, markers)};
}

/* ---- CSV (RFC 4180, with comment lines before it) */

static void print_head(FILE *out, const struct view_state *state, const struct view_model *model)
{
  const struct sc_trace *trace = &model->spectrum.trace;
  struct sc_sight_scale scale = view_model_scale(model, state->view);
  fprintf(out, "# spectrum: %s of %s (%s)\n", view_id_name(state->view), model->info->name,
          model->info->format);
  fprintf(out, "# passage: %.6f s to %.6f s\n", model->start_s + model->spectrum.from_s,
          model->start_s + model->spectrum.to_s);
  fprintf(out, "# resolution: %.6g Hz noise bandwidth, %s window", trace->rbw_hz,
          sc_window_name(trace->window));
  if (trace->window == SC_WINDOW_KAISER)
    fprintf(out, " of beta %.6g", trace->window_parameter);
  fprintf(out, "\n# records: %" PRIu64 " of %.6g s, worth %.6g independent ones\n", trace->records,
          trace->record_s, trace->independent_records);
  fprintf(out, "# level of a line in %s, %s; density is that less %.4f dB, per hertz\n", scale.unit,
          scale.meaning, 10 * log10(trace->rbw_hz));
}

/* "dBc" as the end of a column's name: "dbc". */
static const char *unit_word(const char *unit)
{
  static const char *const units[][2] = {
      {"dBc", "dbc"}, {"dB75", "db75"}, {"dBp", "db_pilot"}, {"dBFS", "dbfs"}};
  for (size_t i = 0; i < sizeof units / sizeof units[0]; i++)
    if (strcmp(units[i][0], unit) == 0)
      return units[i][1];
  return "db";
}

static double level(const float *power, size_t i, double offset_db)
{
  return power != NULL && power[i] > 0 ? 10 * log10((double)power[i]) + offset_db : (double)NAN;
}

static void print_level(FILE *out, double level_db)
{
  if (isfinite(level_db))
    fprintf(out, ",%.3f", level_db);
  else
    fputs(",", out); /* nothing was measured: an empty cell */
}

static void print_points(FILE *out, const struct view_state *state, const struct view_model *model)
{
  const struct sc_trace *trace = &model->spectrum.trace;
  struct view_range range = view_state_range(state, model);
  double offset_db = view_model_scale(model, state->view).offset_db;
  double zero_hz = origin(state, model);
  for (size_t i = 0; i < trace->points; i++) {
    double hz = trace->start_hz + (double)i * trace->step_hz;
    if (hz < range.low_hz || hz > range.high_hz)
      continue;
    fprintf(out, "%.4f", hz - zero_hz);
    print_level(out, level(trace->mean, i, offset_db));
    print_level(out, level(trace->max_hold, i, offset_db));
    print_level(out, level(trace->min_hold, i, offset_db));
    fputs("\n", out);
  }
}

char *view_paper_csv(const struct view_state *state, const struct view_model *model)
{
  char *text = NULL;
  size_t size = 0;
  FILE *out = open_memstream(&text, &size);
  if (out == NULL)
    return NULL;
  const char *unit = unit_word(view_model_scale(model, state->view).unit);
  bool offsets = state->view == VIEW_AIR && !state->absolute;
  print_head(out, state, model);
  fprintf(out, "%s_hz,mean_%s,highest_%s,lowest_%s\n", offsets ? "offset" : "frequency", unit, unit,
          unit);
  print_points(out, state, model);
  bool good = ferror(out) == 0;
  good = fclose(out) == 0 && good;
  if (good)
    return text;
  free(text);
  return NULL;
}
