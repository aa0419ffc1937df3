/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The shown spectrum for a file. */
#ifndef SIDECOMB_VIEW_PAPER_H
#define SIDECOMB_VIEW_PAPER_H

#include <sidecomb/plot.h>

#include "view/state.h"

/* The plot of what is shown: span, levels, markers with their readings. What it points to belongs
 * to the model, and `markers` (SC_PLOT_MARKERS_MAX) is filled. Needs a trace. */
struct sc_plot view_paper_plot(const struct view_state *state, const struct view_model *model,
                               struct sc_plot_marker *markers);

#endif
