/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Builds models of which every number is known. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "view/action.h"
#include "view/draw.h"
#include "view/fixture.h"

static const double carrier_hz = -4570;

struct given {
  double hz, level_db;
  enum sc_verdict verdict;
  const char *label, *cause;
};

static const struct given on_air[] = {
    {-57000, -60.7, SC_VERDICT_EXPLAINED, "pilot, third order", "third-order line of the pilot"},
    {-38000, -36.2, SC_VERDICT_EXPLAINED, "pilot, second order", "second-order line of the pilot"},
    {-19000, -15.2, SC_VERDICT_EXPLAINED, "pilot", "first-order line of the pilot"},
    {0, -0.3, SC_VERDICT_EXPLAINED, "carrier", "what is left of the carrier"},
    {19000.4, -15.2, SC_VERDICT_EXPLAINED, "pilot", "first-order line of the pilot"},
    {38000.8, -33.9, SC_VERDICT_RESIDUAL, "38 kHz", "pilot's second order and a residual"},
    {57000, -60.7, SC_VERDICT_EXPLAINED, "pilot, third order", "third-order line of the pilot"},
    {93600, -71.0, SC_VERDICT_UNKNOWN, "", ""},
    {131400, -50.5, SC_VERDICT_SPURIOUS, "", "a carrier of its own: nothing mirrors it"},
};

static const struct given on_composite[] = {
    {1000, -40.0, SC_VERDICT_EXPLAINED, "sum", "audio of the sum channel"},
    {19000.4, -20.9, SC_VERDICT_EXPLAINED, "pilot", "the stereo pilot"},
    {38000.8, -44.4, SC_VERDICT_RESIDUAL, "38 kHz carrier", "what is left of the 38 kHz carrier"},
    {61300, -48.0, SC_VERDICT_UNKNOWN, "", ""},
};

static void fill_line(struct sc_line *line, const struct given *given, double origin_hz)
{
  memset(line, 0, sizeof *line);
  line->tone.frequency_hz = sc_measured(origin_hz + given->hz, 0.02);
  line->tone.level_db = sc_measured(given->level_db - 3, 0.02);
  line->offset_hz = sc_measured(given->hz, 0.02);
  line->level_dbc = sc_measured(given->level_db, 0.02);
  line->deviation_khz = sc_not_measured("on air");
  line->level_db75 = sc_not_measured("on air");
  line->level_db_pilot = sc_not_measured("on air");
  line->level_dbfs = sc_not_measured("on air");
  line->predicted_dbc = sc_measured(given->level_db - 0.04, 0.01);
  line->rest_db = sc_measured(0.04, 0.02);
  line->mirror = -1;
  line->verdict = given->verdict;
  line->nearest = sc_subcarrier_nearest(given->hz, &line->nearest_distance_hz);
  snprintf(line->label, sizeof line->label, "%s", given->label);
  snprintf(line->cause, sizeof line->cause, "%s", given->cause);
}

static void on_the_composite(struct sc_line *line, double level_db)
{
  double khz = 75 * pow(10, level_db / 20);
  line->deviation_khz = sc_measured(khz, 0.003);
  line->level_db75 = sc_measured(level_db, 0.01);
  line->tone.level_db = sc_measured(10 * log10(khz * khz / 2), 0.01);
  line->predicted_dbc = line->rest_db = sc_not_measured("on the composite");
}

/* Lines as humps over a floor that is uneven in a way that repeats. */
static void fill_trace(struct fixture *f, double start_hz, double step_hz, double floor_db,
                       double offset_db)
{
  for (size_t i = 0; i < FIXTURE_POINTS; i++) {
    double hz = start_hz + (double)i * step_hz;
    double power = pow(10, (floor_db + 2 * sin((double)i * 12.9898) - offset_db) / 10);
    for (size_t k = 0; k < f->result.air_lines.count; k++) {
      double bins = (hz - view_line_hz(&f->lines[k])) / step_hz;
      double level = view_model_line_level(&f->model, f->state.view, &f->lines[k]) - offset_db;
      power += pow(10, level / 10) * exp(-bins * bins / 2);
    }
    f->mean[i] = (float)power;
    f->high[i] = (float)power * 4;
    f->low[i] = (float)power / 4;
  }
  f->model.spectrum.trace = (struct sc_trace){
      .start_hz = start_hz,
      .step_hz = step_hz,
      .points = FIXTURE_POINTS,
      .mean = f->mean,
      .max_hold = f->high,
      .min_hold = f->low,
      .rbw_hz = 375,
      .record_s = 0.005,
      .records = 31,
      .independent_records = 20,
      .window = SC_WINDOW_HANN,
  };
}

