/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#include "view/clock.h"

#include <math.h>
#include <stdio.h>

/* Less is a clock that is kept right by small steps. */
static const double jump_s = 1;

bool view_clock_look(struct view_clock *clock, double of_day_s, double steady_s, char *text,
                     size_t size)
{
  const double before_s = clock->apart_s, apart_s = of_day_s - steady_s;
  const bool jumped = clock->known && fabs(apart_s - before_s) >= jump_s;
  clock->known = true;
  clock->apart_s = apart_s;
  if (!jumped)
    return false;
  /* the steady clock stands while a machine sleeps */
  (void)snprintf(text, size,
                 apart_s > before_s ? "This machine's clock went ahead by %.6g s: it was set, or "
                                      "the machine slept. Dates of recordings follow it."
                                    : "This machine's clock was set back by %.6g s. Dates of "
                                      "recordings follow it.",
                 fabs(apart_s - before_s));
  return true;
}
