/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Questions to what is measured: limits, scales, lines of a view. */
#include <math.h>

#include "view/model.h"

/* Composite frequencies beyond the highest standard position say nothing of the service. */
static const double composite_top_hz = 100e3;
/* Half width of the channel: all side lines of a fully modulated stereo signal that count. */
static const double channel_half_hz = 150e3;

const char *view_id_name(enum view_id view)
{
  static const char *const names[VIEW_COUNT] = {"on air", "composite", "audio"};
  return names[view];
}

const char *view_id_word(enum view_id view)
{
  static const char *const words[VIEW_COUNT] = {"air", "composite", "audio"};
  return words[view];
}

double view_model_duration(const struct view_model *model)
{
  return (double)model->info->frames / model->info->sample_rate_hz;
}

bool view_model_offers(const struct view_model *model, enum view_id view)
{
  switch (model->info->kind) {
  case SC_KIND_IQ:
    return view == VIEW_AIR || view == VIEW_COMPOSITE;
  case SC_KIND_COMPOSITE:
    return view == VIEW_COMPOSITE;
  default:
    return view == VIEW_AUDIO;
  }
}

enum view_id view_model_first(const struct view_model *model)
{
  for (int view = 0; view < VIEW_COUNT; view++)
    if (view_model_offers(model, (enum view_id)view))
      return (enum view_id)view;
  return VIEW_AIR;
}

void view_model_limits(const struct view_model *model, enum view_id view, double *low_hz,
                       double *high_hz)
{
  double half = model->info->sample_rate_hz / 2;
  *low_hz = view == VIEW_AIR ? -half : 0;
  *high_hz = view == VIEW_COMPOSITE ? fmin(composite_top_hz, half) : half;
}

double view_model_origin(const struct view_model *model, enum view_id view)
{
  if (view != VIEW_AIR)
    return 0;
  if (model->result != NULL && model->result->carrier.offset_hz.why == NULL)
    return model->result->carrier.offset_hz.value;
  return model->channel_known ? model->channel_hz : 0;
}

void view_model_fit(const struct view_model *model, enum view_id view, double *centre_hz,
                    double *span_hz)
{
  double low, high;
  view_model_limits(model, view, &low, &high);
  bool carrier = model->channel_known || model->result != NULL;
  if (view == VIEW_AIR && carrier) {
    double origin = view_model_origin(model, view);
    low = fmax(low, origin - channel_half_hz);
    high = fmin(high, origin + channel_half_hz);
  }
  *centre_hz = (low + high) / 2;
  *span_hz = high - low;
}

/* The views in the order of the spectra. */
static enum sc_sight_of sight_of(enum view_id view)
{
  return view == VIEW_AIR         ? SC_SIGHT_AIR
         : view == VIEW_COMPOSITE ? SC_SIGHT_COMPOSITE
                                  : SC_SIGHT_AUDIO;
}

struct sc_sight_scale view_model_scale(const struct view_model *model, enum view_id view)
{
  return sc_sight_scale(sight_of(view), model->info->kind, model->full_scale_khz, model->result);
}

const struct sc_line_list *view_model_lines(const struct view_model *model, enum view_id view)
{
  static const struct sc_line_list none;
  if (model->result == NULL)
    return &none;
  return view == VIEW_AIR ? &model->result->air_lines : &model->result->composite_lines;
}

/* A line that nothing was said about yet has only its place. */
const struct sc_position *view_model_line_nearest(const struct view_model *model, enum view_id view,
                                                  const struct sc_line *line, double *distance_hz)
{
  if (line->nearest == NULL)
    return sc_subcarrier_nearest(view_line_hz(line) - view_model_origin(model, view), distance_hz);
  *distance_hz = line->nearest_distance_hz;
  return line->nearest;
}

double view_model_line_level(const struct view_model *model, enum view_id view,
                             const struct sc_line *line)
{
  return sc_sight_line_level(sight_of(view), view_model_scale(model, view), line);
}

bool view_model_has_trace(const struct view_model *model, enum view_id view)
{
  return model->spectrum.view == view && model->spectrum.trace.points > 0;
}
