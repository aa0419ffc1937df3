/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/lines_wander.h"

#include <math.h>
#include <string.h>

/* Our choice: longer ones would not follow a period of two seconds, shorter ones follow low notes.
 */
static const double longest_s = 0.35;
/* A line that moves by so much about a straight line is blurred, whatever is turned back of it. */
static const double matters_bins = 0.5;
/* A sine whose windows make steps so large has 3.6 of them in its period, and is followed to the
 * fourth order of that: by 5e-4 short (dsp/hops.h). */
static const double followed_steps = 1;

void lines_wander_reset(struct lines_wander *wander)
{
  memset(wander, 0, sizeof *wander);
}

static double blocks_per_s(const struct dsp_hops *khz, double record_s)
{
  return (double)dsp_hops_frames(khz) / DSP_TAPER_BLOCK / record_s;
}

/* Steps go with the square of a window's length. */
static void judge(struct lines_wander *wander, double record_s)
{
  for (size_t w = 0; w < LINES_WANDER_WINDOWS && !wander->sure; w++) {
    const struct measure_course of = measure_course_of(&wander->seen[w]);
    wander->sure = of.smooth && of.rms_hz * record_s > matters_bins;
    if (!wander->sure)
      continue;
    wander->noise_hz = of.noise_hz / sqrt(wander->seen[w].count);
    double steps = of.steps;
    wander->window_s = ldexp(longest_s, -(int)w);
    wander->repeats = measure_course_hz(&of, wander->window_s) * record_s > 1;
    for (size_t k = w; k > 0 && 4 * steps < followed_steps; k--, steps *= 4)
      wander->window_s *= 2;
  }
}

bool lines_wander_note(struct lines_wander *wander, const struct dsp_hops *khz, double middle_s,
                       double record_s, double first_hz)
{
  const double rate = blocks_per_s(khz, record_s), from_s = middle_s - record_s / 2;
  double moves_hz = (double)INFINITY;
  if (wander->sure)
    return true;
  /* A carrier that seems to stand still is not looked at more closely. */
  for (size_t w = 0; w < LINES_WANDER_WINDOWS && moves_hz * record_s > matters_bins / 2; w++) {
    const double window_s = ldexp(longest_s, -(int)w);
    const double seen = measure_wander_add(&wander->seen[w], khz, rate, window_s, from_s, first_hz);
    moves_hz = seen > 0 || w > 0 ? seen : moves_hz;
  }
  judge(wander, record_s);
  return wander->sure;
}

/* Where it is at the ends of the pieces: of the windows in reach the one about that place. */
static void walk(const struct lines_wander *wander, const struct dsp_hops *khz, double record_s,
                 double share, double first_hz, struct lines_pieces *pieces)
{
  const double frames = (double)dsp_hops_frames(khz);
  const double blocks = wander->window_s * blocks_per_s(khz, record_s);
  const double wanted = rint(blocks / (double)khz->blocks_in_hop);
  const double all = (double)khz->count, hops = fmin(fmax(wanted, 1), all);
  const double per_hop = (double)(DSP_TAPER_BLOCK * khz->blocks_in_hop);
  struct dsp_parabola fit;
  for (size_t i = 0; i <= LINES_TURN_PIECES; i++) {
    const double frame = share * frames * (double)i / LINES_TURN_PIECES;
    const double from = fmin(fmax(rint(frame / per_hop - hops / 2), 0), all - hops);
    dsp_hops_fit(khz, (size_t)from, (size_t)hops, &fit);
    pieces->bins[i] = (1e3 * dsp_parabola_at(&fit, frame) - first_hz) * record_s * share;
  }
}

/* Of three after another. */
static double second_at(const double *bins, size_t i)
{
  const size_t middle = i < 1 ? 1 : i < LINES_TURN_PIECES ? i : LINES_TURN_PIECES - 1;
  return bins[middle - 1] - 2 * bins[middle] + bins[middle + 1];
}

/* Its mean over a piece: the trapezoid, less a twelfth of the second difference (textbook). */
static double mean_over(const double *bins, size_t i)
{
  return (bins[i] + bins[i + 1]) / 2 - (second_at(bins, i) + second_at(bins, i + 1)) / 24;
}

void lines_wander_pieces(const struct lines_wander *wander, const struct dsp_hops *khz,
                         double record_s, double share, double first_hz,
                         struct lines_pieces *pieces)
{
  walk(wander, khz, record_s, share, first_hz, pieces);
  pieces->lowest = pieces->highest = pieces->bins[0];
  pieces->cycles[0] = 0;
  for (size_t i = 0; i < LINES_TURN_PIECES; i++) {
    pieces->cycles[i + 1] = pieces->cycles[i] + mean_over(pieces->bins, i) / LINES_TURN_PIECES;
    pieces->lowest = fmin(pieces->lowest, pieces->bins[i + 1]);
    pieces->highest = fmax(pieces->highest, pieces->bins[i + 1]);
  }
  const double middle = pieces->cycles[LINES_TURN_PIECES / 2];
  for (size_t i = 0; i <= LINES_TURN_PIECES; i++)
    pieces->cycles[i] -= middle;
}
