/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Overlapping blocks, two at a time: one in the real, one in the imaginary part of a transform.
 * The bins to stay are chosen for both alike, so that the two need not be separated. */
#include "measure/occupied.h"

#include "dsp/fft.h"
#include "dsp/floor.h"
#include "dsp/window.h"

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
  BESIDE = 2
};

static const double window_alpha = 4.0;
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

struct measure_occupied {
  double rate_hz, bin_hz;
  struct dsp_fft *fft;
  float window[LENGTH];
  /* a hop of history, the last one that is half done, and what came since */
  float past[4 * HOP];
  size_t filled; /* of `past` */
  size_t edge;   /* frames of a block before the window is high enough */
  bool started;
  float tail[HOP]; /* of the last block */
  float mean[HALF + 1], power[HALF + 1], sums[HALF + 2], kept[HALF + 1];
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

enum sc_error measure_occupied_create(double rate_hz, struct measure_occupied **occupied)
{
  struct measure_occupied *o = calloc(1, sizeof *o);
  if (o == NULL)
    return SC_NO_MEMORY;
  o->rate_hz = rate_hz;
  o->bin_hz = rate_hz / LENGTH;
  enum sc_error error = dsp_fft_create(LENGTH, DSP_PLAN_ESTIMATE, &o->fft);
  if (error == SC_OK)
    error = make_window(o->window);
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
  dsp_fft_destroy(occupied->fft);
  free(occupied);
}

void measure_occupied_restart(struct measure_occupied *occupied)
{
  occupied->started = false;
  occupied->filled = HOP; /* there is no history, and none is asked for */
}

void measure_occupied_reset(struct measure_occupied *occupied)
{
  struct measure_occupied *o = occupied;
  memset(o->mean, 0, sizeof o->mean);
  memset(&o->amplitudes, 0, sizeof o->amplitudes);
  o->pairs = o->noise = 0.0;
  o->taken_pairs = o->taken_squares = o->taken_bins = o->most_squares = 0.0;
  o->frames = o->lost = 0.0;
  o->extremes = measure_extremes_none();
  measure_occupied_restart(o);
}

/* ---- which bins stay */

/* Mean over the bins within `reach` of k, by running sums. */
static float around(const struct measure_occupied *o, size_t k, size_t reach)
{
  const size_t from = k > reach ? k - reach : 0;
  const size_t to = k + reach < HALF ? k + reach : HALF;
  return (o->sums[to + 1] - o->sums[from]) / (float)(to + 1 - from);
}

static void add_up(struct measure_occupied *o, const float *values)
{
  double sum = 0.0;
  o->sums[0] = 0.0F;
  for (size_t k = 0; k <= HALF; k++) {
    sum += values[k];
    o->sums[k + 1] = (float)sum;
  }
}

static double looks(const struct measure_occupied *o)
{
  return looks_of_pair * fmin(o->pairs, pairs_averaged);
}

/* The noise under a tenth of the bins, by halving; `sums` holds those of the mean. Neighbours
 * share what they are averaged over, so a few of them do. */
static void find_noise(struct measure_occupied *o)
{
  const size_t from = (size_t)(quiet_from_hz / o->bin_hz);
  const size_t to = (size_t)(fmin(quiet_to_hz, 0.45 * o->rate_hz) / o->bin_hz);
  float ratio[HALF / STRIDE + 1];
  size_t count = 0;
  float low = 0.0F;
  float high = 0.0F;
  for (size_t k = from; k < to; k += STRIDE) {
    ratio[count] = around(o, k, WIDE) / (float)(k * k);
    high = fmaxf(high, ratio[count++]);
  }
  for (int step = 0; step < 40; step++) {
    const float middle = (low + high) / 2.0F;
    size_t below = 0;
    for (size_t i = 0; i < count; i++)
      below += ratio[i] < middle;
    if ((double)below < quiet_share * (double)count)
      low = middle;
    else
      high = middle;
  }
  o->noise =
      (double)high / fmax(0.5, 1.0 - quiet_sigma / sqrt((2 * WIDE + 1) / bins_per_look * looks(o)));
}

static void add_power(struct measure_occupied *o)
{
  const float *z = dsp_fft_buffer(o->fft);
  o->pairs += 1.0;
  const float share = (float)fmax(1.0 / o->pairs, 1.0 / pairs_averaged);
  for (size_t k = 0; k <= HALF; k++) {
    const float *a = z + 2 * k, *b = z + 2 * ((LENGTH - k) % LENGTH);
    o->power[k] = a[0] * a[0] + a[1] * a[1] + b[0] * b[0] + b[1] * b[1];
    o->mean[k] += share * (o->power[k] - o->mean[k]);
  }
}

static void keep(struct measure_occupied *o, size_t k)
{
  const size_t from = k > BESIDE ? k - BESIDE : 0;
  const size_t to = k + BESIDE < HALF ? k + BESIDE : HALF;
  for (size_t i = from; i <= to; i++)
    o->kept[i] = 1.0F;
}

static void choose(struct measure_occupied *o)
{
  const size_t top = (size_t)fmin(HALF, top_hz / o->bin_hz);
  const size_t always = (size_t)(always_hz / o->bin_hz);
  const double alone = dsp_threshold(false_average, looks(o));
  const double wide = dsp_threshold(false_average, (2 * WIDE + 1) / bins_per_look * looks(o));
  const double moment = dsp_threshold(false_moment, looks_of_pair);
  const double near = dsp_threshold(false_moment, (2 * NEAR + 1) / bins_per_look * looks_of_pair);
  memset(o->kept, 0, sizeof o->kept);
  add_up(o, o->mean);
  find_noise(o);
  for (size_t k = 0; k <= top; k++) {
    const double noise = o->noise * (double)k * (double)k;
    if (k <= always || o->mean[k] > alone * noise || around(o, k, WIDE) > wide * noise ||
        o->power[k] > moment * noise)
      keep(o, k);
  }
  add_up(o, o->power);
  for (size_t k = always; k <= top; k++)
    if (around(o, k, NEAR) > near * o->noise * (double)k * (double)k)
      keep(o, k);
}

static void count_kept(struct measure_occupied *o)
{
  double squares = 0.0;
  for (size_t k = 1; k <= HALF; k++) {
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

/* One block in the real part, one in the imaginary part (NULL: none). */
static void transform(struct measure_occupied *o, const float *a, const float *b)
{
  float *z = dsp_fft_buffer(o->fft);
  for (size_t i = 0; i < LENGTH; i++) {
    z[2 * i] = o->window[i] * a[i];
    z[2 * i + 1] = b != NULL ? o->window[i] * b[i] : 0.0F;
  }
  dsp_fft_run(o->fft);
}

/* With real and imaginary part exchanged before and after, a transform goes back: block a comes
 * out in the imaginary part, block b in the real one. */
static const float *transform_back(struct measure_occupied *o)
{
  float *z = dsp_fft_buffer(o->fft);
  for (size_t k = 0; k < LENGTH; k++) {
    const float gain = o->kept[k <= HALF ? k : LENGTH - k] / (float)LENGTH;
    const float re = gain * z[2 * k];
    z[2 * k] = gain * z[2 * k + 1];
    z[2 * k + 1] = re;
  }
  dsp_fft_run(o->fft);
  return z;
}

/* Adds `frames` that came out for the x that went in; `before`: frames of out before it. */
static void add_out(struct measure_occupied *o, const float *x, const float *out, size_t frames,
                    size_t before)
{
  for (size_t i = 0; i < frames; i++)
    o->lost += (double)((x[i] - out[i]) * (x[i] - out[i]));
  o->frames += (double)frames;
  measure_amplitudes_add(&o->amplitudes, out, frames);
  const struct measure_extremes e = measure_extremes_of(out - before, frames + before);
  measure_extremes_widen(&o->extremes, &e);
  memcpy(o->out, out + frames - 2, 2 * sizeof *o->out);
}

/* Two hops from x on, in what the composite occupies alone. */
static const float *without_noise(struct measure_occupied *o, const float *x)
{
  transform(o, x, x + HOP);
  learn(o);
  count_kept(o);
  return transform_back(o);
}

static void run_pair(struct measure_occupied *o)
{
  const float *w = o->window, *x = o->past + HOP;
  float *out = o->out + 2;
  const float *z = without_noise(o, x);
  for (size_t i = 0; i < HOP; i++) {
    const size_t late = HOP + i;
    out[i] = o->tail[i] + w[i] * z[2 * i + 1];
    out[late] = w[late] * z[2 * late + 1] + w[i] * z[2 * i];
    o->tail[i] = w[late] * z[2 * late];
  }
  add_out(o, x, out, 2 * HOP, 2);
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
  o->started = true;
}

void measure_occupied_feed(struct measure_occupied *occupied, const float *composite, size_t frames)
{
  struct measure_occupied *o = occupied;
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
  transform(o, x, NULL);
  float *z = dsp_fft_buffer(o->fft);
  transform_back(o);
  for (size_t i = o->edge; i < LENGTH - o->edge; i++)
    z[i] = z[2 * i + 1] / o->window[i];
  return measure_extremes_of(z + o->edge, LENGTH - 2 * o->edge);
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
  return r;
}
