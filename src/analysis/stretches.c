/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/stretches.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "common/kernel.h"

enum { RUN = ANALYSIS_STRETCH_FRAMES, LANES = 8 };

/* Between a carrier at 4 dB over the noise, or with 50 % of AM, and noise alone. */
static const double noise_like = 1.6;
static const double weaker = 0.25;
/* Noise 4 dB below a line draws the mean of its frequency in by 8 % (1 - exp(-C / N), S. O. Rice
 * 1963, from memory). */
static const double zero_least_khz = 20, zero_near = 0.15;
/* Of the carrier's mean power, a run: what a slowly fading carrier needs. */
static const double memory = 0.99;

struct run {
  size_t frames;
  bool gap;     /* before it */
  bool spoiled; /* a hole is in it */
  bool on;
  float khz[RUN], filtered[2 * RUN];
};

struct analysis_stretches {
  double zero_khz;
  analysis_stretch_sink *sink;
  analysis_stretch_left_out *tell_left_out;
  void *context;
  double carrier;        /* mean power of the runs with a carrier; 0: none so far */
  double before, frames; /* power of what the sink had before the first, summed */
  bool on, begun;
  bool spoiled; /* what comes has a hole */
  bool last_on; /* the run before `waiting`, without a gap */
  bool skipped; /* something was left out since the sink's last run */
  uint64_t left_out;
  size_t cut;                    /* frames of the run that is filled which a flush took before */
  struct run *waiting, *filling; /* waiting: whole and judged, or empty */
  struct run runs[2];
};

enum sc_error analysis_stretches_create(double zero_khz, analysis_stretch_sink *sink,
                                        analysis_stretch_left_out *left_out, void *context,
                                        struct analysis_stretches **stretches)
{
  struct analysis_stretches *s = calloc(1, sizeof *s);
  if (s == NULL)
    return SC_NO_MEMORY;
  s->zero_khz = zero_khz;
  s->sink = sink;
  s->tell_left_out = left_out;
  s->context = context;
  s->on = s->last_on = true;
  s->waiting = &s->runs[0];
  s->filling = &s->runs[1];
  *stretches = s;
  return SC_OK;
}

struct moments {
  double second, fourth; /* means of |z|^2 and |z|^4 */
};

SC_KERNEL
static void add_up(const float *z, size_t frames, double *restrict second, double *restrict fourth)
{
  for (size_t n = 0; n < frames; n += LANES)
    for (size_t l = 0; l < LANES; l++) {
      const double re = (double)z[2 * (n + l)], im = (double)z[2 * (n + l) + 1];
      const double power = re * re + im * im;
      second[l] += power;
      fourth[l] += power * power;
    }
}

static struct moments moments_of(const float *z, size_t frames)
{
  double second[LANES] = {0}, fourth[LANES] = {0};
  const size_t whole = frames - frames % LANES;
  add_up(z, whole, second, fourth);
  for (size_t n = whole; n < frames; n++) {
    const double re = (double)z[2 * n], im = (double)z[2 * n + 1], power = re * re + im * im;
    second[0] += power;
    fourth[0] += power * power;
  }
  for (size_t l = 1; l < LANES; l++) {
    second[0] += second[l];
    fourth[0] += fourth[l];
  }
  return (struct moments){second[0] / (double)frames, fourth[0] / (double)frames};
}

static bool is_at_zero(const struct analysis_stretches *s, const struct run *run)
{
  double sum = 0;
  if (!(fabs(s->zero_khz) >= zero_least_khz))
    return false;
  for (size_t n = 0; n < run->frames; n++)
    sum += (double)run->khz[n];
  return fabs(sum / (double)run->frames - s->zero_khz) < zero_near * fabs(s->zero_khz);
}

/* Something that is no number, or too large for one, is left to those who measure. */
static bool judge(struct analysis_stretches *s, const struct run *run)
{
  if (run->spoiled && s->carrier > 0)
    return false;
  const struct moments m = moments_of(run->filtered, run->frames);
  if (!isfinite(m.fourth))
    return true;
  const bool silent = !(m.second > 0);
  if (run->spoiled && !silent && m.fourth < noise_like * m.second * m.second)
    return false; /* a carrier, but for the hole */
  const bool first = s->carrier == 0, weak = !first && m.second < weaker * s->carrier;
  const bool noise = silent || m.fourth > noise_like * m.second * m.second ||
                     ((first || weak) && is_at_zero(s, run));
  if (!noise && first) {
    s->begun = s->frames > 0 && s->before / s->frames < weaker * m.second;
    s->carrier = m.second;
  } else if (!noise) {
    s->carrier = memory * s->carrier + (1 - memory) * m.second;
  } else if (first) {
    s->before += m.second * (double)run->frames;
    s->frames += (double)run->frames;
  }
  return !noise || !weak;
}

/* The run that waited has now a neighbour on either side, or needs none. */
static void release(struct analysis_stretches *s, bool next_on)
{
  struct run *run = s->waiting;
  if (run->frames == 0)
    return;
  if (run->on && next_on && s->last_on) {
    s->sink(s->context, run->khz, run->filtered, run->frames, run->gap || s->skipped);
    s->skipped = false;
  } else {
    s->left_out += run->frames;
    s->tell_left_out(s->context, run->frames);
    s->skipped = true;
  }
  s->last_on = run->on;
  run->frames = 0;
}

static void end_run(struct analysis_stretches *s)
{
  struct run *run = s->filling;
  run->on = s->on = judge(s, run);
  release(s, run->on);
  s->filling = s->waiting;
  s->waiting = run;
  s->filling->frames = 0;
  s->filling->gap = s->filling->spoiled = false;
}

void analysis_stretches_flush(struct analysis_stretches *stretches)
{
  struct analysis_stretches *s = stretches;
  s->cut = (s->cut + s->filling->frames) % RUN;
  if (s->filling->frames > 0)
    end_run(s);
  release(s, true);
}

void analysis_stretches_feed(struct analysis_stretches *stretches, const float *khz,
                             const float *filtered, size_t frames, bool discontinuity)
{
  struct analysis_stretches *s = stretches;
  if (discontinuity) {
    analysis_stretches_flush(s);
    s->cut = 0;
    s->filling->gap = true;
    s->last_on = true;
  }
  while (frames > 0) {
    struct run *run = s->filling;
    const size_t left = RUN - s->cut - run->frames, taken = frames < left ? frames : left;
    memcpy(run->khz + run->frames, khz, taken * sizeof *khz);
    memcpy(run->filtered + 2 * run->frames, filtered, 2 * taken * sizeof *filtered);
    run->frames += taken;
    run->spoiled = run->spoiled || s->spoiled;
    khz += taken;
    filtered += 2 * taken;
    frames -= taken;
    if (taken == left) {
      s->cut = 0;
      end_run(s);
    }
  }
}

void analysis_stretches_spoil(struct analysis_stretches *stretches, bool spoiled)
{
  stretches->spoiled = spoiled;
}

bool analysis_stretches_carrier(const struct analysis_stretches *stretches)
{
  return stretches->carrier > 0;
}

bool analysis_stretches_on(const struct analysis_stretches *stretches)
{
  return stretches->on;
}

bool analysis_stretches_begun(const struct analysis_stretches *stretches)
{
  return stretches->begun;
}

uint64_t analysis_stretches_left_out(const struct analysis_stretches *stretches)
{
  return stretches->left_out;
}

void analysis_stretches_destroy(struct analysis_stretches *stretches)
{
  free(stretches);
}
