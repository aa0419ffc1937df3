/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Overlapping blocks, two at a time: one in the real, one in the imaginary part of a transform.
 * The bins to stay are chosen for both alike, so that the two need not be separated. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "measure/occupied.h"

#include "common/kernel.h"
#include "dsp/gamma.h"
#include "dsp/quarters.h"
#include "dsp/window.h"
#include "measure/turns.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.1415926535897932384626433832795

enum {
  LENGTH = 1 << 14,
  HOP = LENGTH / 2,
  HALF = LENGTH / 2,
  WIDE = 12,
  STRIDE = 6,
  NEAR = 2,
  BESIDE = 2,
  RISE = 256,
  LANES = 8
};

static const double window_alpha = 4.0;
/* All pairs of so long a time are looked at, then stretches of so many, and the others where the
 * composite goes beyond all that was looked at. */
static const double whole_s = 10.0;
enum { STRETCH_PAIRS = 16 };
static const double top_hz = 101e3;  /* nothing of a composite is above */
static const double always_hz = 5e3; /* the noise below does not matter */
static const double quiet_from_hz = 20e3;
static const double quiet_to_hz = 90e3;
static const double quiet_share = 0.1;
static const double quiet_sigma = 1.28; /* below the mean, of that quantile */
static const double pairs_averaged = 20.0;
static const double looks_of_pair = 1.5; /* the two overlap by half */
static const double bins_per_look = 2.5; /* for the window */
/* That noise passes for more, in one bin of one pair: on the average, for the moment. */
static const double false_average = 1e-10;
static const double false_moment = 1e-12;
/* At the ends of the stream a frame is in one block alone; it is believed where the window is this
 * high, so that its noise is at most so much lower there. */
static const float window_least = 0.7F;

/* Held above the highest bin that stayed, at the ends of a stretch: beside a tone the window there,
 * which rises in half a millisecond, has next to nothing so far out. */
static const double rise_hz = 4e3;

/* How far above the noise of a bin, which goes with its number's square. */
struct thresholds {
  double alone, wide, moment, near;
};

struct measure_occupied {
  double rate_hz, bin_hz;
  size_t top, reach; /* bins: the last that may stay; the last that is looked at */
  struct dsp_quarters *fft;
  float *rows, *bins; /* of the transform */
  float *values;      /* LENGTH complex ones, before it */
  float window[LENGTH];
  float level[LENGTH]; /* a window for the ends: nearly flat */
  float back[LENGTH];  /* weights of the way back */
  float head[LENGTH];  /* the first frames of the stretch */
  size_t head_frames;
  size_t highest; /* bin that stayed, in any pair */
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
  float mean[HALF + 1], power[HALF + 1];
  float mean_sums[HALF + 2], power_sums[HALF + 2];
  float hit[HALF + 1 + 2 * BESIDE], kept[HALF + 1]; /* hit[BESIDE] is of bin 0 */
  struct thresholds over;
  double pairs, noise;                           /* of a bin: this times its number squared */
  float out[2 + 2 * HOP];                        /* two frames of the last pair before it */
  double taken_pairs, taken_squares, taken_bins; /* sums over pairs */
  double most_squares;                           /* of one pair */
  double frames, lost;                           /* lost: square of what was left out */
  struct measure_extremes extremes;
  struct measure_amplitudes amplitudes;
};

/* Kaiser-Bessel-derived: the root of the running sum of a Kaiser window. */
static enum sc_error make_window(float *window)
{
  double *kaiser = malloc((HOP + 1) * sizeof *kaiser);
  if (kaiser == NULL)
    return SC_NO_MEMORY;
  dsp_window_fill(SC_WINDOW_KAISER, PI * window_alpha, HOP, kaiser);
  kaiser[HOP] = kaiser[0];
  double all = 0.0;
  double sum = 0.0;
  for (size_t i = 0; i <= HOP; i++)
    all += kaiser[i];
  for (size_t i = 0; i < HOP; i++) {
    sum += kaiser[i];
    window[i] = window[LENGTH - 1 - i] = (float)sqrt(sum / all);
  }
  free(kaiser);
  return SC_OK;
}

