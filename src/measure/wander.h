/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Whether a frequency moves to and fro as an oscillator does, smoothly, and not as modulation does,
 * from one moment to the next as much as from the first to the last.
 *
 * Seen through a sliding window (dsp/hops.h), smooth is what changes from window to window by less
 * than a quarter of the variance about a straight line (J. von Neumann, Ann. Math. Stat. 12, 1941:
 * of independent values it is twice the variance; a programme of pink noise has 1.5 to 2). Windows
 * are compared that are 0.4 to 0.7 of their length apart: one distance alone would take a note of
 * that period for a slow movement. One of the hops' period passes for one all the same; of it a
 * window lets 1.3e-3 through at 8 hops and less with the fourth power of more (computed), so what
 * moves by no more than that of all that the hops show is no wander. */
#ifndef SIDECOMB_MEASURE_WANDER_H
#define SIDECOMB_MEASURE_WANDER_H

#include <stdbool.h>
#include <stddef.h>

#include "dsp/hops.h"

enum { MEASURE_WANDER_LAGS = 4 };

/* What was seen so far through windows of one length: sums. */
struct measure_wander {
  double count, t, hz, tt, thz, hzhz;
  double lowest_hz, highest_hz;
  double hops, spread_squares; /* of all that moves the frequency, as slow as hops show */
  double leak;                 /* share of a note that may pass for a slow movement */
  struct {
    double pairs, windows, s, hz, squares; /* windows: how many of them they span */
  } steps[MEASURE_WANDER_LAGS];
  double thirds, third_squares;
};

struct measure_course {
  bool known;      /* enough was seen */
  double steps;    /* mean square of steps over the variance */
  bool smooth;     /* surely */
  double rms_hz;   /* about the straight line that fits best */
  double noise_hz; /* of one window, by third differences, of which a smooth movement makes next to
                      none; NAN: unknown */
};

/* A window of so many hops, at the hop from which it begins. In Hz of kHz. */
double measure_window_hz(const struct dsp_hops *khz, size_t first, size_t hops);
/* Adds a row without a gap that begins at from_s, less `about_hz`. Returns how much it moves by
 * itself (rms), 0 where it is too short, or its hops too long, for such windows. */
double measure_wander_add(struct measure_wander *wander, const struct dsp_hops *khz,
                          double blocks_per_s, double window_s, double from_s, double about_hz);
struct measure_course measure_course_of(const struct measure_wander *wander);
/* The sine, with a mean, that fits equally spaced values best, up to most_hz. Of a frequency in
 * white noise the uncertainty is sqrt(6 / n) / (pi T) of the rest over the peak (textbook); of n
 * values of which `alike` neighbours have the same noise it is as of fewer. */
struct measure_sine {
  bool found; /* it is nearly all of the movement, and one and a half periods were seen */
  double peak_hz, period_s, period_uncertainty_s;
};
struct measure_sine measure_sine_of(const double *hz, size_t count, double step_s, double most_hz,
                                    double alike);
/* Of the sine that would make such steps through such windows. */
double measure_course_hz(const struct measure_course *course, double window_s);

#endif
