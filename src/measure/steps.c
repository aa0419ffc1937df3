/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/steps.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

enum {
  HOPS_LEAST = 4, /* of a window */
  PER_WINDOW = 4, /* windows begin a quarter of their length apart */
  REACH = 5,      /* differences that a jump moves, to either side of the largest */
  BESIDE = 8,     /* that must be left between jumps and ends: four windows tell a low note */
  OTHERS = 24,    /* and in all */
  MEANS_MAX = PER_WINDOW * DSP_HOPS_MAX / HOPS_LEAST
};
static const double stands_out = 8, alike = 0.25;
/* The answers of filters, and the cells of what a limiter takes away. */
static const double guard_frames = 2 * DSP_TAPER_BLOCK;

struct means {
  size_t hops, stride, count;
  double hz[MEANS_MAX];
};

static size_t differences(const struct means *means)
{
  return means->count > PER_WINDOW ? means->count - PER_WINDOW : 0;
}

static double difference(const struct means *means, size_t at)
{
  return means->hz[at + PER_WINDOW] - means->hz[at];
}

static void take_means(const struct dsp_hops *khz, size_t hops, struct means *means)
{
  means->hops = hops;
  means->stride = hops / PER_WINDOW;
  means->count = 0;
  for (size_t at = 0; at + hops <= khz->count; at += means->stride)
    means->hz[means->count++] = 1e3 * dsp_hops_mean(khz, at, hops);
}

static bool is_near(const size_t *at, size_t count, size_t i)
{
  for (size_t k = 0; k < count; k++)
    if (i + REACH >= at[k] && i <= at[k] + REACH)
      return true;
  return false;
}

/* Of the differences that none of the jumps so far moves; returns how many there are. */
static size_t find_largest(const struct means *means, const size_t *at, size_t count,
                           size_t *largest)
{
  size_t left = 0;
  for (size_t i = 0; i < differences(means); i++)
    if (!is_near(at, count, i)) {
      if (left == 0 || fabs(difference(means, i)) > fabs(difference(means, *largest)))
        *largest = i;
      left++;
    }
  return left;
}

/* A window farther on either side it is as before and as after. */
static bool stays(const struct means *means, size_t at)
{
  const double by = difference(means, at);
  if (at < PER_WINDOW || at + 2 * PER_WINDOW >= means->count)
    return false;
  const double wide = means->hz[at + 2 * PER_WINDOW] - means->hz[at - PER_WINDOW];
  return fabs(wide - by) < alike * fabs(by);
}

static int by_place(const void *a, const void *b)
{
  const size_t x = *(const size_t *)a, y = *(const size_t *)b;
  return (x > y) - (x < y);
}

/* In order. */
static bool have_room(const struct means *means, const size_t *at, size_t count)
{
  size_t from = 0;
  for (size_t k = 0; k <= count; k++) {
    const size_t end = k < count ? at[k] : differences(means) + REACH;
    if (end < from + BESIDE + REACH)
      return false;
    from = end + REACH + 1;
  }
  return true;
}

static void state(const struct means *means, const size_t *at, size_t count,
                  struct measure_steps *steps)
{
  for (size_t k = 0; k < count; k++) {
    const double hop = DSP_TAPER_BLOCK, half = (double)means->hops / 2;
    const double first = (double)(at[k] * means->stride) + half;
    steps->from[k] = fmax(hop * first - guard_frames, 0);
    steps->to[k] = hop * (first + (double)means->hops) + guard_frames;
  }
  steps->count = count;
}

/* The largest ones, down to where the next one is far less. */
static bool find(const struct means *means, double least_hz, struct measure_steps *steps)
{
  size_t at[MEASURE_STEPS_MAX], next;
  double last_hz = 0;
  for (size_t count = 0; count <= MEASURE_STEPS_MAX; count++) {
    if (find_largest(means, at, count, &next) < OTHERS)
      return false;
    const double by_hz = fabs(difference(means, next));
    if (count > 0 && by_hz * stands_out < last_hz) {
      qsort(at, count, sizeof *at, by_place);
      if (!have_room(means, at, count))
        return false;
      steps->rest_hz = by_hz;
      state(means, at, count, steps);
      return true;
    }
    if (count == MEASURE_STEPS_MAX || !(by_hz >= least_hz) || !stays(means, next))
      return false;
    at[count] = next;
    last_hz = by_hz;
  }
  return false;
}

struct measure_steps measure_steps_of(const struct dsp_hops *khz, double least_hz)
{
  struct measure_steps steps = {0};
  struct means means;
  if (khz->blocks_in_hop != 1)
    return steps;
  for (size_t hops = HOPS_LEAST; PER_WINDOW * khz->count > (OTHERS + 2 * REACH) * hops; hops *= 2) {
    take_means(khz, hops, &means);
    if (find(&means, least_hz, &steps))
      return steps;
  }
  return steps;
}