static void make_level(float *level)
{
  for (size_t i = 0; i < LENGTH; i++)
    level[i] = 1.0F;
  for (size_t i = 0; i < RISE; i++) {
    const double share = ((double)i + 0.5) / RISE;
    level[i] = level[LENGTH - 1 - i] = (float)(0.5 - 0.5 * cos(PI * share));
  }
}

static enum sc_error make_transform(struct measure_occupied *o)
{
  enum sc_error error = dsp_quarters_create(LENGTH, DSP_PLAN_ESTIMATE, &o->fft);
  if (error != SC_OK)
    return error;
  o->rows = dsp_memory_make(dsp_quarters_room(o->fft) * sizeof *o->rows);
  o->bins = dsp_memory_make(2 * LENGTH * sizeof *o->bins);
  o->values = dsp_memory_make(2 * LENGTH * sizeof *o->values);
  for (size_t i = 0; i < LENGTH; i++)
    o->back[i] = 1.0F / (float)LENGTH;
  return o->rows != NULL && o->bins != NULL && o->values != NULL ? SC_OK : SC_NO_MEMORY;
}

enum sc_error measure_occupied_create(double rate_hz, struct measure_occupied **occupied)
{
  struct measure_occupied *o = calloc(1, sizeof *o);
  if (o == NULL)
    return SC_NO_MEMORY;
  o->rate_hz = rate_hz;
  o->bin_hz = rate_hz / LENGTH;
  o->top = (size_t)fmin(HALF - 1 - BESIDE, top_hz / o->bin_hz);
  o->reach = o->top + WIDE < HALF - 1 ? o->top + WIDE : HALF - 1;
  enum sc_error error = make_transform(o);
  if (error == SC_OK)
    error = make_window(o->window);
  make_level(o->level);
  while (error == SC_OK && o->window[o->edge] < window_least)
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
  dsp_quarters_destroy(occupied->fft);
  dsp_memory_free(occupied->rows);
  dsp_memory_free(occupied->bins);
  dsp_memory_free(occupied->values);
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
  memset(o->mean, 0, sizeof o->mean);
  memset(&o->amplitudes, 0, sizeof o->amplitudes);
  o->pairs = o->noise = 0.0;
  o->taken_pairs = o->taken_squares = o->taken_bins = o->most_squares = 0.0;
  o->frames = o->lost = 0.0;
  o->extremes = o->ends = measure_extremes_none();
  o->ends_frames = 0.0;
  o->highest = 0;
  o->reached = measure_extremes_none();
  o->turns = (struct measure_turns){(uint64_t)(whole_s * o->rate_hz / (2 * HOP)), STRETCH_PAIRS, 0};
  begin_stretch(o);
}

/* ---- which bins stay */

/* Mean over the bins within `reach` of k, by running sums. */
static float around(const float *sums, size_t k, size_t reach)
{
  return (sums[k + reach + 1] - sums[k - reach]) / (float)(2 * reach + 1);
}

static void add_up(struct measure_occupied *o)
{
  double mean = 0.0;
  double power = 0.0;
  o->mean_sums[0] = o->power_sums[0] = 0.0F;
  for (size_t k = 0; k <= o->reach; k++) {
    mean += o->mean[k];
    power += o->power[k];
    o->mean_sums[k + 1] = (float)mean;
    o->power_sums[k + 1] = (float)power;
  }
}

static double looks(const struct measure_occupied *o)
{
  return looks_of_pair * fmin(o->pairs, pairs_averaged);
}

SC_KERNEL
static int count_below(const float *restrict values, size_t count, float most)
{
  int below = 0;
  for (size_t i = 0; i < count; i++)
    below += values[i] < most;
  return below;
}

/* The noise under a tenth of the bins, by halving. Neighbours share what they are averaged over, so
 * a few of them do. */
