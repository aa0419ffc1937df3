/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a marker reads: made of parts that are joined as they apply. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <sidecomb/subcarriers.h>

#include "common/number.h"
#include "view/band.h"
#include "view/beside.h"
#include "view/format.h"
#include "view/overlay.h"
#include "view/words.h"

static struct sc_quantity shown_frequency(const struct view_state *state,
                                          const struct view_model *model, double hz,
                                          double uncertainty)
{
  bool air = state->view == VIEW_AIR;
  double origin =
      air && state->absolute ? -model->info->centre_hz : view_model_origin(model, state->view);
  return sc_measured(hz - origin, uncertainty);
}

/* On air, where the tuned frequency is known: as tuned beside an offset, as offset beside that. */
static void add_other_axis(char *out, size_t size, const struct view_state *state,
                           const struct view_model *model, double hz, double uncertainty)
{
  if (state->view != VIEW_AIR || !(model->info->centre_hz > 0))
    return;
  int decimals = view_decimals(uncertainty, 0);
  if (state->absolute)
    view_append(out, size, " (%s Hz from the carrier)",
                view_grouped(hz - view_model_origin(model, VIEW_AIR), decimals, true).text);
  else
    view_append(out, size, " (%.*f MHz)", decimals < 3 ? decimals + 6 : 9,
                (hz + model->info->centre_hz) * 1e-6);
}

static bool signed_axis(const struct view_state *state)
{
  return state->view == VIEW_AIR && !state->absolute;
}

/* "19 kHz pilot" */
static void add_position(char *out, size_t size, const struct sc_position *position)
{
  view_append(out, size, "%g kHz (%s)", position->position_hz / 1000, position->name);
}

static void add_standard(char *out, size_t size, const struct sc_position *nearest,
                         double distance_hz, double uncertainty)
{
  if (nearest == NULL)
    return;
  int decimals = view_decimals(uncertainty, 1);
  double away = fabs(distance_hz);
  view_append(out, size, ", %s Hz %s the standard ", view_grouped(away, decimals, false).text,
              distance_hz < 0 ? "below" : "above");
  add_position(out, size, nearest);
}

/* Level where a marker stands: the line's, else the trace's. */
static double marker_level(const struct view_state *state, const struct view_model *model, int m)
{
  ptrdiff_t index = view_state_line(state, model, m);
  const struct sc_line_list *list = view_model_lines(model, state->view);
  if (index >= 0)
    return view_model_line_level(model, state->view, &list->lines[index]);
  return view_trace_level(model, state->view, view_state_shown(state)->markers[m].hz);
}

/* "-3.21 ±0.02 dBc" from a power on the trace's scale. */
static void add_power(char *out, size_t size, struct sc_quantity power, double offset_db,
                      const char *unit)
{
  double uncertainty_db = 10 / log(10) * power.uncertainty / power.value;
  int decimals = uncertainty_db < 0.1 ? 2 : 1;
  view_append(out, size, "%s ±%.*f %s",
              common_number(10 * log10(power.value) + offset_db, decimals, false).text, decimals,
              uncertainty_db, unit);
}

/* Power between two markers, and what the floor makes of it: ", -21.35 ±0.02 dBc between, of that
 * floor -52.1". On an absolute composite also as the deviation of it all, rms. False: nothing. */
static bool add_band(char *out, size_t size, const struct view_state *state,
                     const struct view_model *model, double one_hz, double other_hz)
{
  struct sc_sight_scale scale = view_model_scale(model, state->view);
  if (!view_model_has_trace(model, state->view))
    return false;
  struct view_band band = view_band_power(&model->spectrum.trace, one_hz, other_hz);
  if (band.power.why != NULL || !(band.power.value > 0))
    return false;
  view_append(out, size, ", ");
  add_power(out, size, band.power, scale.offset_db, scale.unit);
  view_append(out, size, " between");
  if (strcmp(scale.unit, "dB75") == 0) /* of a sine of 75 kHz */
    view_append(out, size, ", %.3g kHz rms",
                75 * sqrt(band.power.value / 2) * pow(10, scale.offset_db / 20));
  if (band.floor > 0)
    view_append(out, size, ", floor %s",
                common_number(10 * log10(band.floor) + scale.offset_db, 1, false).text);
  return true;
}

