/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Whether the machine's clock was set while the viewer runs: names and dates of recordings follow
 * it, measurements do not. */
#ifndef SIDECOMB_VIEW_CLOCK_H
#define SIDECOMB_VIEW_CLOCK_H

#include <stdbool.h>
#include <stddef.h>

struct view_clock {
  bool known;
  double apart_s; /* what the time of day is ahead of the steady clock */
};

/* From both clocks, read together. True: they went apart since the last look, by a second or more,
 * and `text` says so. */
bool view_clock_look(struct view_clock *clock, double of_day_s, double steady_s, char *text,
                     size_t size);

#endif
