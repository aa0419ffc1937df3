/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The stream of blocks that overlap by half, pair by pair: there, to the bins that stay, and back;
 * which pairs are looked at, and what the ends of a stretch hold. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "measure/occupied.h"

#include "common/kernel.h"
#include "measure/occupied_bins.h"
#include "measure/occupied_blocks.h"
#include "measure/turns.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

enum {
  LENGTH = OCCUPIED_LENGTH,
  HOP = OCCUPIED_HOP,
  HALF = OCCUPIED_HALF,
  RISE = OCCUPIED_RISE,
  LANES = 8
};

/* All pairs of so long a time are looked at, then stretches of so many, and the others where the
 * composite goes beyond all that was looked at. */
static const double whole_s = 10.0;
enum { STRETCH_PAIRS = 16 };
/* At the ends of the stream a frame is in one block alone; it is believed where the window is this
 * high, so that its noise is at most so much lower there. */
static const float window_least = 0.7F;

/* Held above the highest bin that stayed, at the ends of a stretch: beside a tone the window there,
 * which rises in half a millisecond, has next to nothing so far out. */
static const double rise_hz = 4e3;

struct measure_occupied {
  double rate_hz;
  struct occupied_blocks blocks;
  struct occupied_bins bins;
  float head[LENGTH]; /* the first frames of the stretch */
  size_t head_frames;
  struct measure_extremes ends;
  double ends_frames;
  /* a hop of history, the last one that is half done, and what came since */
  float past[4 * HOP];
  size_t filled; /* of `past` */
  size_t edge;   /* frames of a block before the window is high enough */
  bool started;
  struct measure_turns turns;      /* of pairs */
  struct measure_extremes reached; /* samples of all that was looked at */
  bool follows;                    /* `tail` is of the block before the next pair */
  float tail[HOP];                 /* of the last block */
  float out[2 + 2 * HOP];          /* two frames of the last pair before it */
  double frames, lost;             /* lost: square of what was left out */
  struct measure_extremes extremes;
  struct measure_amplitudes amplitudes;
};

enum sc_error measure_occupied_create(double rate_hz, struct measure_occupied **occupied)
{
  struct measure_occupied *o = calloc(1, sizeof *o);
  if (o == NULL)
    return SC_NO_MEMORY;
  o->rate_hz = rate_hz;
  occupied_bins_init(&o->bins, rate_hz);
  const enum sc_error error = occupied_blocks_make(&o->blocks);
  while (error == SC_OK && o->blocks.window[o->edge] < window_least)
    o->edge++;
  if (error != SC_OK) {
    measure_occupied_destroy(o);
    return error;
  }
  measure_occupied_reset(o);
  *occupied = o;
  return SC_OK;
}

void measure_occupied_destroy(struct measure_occupied *occupied)
{
  if (occupied == NULL)
    return;
  occupied_blocks_destroy(&occupied->blocks);
  free(occupied);
}

static void begin_stretch(struct measure_occupied *o)
{
  o->started = o->follows = false;
  o->filled = HOP; /* there is no history, and none is asked for */
  o->head_frames = 0;
}

void measure_occupied_reset(struct measure_occupied *occupied)
{
  struct measure_occupied *o = occupied;
  occupied_bins_reset(&o->bins);
  memset(&o->amplitudes, 0, sizeof o->amplitudes);
  o->frames = o->lost = 0.0;
  o->extremes = o->ends = measure_extremes_none();
  o->ends_frames = 0.0;
  o->reached = measure_extremes_none();
  o->turns = (struct measure_turns){(uint64_t)(whole_s * o->rate_hz / (2 * HOP)), STRETCH_PAIRS, 0};
  begin_stretch(o);
}

/* ---- there and back */

/* Sum of the squares of what is between them. */
SC_KERNEL
static double distance(const float *a, const float *b, size_t frames)
{
  double sums[LANES] = {0.0};
  const size_t whole = frames - frames % LANES;
  for (size_t i = 0; i < whole; i += LANES)
    for (size_t l = 0; l < LANES; l++) {
      const float apart = a[i + l] - b[i + l];
      sums[l] += (double)(apart * apart);
    }
  for (size_t i = whole; i < frames; i++)
    sums[0] += (double)((a[i] - b[i]) * (a[i] - b[i]));
  for (size_t l = 1; l < LANES; l++)
    sums[0] += sums[l];
  return sums[0];
}

