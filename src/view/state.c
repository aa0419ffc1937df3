/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The user's choices and how they stay consistent with what is measured. */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "view/state.h"

/* A capture of up to this length is averaged as a whole at first. */
static const double whole_s = 5;
static const double live_longest_s = 60;
/* Resolution bandwidth that follows the span: about two dots of a wide plot. */
static const double rbw_share = 1.0 / 800;

double view_state_longest(const struct view_model *model)
{
  return model->info->live || model->info->frames == 0 ? live_longest_s
                                                       : view_model_duration(model);
}

/* Decibels: the largest there is, for what has no level. */
static const double silence_division = 15;

static void start_pane(struct view_pane *pane)
{
  *pane = (struct view_pane){.span_count = 1, .per_division = silence_division, .reference = -1};
}

void view_state_start(struct view_state *state, const struct view_model *model, bool ascii)
{
  double longest = view_state_longest(model);
  *state = (struct view_state){
      .view = view_model_first(model),
      .window = SC_WINDOW_BLACKMAN_HARRIS,
      .glyphs = ascii ? VIEW_GLYPHS_PLAIN : VIEW_GLYPHS_DOTS,
      .length_s = model->info->live || longest > whole_s ? 1 : longest,
      .speed = 1,
      .plot_columns = 80,
      .screen_columns = 80,
      .screen_rows = 24,
      .ascii = ascii,
      .against = model->against != NULL,
  };
  state->playing = model->info->live;
  view_choices_none(&state->choices);
  for (int view = 0; view < VIEW_COUNT; view++)
    start_pane(&state->panes[view]);
}

struct view_range view_state_range(const struct view_state *state, const struct view_model *model)
{
  const struct view_pane *pane = view_state_shown(state);
  struct view_span span = pane->spans[pane->span_at];
  if (span.span_hz <= 0)
    view_model_fit(model, state->view, &span.centre_hz, &span.span_hz);
  return (struct view_range){span.centre_hz - span.span_hz / 2, span.centre_hz + span.span_hz / 2};
}

static struct view_span limited(const struct view_state *state, const struct view_model *model,
                                struct view_span span)
{
  double low, high;
  view_model_limits(model, state->view, &low, &high);
  span.span_hz = fmin(fmax(span.span_hz, VIEW_LEAST_SPAN_HZ), high - low);
  double half = span.span_hz / 2;
  span.centre_hz = fmin(fmax(span.centre_hz, low + half), high - half);
  return span;
}

void view_state_set_span(struct view_state *state, const struct view_model *model, double centre_hz,
                         double span_hz)
{
  struct view_pane *pane = view_state_pane(state);
  struct view_span span = limited(state, model, (struct view_span){centre_hz, span_hz});
  const struct view_span *now = &pane->spans[pane->span_at];
  if (span.centre_hz == now->centre_hz && span.span_hz == now->span_hz)
    return;
  if (pane->span_at + 1 == VIEW_SPANS) {
    memmove(pane->spans, pane->spans + 1, (VIEW_SPANS - 1) * sizeof *pane->spans);
    pane->span_at--;
  }
  pane->spans[++pane->span_at] = span;
  pane->span_count = pane->span_at + 1;
}

void view_state_change_span(struct view_state *state, const struct view_model *model,
                            double centre_hz, double span_hz)
{
  struct view_pane *pane = view_state_pane(state);
  pane->spans[pane->span_at] = limited(state, model, (struct view_span){centre_hz, span_hz});
}

double view_state_rbw(const struct view_state *state, const struct view_model *model)
{
  const struct view_pane *pane = view_state_shown(state);
  if (pane->rbw_hz > 0)
    return pane->rbw_hz;
  struct view_range range = view_state_range(state, model);
  return (range.high_hz - range.low_hz) * rbw_share;
}

/* Half a dot of the plot. */
static double dot_reach(const struct view_state *state, const struct view_model *model)
{
  struct view_range range = view_state_range(state, model);
  double dot = (range.high_hz - range.low_hz) / fmax(2 * state->plot_columns, 1);
  return dot * 0.51;
}

ptrdiff_t view_state_line(const struct view_state *state, const struct view_model *model, int m)
{
  const struct view_marker *marker = &view_state_shown(state)->markers[m];
  if (!marker->on)
    return -1;
  double resolution = fmax(view_model_lines(model, state->view)->resolution_hz, 0.01);
  ptrdiff_t line = view_find_line(model, state->view, marker->hz, resolution);
  if (line >= 0 || marker->locked || !(marker->reach_hz > 0))
    return line;
  return view_find_strongest(model, state->view, marker->hz, marker->reach_hz);
}

double view_state_typed(const struct view_state *state, const struct view_model *model, double hz)
{
  bool tuned = state->absolute || fabs(hz) > model->info->sample_rate_hz;
  if (state->view == VIEW_AIR && tuned)
    return hz - model->info->centre_hz;
  return hz + view_model_origin(model, state->view);
}

void view_state_show(struct view_state *state, const struct view_model *model, double hz)
{
  struct view_range range = view_state_range(state, model);
  if (hz >= range.low_hz && hz <= range.high_hz)
    return;
  view_state_set_span(state, model, hz, range.high_hz - range.low_hz);
}

