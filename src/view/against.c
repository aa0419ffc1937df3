/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The second capture's engine, and the difference of two traces that need not share a grid. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/expected.h>

#include "view/against.h"

/* The difference is averaged over so many resolution bandwidths to either side. */
static const double smooth = 3;
/* The second is asked for a little more, because an average needs both sides. */
static const double wider = 1.03;
/* Differences that are worked out of a trace at most. */
enum { POINTS_MOST = 4096 };

struct view_against {
  struct view_engine *engine;
  struct view_model model;
  double shift_hz;   /* of what was asked for last */
  float *difference; /* at the first's points */
  size_t room;
};

enum sc_error view_against_start(struct sc_source *source, const struct sc_source_options *options,
                                 const struct sc_analysis_settings *analysis,
                                 struct view_against **out, struct sc_message *message)
{
  struct view_against *against = calloc(1, sizeof *against);
  *out = NULL;
  if (against == NULL)
    return sc_fail(message, SC_NO_MEMORY, "view: not enough memory");
  enum sc_error error = view_engine_start(source, options, analysis, &against->engine, message);
  if (error != SC_OK) {
    free(against);
    return error;
  }
  view_engine_take(against->engine, &against->model);
  *out = against;
  return SC_OK;
}

void view_against_stop(struct view_against *against)
{
  if (against == NULL)
    return;
  view_engine_stop(against->engine);
  free(against->difference);
  free(against);
}

int view_against_descriptor(const struct view_against *against)
{
  return against != NULL ? view_engine_descriptor(against->engine) : -1;
}

/* From the first's axis to the second's. Small corrections of either carrier are not worth
 * reading again: the picture goes by the exact one. */
static double shift(struct view_against *against, const struct view_model *first,
                    const struct view_request *request)
{
  double exact =
      view_model_origin(&against->model, request->view) - view_model_origin(first, request->view);
  if (fabs(exact - against->shift_hz) > request->rbw_hz)
    against->shift_hz = exact;
  return against->shift_hz;
}

/* The wanted part, cut to what the second capture holds. */
static void set_span(const struct view_against *against, struct view_request *request)
{
  double low, high, half = request->span_hz / 2 * wider;
  view_model_limits(&against->model, request->view, &low, &high);
  low = fmax(low, request->centre_hz - half);
  high = fmin(high, request->centre_hz + half);
  if (!(high > low))
    return; /* beyond its end: the slice says so */
  request->centre_hz = (low + high) / 2;
  request->span_hz = high - low;
}

void view_against_ask(struct view_against *against, const struct view_request *request,
                      const struct view_model *first, bool held)
{
  struct view_request own;
  if (against == NULL)
    return;
  view_engine_hold(against->engine, held);
  memcpy(&own, request, sizeof own); /* compared as bytes */
  own.expected = own.course = false;
  own.noise_dbfs_hz = 0;
  own.centre_hz += shift(against, first, request);
  set_span(against, &own);
  if (against->model.info->live)
    own.follow = true;
  else if (first->info->live)
    own.follow = false;
  else
    own.until_s = fmin(own.until_s, view_model_duration(&against->model));
  view_engine_ask(against->engine, &own);
}

static bool make_room(struct view_against *against, size_t points)
{
  if (points <= against->room)
    return true;
  float *grown = realloc(against->difference, points * sizeof *grown);
  if (grown == NULL)
    return false;
  against->difference = grown;
  against->room = points;
  return true;
}

/* False: the two have no trace of one view, or there is no memory. */
static bool compare(struct view_against *against, const struct view_model *first)
{
  enum view_id view = first->spectrum.view;
  const struct sc_trace *trace = &first->spectrum.trace;
  struct sc_trace second = against->model.spectrum.trace;
  if (trace->points == 0 || second.points == 0 || against->model.spectrum.view != view ||
      !make_room(against, trace->points))
    return false;
  second.start_hz += view_model_origin(first, view) - view_model_origin(&against->model, view);
  double gain =
      view_model_scale(first, view).offset_db - view_model_scale(&against->model, view).offset_db;
  size_t every = 1 + trace->points / POINTS_MOST;
  double half_hz =
      fmax(smooth * fmax(trace->rbw_hz, second.rbw_hz), (double)every * trace->step_hz);
  for (size_t i = 0; i < trace->points; i++) {
    double hz = trace->start_hz + (double)i * trace->step_hz;
    against->difference[i] =
        i % every != 0 ? NAN
                       : (float)(sc_expected_difference_at(trace, &second, hz, half_hz) + gain);
  }
  return true;
}

void view_against_take(struct view_against *against, struct view_model *first)
{
  if (against == NULL)
    return;
  view_engine_take(against->engine, &against->model);
  first->against = &against->model;
  first->against_db = compare(against, first) ? against->difference : NULL;
}
