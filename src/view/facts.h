/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows of what a quantity says, what was measured, what is expected of it, and the rest. */
#ifndef SIDECOMB_VIEW_FACTS_H
#define SIDECOMB_VIEW_FACTS_H

#include <sidecomb/result.h>

#include "view/grid.h"

struct view_fact {
  const char *cause;
  const char *field;    /* of the report, "pilot.deviation_khz"; NULL: `text` */
  const char *text;     /* measured in words, where `field` is NULL */
  const char *expected; /* with its source; "": nothing is */
  double least, most;   /* NAN: no bound */
};

/* Draws rows from `first` on under a header; what was not measured says why, in as many lines as
 * that takes. Returns the lines of the box that were used. */
int view_facts(struct view_grid *grid, struct view_box box, const struct sc_result *result,
               const struct view_fact *facts, size_t count, int first);
/* The last `first` that makes a difference: from it on all fits. */
int view_facts_last(struct view_box box, bool ascii, const struct sc_result *result,
                    const struct view_fact *facts, size_t count);
/* Lines that all rows take, without the header. */
int view_facts_lines(int width, bool ascii, const struct sc_result *result,
                     const struct view_fact *facts, size_t count);

#endif