/* Adds `frames` that came out for the x that went in; `before`: frames of out before it. */
static void add_out(struct measure_occupied *o, const float *x, const float *out, size_t frames,
                    size_t before)
{
  o->lost += distance(x, out, frames);
  o->frames += (double)frames;
  measure_amplitudes_add(&o->amplitudes, out, frames);
  const struct measure_extremes e = measure_extremes_of(out - before, frames + before);
  const struct measure_extremes samples = measure_extremes_of_samples(x, frames);
  measure_extremes_widen(&o->extremes, &e);
  measure_extremes_widen(&o->reached, &samples);
  memcpy(o->out, out + frames - 2, 2 * sizeof *o->out);
}

/* The last blocks in the bins that stay. */
static const float *kept_back(struct measure_occupied *o)
{
  return occupied_blocks_back(&o->blocks, o->bins.kept, occupied_bins_last(&o->bins));
}

/* Two hops from x on, in what the composite occupies alone. */
static const float *without_noise(struct measure_occupied *o, const float *x)
{
  occupied_blocks_there(&o->blocks, o->blocks.window, x, x + HOP);
  occupied_bins_choose(&o->bins, o->blocks.bins);
  return kept_back(o);
}

SC_KERNEL
static void overlap(const float *restrict z, const float *restrict w, float *restrict tail,
                    float *restrict out)
{
  for (size_t i = 0; i < HOP; i++) {
    const size_t late = HOP + i;
    out[i] = tail[i] + w[i] * z[2 * i + 1];
    out[late] = w[late] * z[2 * late + 1] + w[i] * z[2 * i];
    tail[i] = w[late] * z[2 * late];
  }
}

/* The pair of blocks from x on. What comes out for its first hop is right where the block before
 * was looked at, too. */
static void look_at(struct measure_occupied *o, const float *x)
{
  float *out = o->out + 2;
  overlap(without_noise(o, x), o->blocks.window, o->tail, out);
  if (o->follows)
    add_out(o, x, out, 2 * HOP, 2);
  else
    add_out(o, x + HOP, out + HOP, HOP, 0);
  o->follows = true;
}

static bool goes_beyond(const struct measure_occupied *o, const float *x)
{
  const struct measure_extremes e = measure_extremes_of_samples(x, HOP);
  return e.high > o->reached.high || e.low < o->reached.low;
}

/* Of two hops that need not be looked at, those that go beyond all others. */
static void pass_over(struct measure_occupied *o, const float *x)
{
  for (size_t hop = 0; hop < 2; hop++) {
    o->follows = false;
    if (goes_beyond(o, x + hop * HOP))
      look_at(o, x + hop * HOP - HOP);
  }
  o->follows = false;
}

static void run_pair(struct measure_occupied *o)
{
  const float *x = o->past + HOP;
  if (measure_turns_next(&o->turns, 1).on)
    look_at(o, x);
  else
    pass_over(o, x);
  memmove(o->past, o->past + 2 * HOP, 2 * HOP * sizeof *o->past);
  o->filled = 2 * HOP;
}

/* The first hop is in one block alone. */
static void run_first(struct measure_occupied *o)
{
  const float *w = o->blocks.window, *x = o->past + HOP;
  float *out = o->out + 2;
  const float *z = without_noise(o, x);
  for (size_t i = 0; i < HOP; i++) {
    out[i] = z[2 * i + 1] / fmaxf(w[i], window_least);
    o->tail[i] = w[HOP + i] * z[2 * (HOP + i) + 1];
  }
  add_out(o, x + o->edge, out + o->edge, HOP - o->edge, 0);
  memmove(o->past, o->past + HOP, 3 * HOP * sizeof *o->past);
  o->filled = 3 * HOP;
  o->started = o->follows = true;
}

static void keep_head(struct measure_occupied *o, const float *composite, size_t frames)
{
  const size_t room = LENGTH - o->head_frames, n = frames < room ? frames : room;
  memcpy(o->head + o->head_frames, composite, n * sizeof *composite);
  o->head_frames += n;
}

void measure_occupied_feed(struct measure_occupied *occupied, const float *composite, size_t frames)
{
  struct measure_occupied *o = occupied;
  keep_head(o, composite, frames);
  while (frames > 0) {
    const size_t room = 4 * HOP - o->filled;
    const size_t n = frames < room ? frames : room;
    memcpy(o->past + o->filled, composite, n * sizeof *composite);
    o->filled += n;
    composite += n;
    frames -= n;
    if (o->filled == 4 * HOP && o->started)
      run_pair(o);
    else if (o->filled == 4 * HOP)
      run_first(o);
  }
}

