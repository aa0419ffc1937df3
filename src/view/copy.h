/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A spectrum with all that it points to, for another thread. */
#ifndef SIDECOMB_VIEW_COPY_H
#define SIDECOMB_VIEW_COPY_H

#include "view/model.h"

/* Zeroed before its first use; `points` is freed by its owner. */
struct view_copy {
  struct view_spectrum spectrum; /* its arrays are in `points` */
  float *points; /* mean, highest, lowest, difference, expected, one after the other */
  size_t room;
};

/* False: memory is short, and the copy is as it was. */
bool view_copy_take(struct view_copy *copy, const struct view_spectrum *spectrum);

#endif