static void find_noise(struct measure_occupied *o)
{
  const size_t from = (size_t)fmax(WIDE, quiet_from_hz / o->bin_hz);
  const size_t to = (size_t)(fmin(quiet_to_hz, 0.45 * o->rate_hz) / o->bin_hz);
  float ratio[HALF / STRIDE + 1];
  size_t count = 0;
  float low = 0.0F;
  float high = 0.0F;
  for (size_t k = from; k < to; k += STRIDE) {
    ratio[count] = around(o->mean_sums, k, WIDE) / (float)(k * k);
    high = fmaxf(high, ratio[count++]);
  }
  for (int step = 0; step < 40; step++) {
    const float middle = (low + high) / 2.0F;
    if ((double)count_below(ratio, count, middle) < quiet_share * (double)count)
      low = middle;
    else
      high = middle;
  }
  o->noise =
      (double)high / fmax(0.5, 1.0 - quiet_sigma / sqrt((2 * WIDE + 1) / bins_per_look * looks(o)));
}

/* Of both blocks: bin k and its mirror, of bins 1 to `last`. */
SC_KERNEL
static void add_pair(const float *restrict z, size_t last, float share, float *restrict power,
                     float *restrict mean)
{
  const float *const mirror = z + 2 * LENGTH;
  for (size_t k = 1; k <= last; k++) {
    const float re = z[2 * k], im = z[2 * k + 1];
    power[k] = re * re + im * im;
  }
  for (size_t k = 1; k <= last; k++) {
    const float re = *(mirror - 2 * k), im = *(mirror - 2 * k + 1);
    power[k] += re * re + im * im;
    mean[k] += share * (power[k] - mean[k]);
  }
}

static void add_power(struct measure_occupied *o)
{
  const float *z = o->bins;
  o->pairs += 1.0;
  const float share = (float)fmax(1.0 / o->pairs, 1.0 / pairs_averaged);
  add_pair(z, o->reach, share, o->power, o->mean);
  o->power[0] = 2.0F * (z[0] * z[0] + z[1] * z[1]);
  o->mean[0] += share * (o->power[0] - o->mean[0]);
}

/* They change while more and more pairs are averaged. */
static void set_thresholds(struct measure_occupied *o)
{
  const double bins = 2 * WIDE + 1;
  const double few = 2 * NEAR + 1;
  if (o->pairs > pairs_averaged)
    return;
  o->over.alone = dsp_threshold(false_average, looks(o));
  o->over.wide = bins * dsp_threshold(false_average, bins / bins_per_look * looks(o));
  o->over.moment = dsp_threshold(false_moment, looks_of_pair);
  o->over.near = few * dsp_threshold(false_moment, few / bins_per_look * looks_of_pair);
}

SC_KERNEL
static void mark(const float *restrict mean, const float *restrict power,
                 const float *restrict mean_sums, const float *restrict power_sums, size_t from,
                 size_t to, const struct thresholds *over, double noise, float *restrict hit)
{
  const float over_alone = (float)(over->alone * noise), over_wide = (float)(over->wide * noise);
  const float over_moment = (float)(over->moment * noise), over_near = (float)(over->near * noise);
  for (size_t k = from; k <= to; k++) {
    const float square = (float)(int)k * (float)(int)k;
    const float wide = mean_sums[k + WIDE + 1] - mean_sums[k - WIDE];
    const float near = power_sums[k + NEAR + 1] - power_sums[k - NEAR];
    const float alone = (mean[k] > over_alone * square) | (power[k] > over_moment * square);
    const float beside = (wide > over_wide * square) | (near > over_near * square);
    hit[k] = alone + beside;
  }
}

SC_KERNEL
static void keep_beside(const float *restrict hit, size_t to, float *restrict kept)
{
  for (size_t k = 0; k <= to; k++) {
    float sum = 0.0F;
    for (size_t i = 0; i <= 2 * BESIDE; i++)
      sum += hit[k + i];
    kept[k] = sum > 0.0F ? 1.0F : 0.0F;
  }
}

static void choose(struct measure_occupied *o)
{
  const size_t always = (size_t)fmax(WIDE, always_hz / o->bin_hz);
  float *const hit = o->hit + BESIDE;
  add_up(o);
  find_noise(o);
  set_thresholds(o);
  for (size_t k = 0; k <= always; k++)
    hit[k] = 1.0F;
  mark(o->mean, o->power, o->mean_sums, o->power_sums, always + 1, o->reach - WIDE, &o->over,
       o->noise, hit);
  keep_beside(o->hit, o->top + BESIDE, o->kept);
}

