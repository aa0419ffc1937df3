/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Smooth movements, by sums over sliding windows. */
#include "measure/wander.h"

#include <math.h>

static const double smooth = 0.25, nearest = 0.4, farther = 0.1; /* of a window */
enum { HOPS_LEAST = 8, HOPS_WANTED = 16 }; /* of a window; twice as many are halved */
static const double leak_of_least = 2e-3;  /* half as much again: hops show not all of a note */
static const double windows_least = 4.8;   /* as many as eight nearly independent ones, 0.6 apart */

double measure_window_hz(const struct dsp_hops *khz, size_t first, size_t hops)
{
  struct dsp_parabola fit;
  dsp_hops_fit(khz, first, hops, &fit);
  return 1e3 * fit.a;
}

static void add_value(struct measure_wander *w, double t, double hz)
{
  w->lowest_hz = w->count > 0 ? fmin(w->lowest_hz, hz) : hz;
  w->highest_hz = w->count > 0 ? fmax(w->highest_hz, hz) : hz;
  w->count++;
  w->t += t;
  w->hz += hz;
  w->tt += t * t;
  w->thz += t * hz;
  w->hzhz += hz * hz;
}

static void add_third(struct measure_wander *w, const double *hz, size_t i, size_t lag)
{
  const double third = hz[i] - 3 * hz[i - lag] + 3 * hz[i - 2 * lag] - hz[i - 3 * lag];
  w->thirds++;
  w->third_squares += third * third;
}

/* With those before it in its row. */
static void add_steps(struct measure_wander *w, const double *hz, size_t i, double window,
                      double hop_s)
{
  for (size_t k = 0; k < MEASURE_WANDER_LAGS; k++) {
    const size_t lag = (size_t)rint((nearest + farther * (double)k) * window);
    if (i < lag)
      continue;
    const double step = hz[i] - hz[i - lag];
    w->steps[k].pairs++;
    w->steps[k].windows += 1 / window;
    w->steps[k].s += (double)lag * hop_s;
    w->steps[k].hz += step;
    w->steps[k].squares += step * step;
    if (i >= 3 * lag)
      add_third(w, hz, i, lag);
  }
}

/* Their rms about their mean. */
static double moves(const double *hz, size_t count)
{
  double sum = 0, squares = 0;
  for (size_t i = 0; i < count; i++)
    sum += hz[i];
  for (size_t i = 0; i < count; i++)
    squares += (hz[i] - sum / (double)count) * (hz[i] - sum / (double)count);
  return sqrt(squares / (double)count);
}

/* The power of the first three Legendre polynomials in each hop, which show a note of a period and
 * a half in it still (textbook). */
static void add_spread(struct measure_wander *w, const struct dsp_hops *khz, double about_hz)
{
  const double frames = (double)(DSP_TAPER_BLOCK * khz->blocks_in_hop);
  for (size_t h = 0; h < khz->count; h++) {
    const double *m = khz->moment[h];
    const double mean = 1e3 * m[0] / frames - about_hz, slope = 1e3 * m[1] / frames;
    const double bend = 1e3 * (3 * m[2] - m[0]) / 2 / frames;
    w->hops++;
    w->spread_squares += mean * mean + 3 * slope * slope + 5 * bend * bend;
  }
}

double measure_wander_add(struct measure_wander *wander, const struct dsp_hops *khz,
                          double blocks_per_s, double window_s, double from_s, double about_hz)
{
  double hz[DSP_HOPS_MAX];
  struct dsp_hops coarse = *khz;
  const double blocks = window_s * blocks_per_s;
  while (blocks >= 2.0 * HOPS_WANTED * (double)coarse.blocks_in_hop && coarse.count > 1)
    dsp_hops_halve(&coarse);
  const size_t hops = (size_t)rint(blocks / (double)coarse.blocks_in_hop);
  const double hop_s = (double)coarse.blocks_in_hop / blocks_per_s;
  if (hops < HOPS_LEAST || hops > coarse.count)
    return 0;
  add_spread(wander, khz, about_hz);
  wander->leak = fmax(wander->leak, leak_of_least * pow((double)HOPS_LEAST / (double)hops, 4));
  const size_t count = coarse.count - hops + 1;
  for (size_t i = 0; i < count; i++) {
    hz[i] = measure_window_hz(&coarse, i, hops) - about_hz;
    add_value(wander, from_s + ((double)i + (double)hops / 2) * hop_s, hz[i]);
    add_steps(wander, hz, i, (double)hops, hop_s);
  }
  return moves(hz, count);
}

/* About a line of this slope, the mean square of steps over all lags. */
static double steps_of(const struct measure_wander *w, double slope)
{
  double sum = 0;
  for (size_t k = 0; k < MEASURE_WANDER_LAGS; k++) {
    const double pairs = w->steps[k].pairs, s = w->steps[k].s / fmax(pairs, 1);
    sum += w->steps[k].squares / fmax(pairs, 1) - 2 * slope * s * w->steps[k].hz / fmax(pairs, 1) +
           slope * slope * s * s;
  }
  return sum / MEASURE_WANDER_LAGS;
}

struct measure_course measure_course_of(const struct measure_wander *w)
{
  struct measure_course course = {.noise_hz = (double)NAN};
  if (w->count < 3)
    return course;
  const double tt = w->tt - w->t * w->t / w->count, thz = w->thz - w->t * w->hz / w->count;
  const double hzhz = w->hzhz - w->hz * w->hz / w->count, slope = tt > 0 ? thz / tt : 0;
  const double variance = fmax(hzhz - slope * thz, 0) / (w->count - 2);
  const double steps = steps_of(w, slope);
  if (w->thirds > 0)
    course.noise_hz = sqrt(w->third_squares / w->thirds / 20); /* 1 + 9 + 9 + 1 */
  course.known = w->steps[MEASURE_WANDER_LAGS - 1].windows >= windows_least;
  course.rms_hz = sqrt(variance);
  course.steps = variance > 0 ? steps / variance : (double)INFINITY;
  course.smooth = course.known && course.steps < smooth &&
                  course.rms_hz > w->leak * sqrt(w->spread_squares / w->hops);
  return course;
}

double measure_course_hz(const struct measure_course *course, double window_s)
{
  static const double pi = 3.14159265358979323846;
  const double lag = nearest + farther * (MEASURE_WANDER_LAGS - 1) / 2;
  return asin(sqrt(fmin(course->steps, 4)) / 2) / (pi * lag * window_s); /* 4 sin(pi f t)^2 */
}
