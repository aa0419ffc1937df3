/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* From state and model to what a file holds. */
#include <stdio.h>
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
                          .show_highest = state->hold != VIEW_HOLD_NONE,
                          .show_lowest = state->hold == VIEW_HOLD_BOTH,
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