/* A marker against the reference: " (+38 000.0 Hz, -6.20 dB against A)". */
static void add_difference(char *out, size_t size, const struct view_state *state,
                           const struct view_model *model, int m)
{
  const struct view_pane *pane = view_state_shown(state);
  int reference = pane->reference;
  if (reference < 0 || reference == m || !pane->markers[reference].on)
    return;
  double level = marker_level(state, model, m) - marker_level(state, model, reference);
  double apart = pane->markers[m].hz - pane->markers[reference].hz;
  view_append(out, size, " (%s Hz, %s dB against %c", view_grouped(apart, 1, true).text,
              common_number(level, 2, true).text, 'A' + reference);
  bool between =
      add_band(out, size, state, model, pane->markers[m].hz, pane->markers[reference].hz);
  if (between &&
      (view_state_line(state, model, m) >= 0 || view_state_line(state, model, reference) >= 0))
    view_append(out, size, ", through a line at its end");
  view_append(out, size, ")");
}

/* "-26.42 dBc", on the composite "6.751 kHz, 20.9 dB below 75 kHz". */
static void add_level(char *out, size_t size, const struct view_state *state,
                      const struct view_model *model, const struct sc_line *line)
{
  double level = view_model_line_level(model, state->view, line);
  if (state->view == VIEW_COMPOSITE && line->deviation_khz.why == NULL) {
    int decimals = view_decimals(line->deviation_khz.uncertainty, 3);
    view_append(out, size, ", %.*f ±%.*f kHz, %.1f dB %s 75 kHz", decimals,
                line->deviation_khz.value, decimals, line->deviation_khz.uncertainty, fabs(level),
                level <= 0 ? "below" : "above");
    return;
  }
  double uncertainty =
      state->view == VIEW_AIR ? line->level_dbc.uncertainty : line->tone.level_db.uncertainty;
  view_append(
      out, size, ", %s",
      view_decibels(sc_measured(level, uncertainty), view_model_scale(model, state->view).unit)
          .text);
}

/* A measured line's level is an average of all that came in; what a knob does to it is seen in the
 * trace: ", now -20.1 dBc", on an absolute composite ", now 6.79 kHz". */
static void add_present(char *out, size_t size, const struct view_state *state,
                        const struct view_model *model, double hz)
{
  if (!model->info->live || model->ended || !state->playing)
    return;
  const double level = view_trace_top(model, state->view, hz);
  const char *unit = view_model_scale(model, state->view).unit;
  if (!isfinite(level))
    return;
  const double khz = 75 * pow(10, level / 20);
  if (strcmp(unit, "dB75") == 0)
    view_append(out, size, ", now %.*f kHz", khz < 1 ? 3 : khz < 10 ? 2 : 1, khz);
  else
    view_append(out, size, ", now %s %s", common_number(level, 1, false).text, unit);
}

/* Of a line on air: the deviation of the composite's line as far from zero, ", 6.800 ±0.001 kHz on
 * the composite". The two come from the same demodulated signal, and what is on air may still have
 * other causes: those are the account's to say. */
static void add_deviation(char *out, size_t size, const struct view_state *state,
                          const struct view_model *model, const struct sc_line *line)
{
  if (state->view != VIEW_AIR || model->result == NULL || line->offset_hz.why != NULL)
    return;
  const struct sc_line_list *list = &model->result->composite_lines;
  double reach = fmax(list->resolution_hz, 3 * line->offset_hz.uncertainty) * 0.51;
  const struct sc_line *found = NULL;
  for (size_t i = 0; i < list->count; i++) {
    double away = fabs(list->lines[i].offset_hz.value - fabs(line->offset_hz.value));
    if (away <= reach && list->lines[i].deviation_khz.why == NULL) {
      found = &list->lines[i];
      reach = away;
    }
  }
  if (found == NULL)
    return;
  int decimals = view_decimals(found->deviation_khz.uncertainty, 3);
  view_append(out, size, ", %.*f ±%.*f kHz on the composite", decimals, found->deviation_khz.value,
              decimals, found->deviation_khz.uncertainty);
}

static void add_cause(char *out, size_t size, const struct sc_line *line)
{
  const char *what = line->cause[0] != 0 ? line->cause : line->label;
  if (what[0] == 0)
    what = "not identified";
  size_t length = strlen(what);
  while (length > 0 && what[length - 1] == '.')
    length--;
  view_append(out, size, ": %.*s", (int)length, what);
}

static void add_part(char *out, size_t size, const char *name, const struct sc_quantity *part)
{
  if (part->why == NULL)
    view_append(out, size, " %s %s", name, common_number(part->value, 1, false).text);
}

/* "; FM -15.1, no AM above -62.3 dBc": the pair that the line is one of. */
static void add_parts(char *out, size_t size, const struct sc_line *line)
{
  if (line->parts_limit_dbc.why != NULL)
    return;
  view_append(out, size, "; of the pair");
  add_part(out, size, "FM", &line->fm_part_dbc);
  add_part(out, size, "AM", &line->am_part_dbc);
  add_part(out, size, "on this side alone", &line->one_sided_dbc);
  view_append(out, size, ", else below %.0f dBc", line->parts_limit_dbc.value);
}

