/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the parts of the screen stand, as a function of its size.
 *
 * The account comes first: its sentence across the top, its rows beside the plot, or above it
 * on a narrow screen. Parts that find no room have height 0. */
#ifndef SIDECOMB_VIEW_LAYOUT_H
#define SIDECOMB_VIEW_LAYOUT_H

#include <stdbool.h>

#include "view/grid.h"

struct view_layout {
  struct view_box sentence, account, plot, time, settings, readout;
  struct view_box bottom; /* prompts, messages and hints; the last row, always there */
  bool hints;             /* the last row is free for hints */
  bool beside;            /* account and plot stand side by side */
};

/* `time`: whether the capture has a length, of which a row says where one is. */
struct view_layout view_layout(int width, int height, bool time);
/* Gives the sentence over a sheet so many lines as it takes, up to a sixth of the screen
 * where that is more than it has. */
void view_layout_sentence(struct view_layout *layout, int lines);
/* Where a sheet stands: below the sentence, in the place of all but the last row. */
struct view_box view_layout_sheet(const struct view_layout *layout);

#endif