static void fill_common(struct fixture *f)
{
  memset(f, 0, sizeof *f);
  f->info = (struct sc_source_info){
      .name = "kitefield.sigmf-meta",
      .format = "SigMF, ci8",
      .kind = SC_KIND_IQ,
      .channels = 2,
      .sample_rate_hz = 384000,
      .nominal_rate_hz = 384000,
      .clock_relative_uncertainty = (double)NAN,
      .centre_hz = 91205000 - 430,
      .frames = 921600,
  };
  f->model.info = &f->info;
  f->model.result = &f->result;
  f->model.survey_s = 2.4;
  f->model.survey_done = true;
  f->result.carrier.present = SC_YES;
  f->result.carrier.offset_hz = sc_measured(carrier_hz, 0.1);
  f->result.carrier.level_dbfs = sc_measured(-3, 0.01);
  f->result.pilot.deviation_khz = sc_measured(6.75, 0.003); /* within its limits */
  snprintf(f->result.account, sizeof f->result.account,
           "Stereo at rest: carrier and pilot, 9 lines, 6 of them made by the composite, one a "
           "residual at 38 kHz.");
  view_state_start(&f->state, &f->model, false);
  f->model.spectrum.from_s = 0;
  f->model.spectrum.to_s = 2.4;
}

void fixture_air(struct fixture *f)
{
  fill_common(f);
  for (size_t i = 0; i < FIXTURE_LINES; i++)
    fill_line(&f->lines[i], &on_air[i], carrier_hz);
  f->result.air_lines = (struct sc_line_list){
      .lines = f->lines, .count = FIXTURE_LINES, .resolution_hz = 1.5, .records = 1};
  f->model.spectrum.view = f->state.view = VIEW_AIR;
  fill_trace(f, -192000, 240, -88, view_model_scale(&f->model, VIEW_AIR).offset_db);
  view_state_follow(&f->state, &f->model);
}

void fixture_composite(struct fixture *f)
{
  enum { COUNT = sizeof on_composite / sizeof *on_composite };
  fill_common(f);
  for (size_t i = 0; i < COUNT; i++) {
    fill_line(&f->lines[i], &on_composite[i], 0);
    on_the_composite(&f->lines[i], on_composite[i].level_db);
  }
  f->result.composite_lines =
      (struct sc_line_list){.lines = f->lines, .count = COUNT, .resolution_hz = 1.5, .records = 1};
  f->result.air_lines.count = COUNT;
  f->model.spectrum.view = f->state.view = VIEW_COMPOSITE;
  fill_trace(f, 0, 64, -75, view_model_scale(&f->model, VIEW_COMPOSITE).offset_db);
  f->result.air_lines.count = 0;
  view_state_follow(&f->state, &f->model);
}

char *fixture_draw(struct fixture *f, int width, int height, bool ascii)
{
  struct view_grid grid = {.ascii = ascii};
  view_grid_resize(&grid, width, height);
  f->state.screen_columns = width;
  f->state.screen_rows = height;
  f->state.ascii = ascii;
  view_draw(&grid, &f->state, &f->model);
  char *text = view_grid_text(&grid);
  if (text == NULL)
    abort();
  view_grid_free(&grid);
  return text;
}

void fixture_type(struct fixture *f, const char *keys)
{
  for (; *keys != 0; keys++)
    view_key(&f->state, &f->model, (unsigned char)*keys);
}

void fixture_expect(struct fixture *f, int width, int height, bool ascii, const char *const *texts)
{
  char *screen = fixture_draw(f, width, height, ascii);
  for (; *texts != NULL; texts++)
    if (strstr(screen, *texts) == NULL) {
      puts(screen); /* too long for a message of Check's */
      ck_abort_msg("'%s' is not on the screen", *texts);
    }
  free(screen);
}

const struct view_pane *fixture_pane(const struct fixture *f)
{
  return view_state_shown(&f->state);
}

double fixture_marker_hz(const struct fixture *f, char name)
{
  const struct view_marker *marker = &fixture_pane(f)->markers[name - 'A'];
  return marker->on ? marker->hz - carrier_hz : NAN;
}

double fixture_span(const struct fixture *f)
{
  struct view_range range = view_state_range(&f->state, &f->model);
  return range.high_hz - range.low_hz;
}

double fixture_centre(const struct fixture *f)
{
  struct view_range range = view_state_range(&f->state, &f->model);
  return (range.high_hz + range.low_hz) / 2;
}

void fixture_press(struct fixture *f, int key)
{
  view_key(&f->state, &f->model, key);
}