static void describe_line(const struct view_state *state, const struct view_model *model, int m,
                          const struct sc_line *line, char *out, size_t size)
{
  /* An offset is as uncertain as the carrier, which it counts from; the place as tuned is not. */
  const double place = line->tone.frequency_hz.uncertainty;
  const double uncertainty = state->view == VIEW_AIR ? line->offset_hz.uncertainty : place;
  struct sc_quantity hz =
      shown_frequency(state, model, view_line_hz(line), signed_axis(state) ? uncertainty : place);
  view_append(out, size, "%s", view_hertz(hz, signed_axis(state)).text);
  add_other_axis(out, size, state, model, view_line_hz(line),
                 state->absolute ? uncertainty : place);
  add_level(out, size, state, model, line); /* before the difference: the end may be cut */
  add_present(out, size, state, model, view_line_hz(line));
  add_difference(out, size, state, model, m);
  add_deviation(out, size, state, model, line);
  view_beside_marker(state, model, view_line_hz(line), line, out, size);
  add_cause(out, size, line);
  if (line->predicted_dbc.why == NULL && state->view == VIEW_AIR)
    view_append(out, size, ", rest %s dB", common_number(line->rest_db.value, 2, true).text);
  if (state->view == VIEW_AIR)
    add_parts(out, size, line);
  bool is_carrier = state->view == VIEW_AIR && fabs(line->offset_hz.value) < 10;
  double distance;
  const struct sc_position *nearest = view_model_line_nearest(model, state->view, line, &distance);
  const bool said = strstr(line->cause, "nearest is ") != NULL;
  if (state->view != VIEW_AUDIO && !is_carrier && !said)
    add_standard(out, size, nearest, distance, uncertainty);
  view_append(out, size, " (%s).", sc_verdict_name(line->verdict));
}

/* ", density -101.53 ±0.04 dBc/Hz": four resolution bandwidths to either side. */
static void add_density(char *out, size_t size, const struct view_state *state,
                        const struct view_model *model, double hz)
{
  if (!view_model_has_trace(model, state->view))
    return;
  struct sc_sight_scale scale = view_model_scale(model, state->view);
  struct view_density density = view_band_density(&model->spectrum.trace, hz);
  if (density.per_hz.why != NULL || !(density.per_hz.value > 0))
    return;
  view_append(out, size, ", %s ", density.line_within ? "uneven density" : "density");
  add_power(out, size, density.per_hz, scale.offset_db, scale.unit);
  view_append(out, size, "/Hz");
}

static void describe_place(const struct view_state *state, const struct view_model *model, int m,
                           char *out, size_t size)
{
  double at_hz = view_state_shown(state)->markers[m].hz;
  double level = view_trace_level(model, state->view, at_hz);
  const char *unit = view_model_scale(model, state->view).unit;
  double step = model->spectrum.trace.step_hz;
  struct sc_quantity hz = shown_frequency(state, model, at_hz, (double)NAN);
  int decimals = view_decimals(step * 10, 0);
  view_append(out, size, "%s Hz", view_grouped(hz.value, decimals, signed_axis(state)).text);
  view_append(out, size, ", no measured line here");
  if (!isnan(level))
    view_append(out, size, ": the trace is at %s %s", common_number(level, 1, false).text, unit);
  add_difference(out, size, state, model, m);
  add_density(out, size, state, model, at_hz);
  view_beside_marker(state, model, at_hz, NULL, out, size);
  double over = view_overlay_is_on(state, model) ? view_overlay_at(model, at_hz) : (double)NAN;
  if (!isnan(over))
    view_append(out, size, ", %.1f dB %s what the composite makes", fabs(over),
                over < 0 ? "below" : "over");
  if (state->view == VIEW_AUDIO) {
    view_append(out, size, ".");
    return;
  }
  double distance;
  double from_origin = at_hz - view_model_origin(model, state->view);
  const struct sc_position *nearest = sc_subcarrier_nearest(from_origin, &distance);
  add_standard(out, size, nearest, distance, fmax(step, 1));
  view_append(out, size, ".");
}

void view_words_marker(const struct view_state *state, const struct view_model *model, int m,
                       char *out, size_t size)
{
  const struct view_marker *marker = &view_state_shown(state)->markers[m];
  out[0] = 0;
  if (!marker->on)
    return;
  ptrdiff_t index = view_state_line(state, model, m);
  view_append(out, size, "%c ", 'A' + m);
  if (marker->name[0] != 0)
    view_append(out, size, "(%s) ", marker->name);
  if (index >= 0)
    describe_line(state, model, m, &view_model_lines(model, state->view)->lines[index], out, size);
  else
    describe_place(state, model, m, out, size);
}
