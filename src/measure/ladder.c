/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/ladder.h"

#include "dsp/resample.h"

#include <stdlib.h>
#include <string.h>

/* 200 Hz halved fifteen times keep 46 hours; of what is longer, those. */
enum { STEPS = 16, RUN = 1024 };

static const double pass_share = 0.15; /* of a step's rate */
static const double alias_db = 100.0;

struct step {
  struct dsp_decimator *half; /* from the step before; the first has none */
  size_t skip, filled;
  float frames[2 * MEASURE_LADDER_FRAMES];
};

struct measure_ladder {
  double rate_hz;
  struct step step[STEPS];
};

enum sc_error measure_ladder_create(double rate_hz, struct measure_ladder **ladder)
{
  struct measure_ladder *l = calloc(1, sizeof *l);
  if (l == NULL)
    return SC_NO_MEMORY;
  l->rate_hz = rate_hz;
  for (size_t s = 1; s < STEPS; s++) {
    rate_hz /= 2.0;
    const enum sc_error error = dsp_decimator_create(2, 2, pass_share * rate_hz, alias_db,
                                                     2.0 * rate_hz, RUN, &l->step[s].half);
    if (error != SC_OK) {
      measure_ladder_destroy(l);
      return error;
    }
  }
  measure_ladder_reset(l);
  *ladder = l;
  return SC_OK;
}

void measure_ladder_reset(struct measure_ladder *ladder)
{
  for (size_t s = 0; s < STEPS; s++) {
    struct step *step = &ladder->step[s];
    step->skip = step->filled = 0;
    if (step->half == NULL)
      continue;
    dsp_decimator_reset(step->half);
    step->skip = dsp_decimator_transient(step->half);
  }
}

void measure_ladder_destroy(struct measure_ladder *ladder)
{
  if (ladder == NULL)
    return;
  for (size_t s = 0; s < STEPS; s++)
    dsp_decimator_destroy(ladder->step[s].half);
  free(ladder);
}

static void keep(struct step *step, const float *in, size_t frames)
{
  const size_t room = MEASURE_LADDER_FRAMES - step->filled, n = frames < room ? frames : room;
  memcpy(step->frames + 2 * step->filled, in, 2 * n * sizeof *in);
  step->filled += n;
}

/* Steps write to two buffers in turn: each reads what the one before wrote. */
static void feed_run(struct measure_ladder *l, const float *in, size_t frames)
{
  float halved[2][RUN + 2];
  keep(&l->step[0], in, frames);
  for (size_t s = 1; s < STEPS && frames > 0; s++) {
    struct step *step = &l->step[s];
    frames = dsp_decimator_run(step->half, in, frames, halved[s % 2]);
    const size_t skipped = step->skip < frames ? step->skip : frames;
    step->skip -= skipped;
    in = halved[s % 2] + 2 * skipped;
    frames -= skipped;
    keep(step, in, frames);
  }
}

void measure_ladder_feed(struct measure_ladder *ladder, const float *in, size_t frames)
{
  while (frames > 0) {
    const size_t n = frames < RUN ? frames : RUN;
    feed_run(ladder, in, n);
    in += 2 * n;
    frames -= n;
  }
}

const float *measure_ladder_frames(const struct measure_ladder *ladder, size_t *frames,
                                   double *rate_hz)
{
  size_t s = 0;
  *rate_hz = ladder->rate_hz;
  while (s + 1 < STEPS && ladder->step[s].filled == MEASURE_LADDER_FRAMES) {
    s++;
    *rate_hz /= 2.0;
  }
  *frames = ladder->step[s].filled;
  return ladder->step[s].frames;
}
