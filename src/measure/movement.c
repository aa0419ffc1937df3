/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The window through which the carrier's course is smooth, and what it shows. */
#include "measure/movement.h"

#include <math.h>
#include <string.h>

/* The one that the searches for lines follow it through, longer ones, and then shorter ones. */
static const double window_s = 0.35;
enum { LONGER = 8 };
/* Half a bin of the longest record of a search for lines, 2.7 s. */
static const double matters_hz = 0.2;
static const double faster = 3;  /* times the sine that its steps tell, its period is looked for */
static const double apart = 0.6; /* of a window: from there on two are nearly independent */
enum { VALUES_MAX = 512 };

void measure_mover_reset(struct measure_mover *mover, double rate_hz)
{
  mover->blocks_per_s = rate_hz / DSP_TAPER_BLOCK;
  mover->blocks = 0;
  dsp_hops_reset(&mover->all);
  dsp_hops_reset(&mover->fine);
  memset(mover->seen, 0, sizeof mover->seen);
}

/* A carrier that seems to stand still is not looked at more closely. */
static void add_fine(const struct measure_mover *mover,
                     struct measure_wander seen[MEASURE_MOVEMENT_FAST])
{
  const double from_s = (double)mover->blocks / mover->blocks_per_s;
  double moves_hz = INFINITY;
  for (int k = 0; k < MEASURE_MOVEMENT_FAST && moves_hz > matters_hz / 2; k++)
    moves_hz = measure_wander_add(&seen[k], &mover->fine, mover->blocks_per_s,
                                  ldexp(window_s, -1 - k), from_s, 0);
}

void measure_mover_feed(struct measure_mover *mover, struct dsp_taper *taper, const float *khz,
                        size_t frames)
{
  while (frames > 0) {
    const size_t room = DSP_TAPER_BLOCK - (size_t)(taper->frames % DSP_TAPER_BLOCK);
    const size_t n = frames < room ? frames : room;
    dsp_taper_feed(taper, khz, n);
    khz += n;
    frames -= n;
    if (n < room)
      return;
    dsp_hops_add(&mover->all, taper->last);
    dsp_hops_add(&mover->fine, taper->last);
    if (mover->fine.count < DSP_HOPS_MAX)
      continue;
    add_fine(mover, mover->seen);
    mover->blocks += DSP_HOPS_MAX;
    dsp_hops_reset(&mover->fine);
  }
}

static void take(const struct measure_wander *wander, const struct measure_course *course,
                 struct measure_movement *movement)
{
  movement->known = movement->known || course->known;
  movement->wanders = course->smooth && course->rms_hz > matters_hz;
  movement->span_hz = wander->highest_hz - wander->lowest_hz;
  movement->span_uncertainty_hz = sqrt(2) * course->noise_hz;
  movement->rms_hz = course->rms_hz;
  movement->rms_uncertainty_hz = course->noise_hz;
}

/* Every so many hops one window, so that there are no more than VALUES_MAX. */
static struct measure_sine sine_of(const struct dsp_hops *khz, double blocks_per_s, double window,
                                   const struct measure_course *course)
{
  double hz[VALUES_MAX];
  const double hop_s = (double)khz->blocks_in_hop / blocks_per_s;
  const size_t hops = (size_t)fmax(rint(window / hop_s), 1);
  if (khz->count < hops)
    return (struct measure_sine){0};
  const size_t room = khz->count - hops + 1, stride = (room + VALUES_MAX - 1) / VALUES_MAX;
  size_t count = 0;
  for (size_t at = 0; at < room; at += stride)
    hz[count++] = measure_window_hz(khz, at, hops);
  const double step_s = (double)stride * hop_s;
  return measure_sine_of(hz, count, step_s, faster * measure_course_hz(course, window),
                         apart * window / step_s);
}

static bool is_slow(const struct measure_mover *mover, struct measure_movement *movement)
{
  for (int k = 0; k < LONGER; k++) {
    const double window = ldexp(window_s, k);
    struct measure_wander wander = {0};
    measure_wander_add(&wander, &mover->all, mover->blocks_per_s, window, 0, 0);
    const struct measure_course course = measure_course_of(&wander);
    take(&wander, &course, movement);
    if (movement->wanders) {
      movement->sine = sine_of(&mover->all, mover->blocks_per_s, window, &course);
      return true;
    }
  }
  return false;
}

struct measure_movement measure_movement_of(const struct measure_mover *mover)
{
  struct measure_movement movement = {0};
  struct measure_wander seen[MEASURE_MOVEMENT_FAST];
  if (is_slow(mover, &movement))
    return movement;
  memcpy(seen, mover->seen, sizeof seen);
  add_fine(mover, seen);
  for (int k = 0; k < MEASURE_MOVEMENT_FAST && !movement.wanders; k++) {
    const struct measure_course course = measure_course_of(&seen[k]);
    take(&seen[k], &course, &movement);
    if (movement.wanders)
      movement.sine = sine_of(&mover->fine, mover->blocks_per_s, ldexp(window_s, -1 - k), &course);
  }
  return movement;
}