static void move(struct view_state *state, const struct view_model *model, double hz,
                 double reach_hz)
{
  if (isnan(hz))
    return;
  struct view_pane *pane = view_state_pane(state);
  struct view_marker *marker = &pane->markers[pane->active];
  double low, high;
  view_model_limits(model, state->view, &low, &high);
  hz = fmin(fmax(hz, low), high);
  view_state_show(state, model, hz);
  marker->on = true;
  marker->reach_hz = reach_hz;
  marker->locked = false;
  marker->hz = hz;
  ptrdiff_t line = view_state_line(state, model, pane->active);
  if (line < 0)
    return;
  marker->hz = view_line_hz(&view_model_lines(model, state->view)->lines[line]);
  marker->locked = true;
}

void view_state_move(struct view_state *state, const struct view_model *model, double hz)
{
  move(state, model, hz, dot_reach(state, model));
}

void view_state_place(struct view_state *state, const struct view_model *model, double hz)
{
  move(state, model, hz, 0);
}

static void follow_lines(struct view_state *state, const struct view_model *model)
{
  struct view_pane *pane = view_state_pane(state);
  for (int m = 0; m < VIEW_MARKERS; m++) {
    struct view_marker *marker = &pane->markers[m];
    ptrdiff_t line = marker->locked ? view_state_line(state, model, m) : -1;
    if (line >= 0)
      marker->hz = view_line_hz(&view_model_lines(model, state->view)->lines[line]);
  }
}

/* Mean of the trace's levels in dB below `limit`, within the shown span; NAN: there are none. */
static double mean_below(const struct sc_trace *trace, struct view_range range, double limit)
{
  double sum = 0, count = 0;
  for (size_t i = 0; i < trace->points; i++) {
    double hz = trace->start_hz + (double)i * trace->step_hz;
    if (hz < range.low_hz || hz > range.high_hz || !(trace->mean[i] > 0))
      continue;
    double level = 10 * log10((double)trace->mean[i]);
    if (level > limit)
      continue;
    sum += level;
    count++;
  }
  return count > 0 ? sum / count : (double)NAN;
}

static double highest(const struct sc_trace *trace, struct view_range range)
{
  double most = 0;
  for (size_t i = 0; i < trace->points; i++) {
    double hz = trace->start_hz + (double)i * trace->step_hz;
    if (hz >= range.low_hz && hz <= range.high_hz)
      most = fmax(most, trace->mean[i]);
  }
  return 10 * log10(most);
}

/* Highest level of the trace within the shown span, and about where its floor is. */
static bool extremes(const struct view_state *state, const struct view_model *model, double *high,
                     double *low)
{
  if (!view_model_has_trace(model, state->view))
    return false;
  const struct sc_trace *trace = &model->spectrum.trace;
  struct view_range range = view_state_range(state, model);
  double offset = view_model_scale(model, state->view).offset_db;
  double floor = mean_below(trace, range, mean_below(trace, range, INFINITY));
  *high = highest(trace, range) + offset;
  *low = floor - 5 + offset;
  return isfinite(*high) && isfinite(*low);
}

/* The finest division that shows the trace from its highest to its lowest point. */
static double division_for(double height)
{
  static const double sizes[] = {1, 2, 5, 10};
  for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++)
    if (sizes[i] * VIEW_DIVISIONS >= height)
      return sizes[i];
  return silence_division;
}

/* A level that the trace fits well stays, so that the picture does not jump. */
static void follow_level(struct view_state *state, const struct view_model *model)
{
  struct view_pane *pane = view_state_pane(state);
  double high, low;
  if (pane->level_set)
    return;
  if (!extremes(state, model, &high, &low)) {
    if (!pane->level_found) { /* silence, as a capture may begin with it */
      pane->per_division = silence_division;
      pane->top = 0;
    }
    return;
  }
  double bottom = pane->top - VIEW_DIVISIONS * pane->per_division;
  double used = (high - low) / (VIEW_DIVISIONS * pane->per_division);
  bool fits = high < pane->top && low > bottom && used > 0.5 && pane->top - high < 15;
  if (fits && pane->level_found)
    return;
  pane->level_found = true;
  double division = division_for(high + 4 - low);
  pane->per_division = division;
  pane->top = ceil((high + division / 50) / division) * division;
}

void view_state_follow(struct view_state *state, const struct view_model *model)
{
  follow_lines(state, model);
  follow_level(state, model);
}

void view_state_swap(struct view_state *state)
{
  struct view_other other = state->other;
  state->other = (struct view_other){state->view, state->sheet, state->sheet_first};
  state->view = other.view;
  state->sheet = other.sheet;
  state->sheet_first = other.sheet_first;
}

void view_state_find_level(struct view_state *state, const struct view_model *model)
{
  struct view_pane *pane = view_state_pane(state);
  pane->level_set = pane->level_found = false;
  follow_level(state, model);
}

void view_state_say(struct view_state *state, const char *format, ...)
{
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(state->message, sizeof state->message, format, arguments);
  va_end(arguments);
}