static void count_kept(struct measure_occupied *o)
{
  double squares = 0.0;
  for (size_t k = 1; k <= o->top + BESIDE; k++) {
    o->highest = o->kept[k] > 0.0F && k > o->highest ? k : o->highest;
    o->taken_bins += o->kept[k];
    squares += o->kept[k] * (double)k * (double)k;
  }
  o->taken_pairs += 1.0;
  o->taken_squares += squares;
  o->most_squares = fmax(o->most_squares, squares);
}

/* ---- there and back */

static void learn(struct measure_occupied *o)
{
  add_power(o);
  choose(o);
}

SC_KERNEL
static void pair_up(const float *restrict a, const float *restrict b, float *restrict z)
{
  for (size_t i = 0; i < LENGTH; i++) {
    z[2 * i] = a[i];
    z[2 * i + 1] = b[i];
  }
}

static void run(struct measure_occupied *o, const float *weights)
{
  dsp_quarters_divide(o->fft, o->values, weights, o->rows);
  dsp_quarters_run(o->fft, o->rows, o->bins);
}

/* One block in the real part, one in the imaginary part. */
static void transform(struct measure_occupied *o, const float *window, const float *a,
                      const float *b)
{
  pair_up(a, b, o->values);
  run(o, window);
}

/* Bins 0 to `last` and their mirrors; what is between is nothing. */
SC_KERNEL
static void exchange(const float *restrict z, const float *restrict kept, size_t last,
                     float *restrict to)
{
  const float *const upper = z + 2 * (LENGTH - last);
  float *const to_upper = to + 2 * (LENGTH - last);
  for (size_t k = 0; k <= last; k++) {
    to[2 * k] = kept[k] * z[2 * k + 1];
    to[2 * k + 1] = kept[k] * z[2 * k];
  }
  for (size_t i = 0; i < last; i++) {
    to_upper[2 * i] = kept[last - i] * upper[2 * i + 1];
    to_upper[2 * i + 1] = kept[last - i] * upper[2 * i];
  }
}

/* With real and imaginary part exchanged before and after, a transform goes back: block a comes
 * out in the imaginary part, block b in the real one. */
static const float *transform_back(struct measure_occupied *o, const float *kept, size_t last)
{
  exchange(o->bins, kept, last, o->values);
  memset(o->values + 2 * (last + 1), 0, 2 * (LENGTH - 2 * last - 1) * sizeof *o->values);
  run(o, o->back);
  return o->bins;
}

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

/* Two hops from x on, in what the composite occupies alone. */
static const float *without_noise(struct measure_occupied *o, const float *x)
{
  transform(o, o->window, x, x + HOP);
  learn(o);
  count_kept(o);
  return transform_back(o, o->kept, o->top + BESIDE);
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
  overlap(without_noise(o, x), o->window, o->tail, out);
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
  const float *w = o->window, *x = o->past + HOP;
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
  transform(o, o->window, x, x);
  const float *z = transform_back(o, o->kept, o->top + BESIDE);
  float *out = o->values;
  for (size_t i = o->edge; i < LENGTH - o->edge; i++)
    out[i] = z[2 * i + 1] / o->window[i];
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
  const size_t last = o->highest + (size_t)(rise_hz / o->bin_hz);
  return last < o->top + BESIDE ? last : o->top + BESIDE;
}

/* Two blocks, below the highest frequency, where their window is flat. */
static struct measure_extremes held_below(struct measure_occupied *o, const float *a,
                                          const float *b)
{
  const size_t last = last_held(o);
  float all[HALF + 1];
  for (size_t k = 0; k <= last; k++)
    all[k] = 1.0F;
  transform(o, o->level, a, b);
  const float *z = transform_back(o, all, last);
  float *one = o->values, *other = one + LENGTH;
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
  const double hz = (double)last_held(o) * o->bin_hz;
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
  r.bandwidth_hz = o->taken_bins / o->taken_pairs * o->bin_hz;
  r.noise_most_hz3 = o->most_squares * pow(o->bin_hz, 3.0);
  r.noise_hz3 = o->taken_squares / o->taken_pairs * pow(o->bin_hz, 3.0);
  if (o->started) {
    const struct measure_extremes rest = rest_of(o);
    measure_extremes_widen(&r.extremes, &rest);
  }
  add_ends(o, &r);
  return r;
}