/* ---- result */

/* Of a block by itself, where its window is high enough. */
static struct measure_extremes extremes_at(struct measure_occupied *o, const float *x)
{
  occupied_blocks_there(&o->blocks, o->blocks.window, x, x);
  const float *z = kept_back(o);
  float *out = o->blocks.values;
  for (size_t i = o->edge; i < LENGTH - o->edge; i++)
    out[i] = z[2 * i + 1] / o->blocks.window[i];
  return measure_extremes_of(out + o->edge, LENGTH - 2 * o->edge);
}

/* Of what waits for its neighbours, to the last frame but `edge`: blocks that end with it, and
 * before. The bins are those of the last pair. */
static struct measure_extremes rest_of(struct measure_occupied *o)
{
  const size_t step = LENGTH - 2 * o->edge, last = o->filled - LENGTH;
  struct measure_extremes e = extremes_at(o, o->past + last);
  for (size_t at = 0; at < last; at += step) {
    const struct measure_extremes more = extremes_at(o, o->past + at);
    measure_extremes_widen(&e, &more);
  }
  return e;
}

/* ---- ends of a stretch */

static size_t last_held(const struct measure_occupied *o)
{
  const size_t last = o->bins.highest + (size_t)(rise_hz / o->bins.bin_hz);
  const size_t most = occupied_bins_last(&o->bins);
  return last < most ? last : most;
}

/* Two blocks, below the highest frequency, where their window is flat. */
static struct measure_extremes held_below(struct measure_occupied *o, const float *a,
                                          const float *b)
{
  const size_t last = last_held(o);
  float all[HALF + 1];
  for (size_t k = 0; k <= last; k++)
    all[k] = 1.0F;
  occupied_blocks_there(&o->blocks, o->blocks.level, a, b);
  const float *z = occupied_blocks_back(&o->blocks, all, last);
  float *one = o->blocks.values, *other = one + LENGTH;
  for (size_t i = 0; i < LENGTH; i++) {
    one[i] = z[2 * i + 1];
    other[i] = z[2 * i];
  }
  struct measure_extremes e = measure_extremes_of(one + RISE, LENGTH - 2 * RISE);
  const struct measure_extremes more = measure_extremes_of(other + RISE, LENGTH - 2 * RISE);
  measure_extremes_widen(&e, &more);
  return e;
}

/* Of a stretch that has been started, so that both are whole blocks; they may overlap. */
static struct measure_extremes stretch_ends(struct measure_occupied *o)
{
  return held_below(o, o->head, o->past + o->filled - LENGTH);
}

void measure_occupied_restart(struct measure_occupied *occupied)
{
  struct measure_occupied *o = occupied;
  if (o->started) {
    const struct measure_extremes e = stretch_ends(o);
    measure_extremes_widen(&o->ends, &e);
    o->ends_frames += 2.0 * LENGTH;
  }
  begin_stretch(o);
}

static void add_ends(struct measure_occupied *o, struct measure_occupied_result *r)
{
  const double hz = (double)last_held(o) * o->bins.bin_hz;
  r->ends = o->ends;
  r->ends_frames = o->ends_frames;
  r->ends_noise_hz3 = hz * hz * hz / 3.0;
  r->ends_bandwidth_hz = hz;
  if (!o->started)
    return;
  const struct measure_extremes e = stretch_ends(o);
  measure_extremes_widen(&r->ends, &e);
  r->ends_frames += 2.0 * LENGTH;
}

struct measure_occupied_result measure_occupied_result(struct measure_occupied *occupied)
{
  struct measure_occupied *o = occupied;
  struct measure_occupied_result r = {.amplitudes = &o->amplitudes, .extremes = o->extremes};
  if (!(o->frames > 0.0))
    return r;
  r.frames = o->frames;
  r.lost = o->lost / o->frames;
  r.bandwidth_hz = o->bins.taken_bins / o->bins.taken_pairs * o->bins.bin_hz;
  r.noise_most_hz3 = o->bins.most_squares * pow(o->bins.bin_hz, 3.0);
  r.noise_hz3 = o->bins.taken_squares / o->bins.taken_pairs * pow(o->bins.bin_hz, 3.0);
  if (o->started) {
    const struct measure_extremes rest = rest_of(o);
    measure_extremes_widen(&r.extremes, &rest);
  }
  add_ends(o, &r);
  return r;
}
