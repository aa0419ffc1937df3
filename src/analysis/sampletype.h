/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Whether bare samples look like another type than the one that was stated for them. */
#ifndef SIDECOMB_ANALYSIS_SAMPLETYPE_H
#define SIDECOMB_ANALYSIS_SAMPLETYPE_H

#include <stddef.h>
#include <stdint.h>

#include <sidecomb/error.h>

#include "capture/types.h"

struct sampletype {
  const struct capture_type *stated; /* NULL: nothing is looked for any more */
  float *samples;                    /* the ones that are looked at next */
  size_t filled, room;               /* frames */
  uint64_t frames, next;             /* fed; from where on to gather */
};

/* What was found: `like` NULL where nothing speaks for another type. */
struct sampletype_finding {
  const struct capture_type *like;
  double gain_db; /* regularity as read so over that as stated: see measure/regularity.h */
};

/* For complex samples. A look takes some milliseconds; it is repeated half as far on again, as
 * long as the samples say nothing. */
enum sc_error sampletype_start(struct sampletype *type, const struct capture_type *stated);
struct sampletype_finding sampletype_feed(struct sampletype *type, const float *iq, size_t frames);
void sampletype_end(struct sampletype *type);

#endif
