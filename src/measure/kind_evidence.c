/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Evidence from two averaged cross spectra: a coarse one with many averages for what the
 * channels have in common, a fine one for the line at 19 kHz. Both channels are transformed
 * at once as a + jb and taken apart by symmetry. */
#include <config.h>

#include "measure/kind_evidence.h"

#include <math.h>
#include <stdlib.h>

#include "dsp/fft.h"
#include "dsp/window.h"

static const double pilot_hz = 19000, search_hz = 20, audio_end_hz = 20500;
/* Neighbourhood in which the level around the line is taken. */
static const double near_hz = 100, far_hz = 1000;
/* A line this much over the median around it is no chance: with three averages noise comes
 * there once in 10^13 bins. */
static const double line_threshold_db = 15;

enum { COARSE = 1024, MAIN_LOBE = 4, FINE_MAX = 1 << 17 };
/* The fine resolution that is wanted: the line must stand apart from 18.9 kHz. */
static const double fine_hz = 12.5;

struct cross {
  size_t n; /* transform length; bins 1 to n/2 - 1 are used */
  double bin_hz;
  size_t records;
  double *aa, *bb, *re, *im; /* n / 2 each, one allocation */
};

struct input {
  const float *samples;
  size_t frames;
  unsigned channels;
  double rate_hz;
  double mean[2];
};

static double sample_at(const struct input *input, size_t frame, unsigned channel)
{
  return channel < input->channels ? (double)input->samples[frame * input->channels + channel] : 0;
}

/* Adds one transformed record. A = (Z(f) + Z*(-f)) / 2, B = (Z(f) - Z*(-f)) / 2j. */
static void add_record(struct cross *cross, const float *z)
{
  for (size_t k = 1; k < cross->n / 2; k++) {
    const float *up = z + 2 * k, *down = z + 2 * (cross->n - k);
    double a_re = (double)(up[0] + down[0]) / 2, a_im = (double)(up[1] - down[1]) / 2;
    double b_re = (double)(up[1] + down[1]) / 2, b_im = (double)(down[0] - up[0]) / 2;
    cross->aa[k] += a_re * a_re + a_im * a_im;
    cross->bb[k] += b_re * b_re + b_im * b_im;
    cross->re[k] += a_re * b_re + a_im * b_im;
    cross->im[k] += a_im * b_re - a_re * b_im;
  }
  cross->records++;
}

static void fill_record(const struct input *input, size_t start, size_t n, const double *window,
                        float *out)
{
  for (size_t i = 0; i < n; i++) {
    out[2 * i] = (float)(window[i] * (sample_at(input, start + i, 0) - input->mean[0]));
    out[2 * i + 1] = (float)(window[i] * (sample_at(input, start + i, 1) - input->mean[1]));
  }
}

static void cross_clear(struct cross *cross)
{
  free(cross->aa);
  cross->aa = NULL;
}

static enum sc_error cross_fill(const struct input *input, size_t n, struct cross *cross)
{
  struct dsp_fft *fft = NULL;
  double *window = malloc(n * sizeof *window);
  *cross = (struct cross){.n = n, .bin_hz = input->rate_hz / (double)n};
  cross->aa = calloc(4 * (n / 2), sizeof *cross->aa);
  if (window == NULL || cross->aa == NULL || dsp_fft_create(n, DSP_PLAN_ESTIMATE, &fft) != SC_OK) {
    free(window);
    cross_clear(cross);
    return SC_NO_MEMORY;
  }
  cross->bb = cross->aa + n / 2;
  cross->re = cross->bb + n / 2;
  cross->im = cross->re + n / 2;
  dsp_window_fill(SC_WINDOW_BLACKMAN_HARRIS, 0, n, window);
  for (size_t start = 0; start + n <= input->frames; start += n / 2) {
    fill_record(input, start, n, window, dsp_fft_buffer(fft));
    dsp_fft_run(fft);
    add_record(cross, dsp_fft_buffer(fft));
  }
  dsp_fft_destroy(fft);
  free(window);
  return SC_OK;
}

/* ---- moments of the samples themselves */

static void remove_means(struct input *input)
{
  for (unsigned k = 0; k < input->channels; k++) {
    double sum = 0;
    for (size_t i = 0; i < input->frames; i++)
      sum += sample_at(input, i, k);
    input->mean[k] = sum / (double)input->frames;
  }
}

static double spread(double second, double fourth)
{
  return second > 0 ? fourth / (second * second) - 1 : 0;
}

static void take_moments(const struct input *input, struct kind_evidence *evidence)
{
  double second[3] = {0}, fourth[3] = {0}, count = (double)input->frames;
  for (size_t i = 0; i < input->frames; i++) {
    double a = sample_at(input, i, 0), b = sample_at(input, i, 1);
    double squares[3] = {a * a, b * b, a * a + b * b};
    for (int k = 0; k < 3; k++) {
      second[k] += squares[k] / count;
      fourth[k] += squares[k] * squares[k] / count;
    }
  }
  for (int k = 0; k < 2; k++)
    evidence->channel[k].power = fmax(0, second[k] - input->mean[k] * input->mean[k]);
  double constant = input->mean[0] * input->mean[0] + input->mean[1] * input->mean[1];
  evidence->constant_share = second[2] > 0 ? constant / second[2] : 0;
  evidence->envelope = spread(second[2], fourth[2]);
  evidence->envelope_alone = fmin(spread(second[0], fourth[0]), spread(second[1], fourth[1]));
}

/* ---- what the channels have in common */

static void compare(const struct cross *cross, struct kind_evidence *evidence)
{
  double aa = 0, bb = 0, re = 0, both = 0, unlike = 0, in_phase = 0, quadrature = 0;
  for (size_t k = 1; k < cross->n / 2; k++) {
    aa += cross->aa[k];
    bb += cross->bb[k];
    re += cross->re[k];
    both += sqrt(cross->aa[k] * cross->bb[k]);
    unlike += fabs(cross->aa[k] - cross->bb[k]);
    in_phase += fabs(cross->re[k]);
    quadrature += fabs(cross->im[k]);
  }
  evidence->coherence = aa > 0 && bb > 0 ? fabs(re) / sqrt(aa * bb) : 0;
  evidence->imbalance = aa + bb > 0 ? unlike / (aa + bb) : 0;
  evidence->in_phase = both > 0 ? in_phase / both : 0;
  evidence->quadrature = both > 0 ? quadrature / both : 0;
  /* Mean magnitude of a zero-mean normal of variance 1/2K, K records. */
  evidence->bias = 1 / sqrt(M_PI * (double)cross->records);
}

static double share_above(const double *power, const double *more, const struct cross *cross)
{
  double high = 0, all = 0;
  for (size_t k = 1; k < cross->n / 2; k++) {
    double here = power[k] + (more == NULL ? 0 : more[k]);
    all += here;
    high += (double)k * cross->bin_hz > audio_end_hz ? here : 0;
  }
  return all > 0 ? high / all : 0;
}

static double share_of_top(const struct cross *cross)
{
  size_t top = 1;
  double line = 0, all = 0;
  for (size_t k = 1; k < cross->n / 2; k++)
    top = cross->aa[k] + cross->bb[k] > cross->aa[top] + cross->bb[top] ? k : top;
  for (size_t k = 1; k < cross->n / 2; k++) {
    double here = cross->aa[k] + cross->bb[k];
    all += here;
    line += k + MAIN_LOBE >= top && k <= top + MAIN_LOBE ? here : 0;
  }
  return all > 0 ? line / all : 0;
}

/* ---- the line at 19 kHz */

static int ascending(const void *a, const void *b)
{
  double left = *(const double *)a, right = *(const double *)b;
  return left < right ? -1 : left > right;
}

/* Median over both sides of the line, in power of one bin; `space` holds n / 2. */
static double level_around(const double *power, const struct cross *cross, double *space)
{
  size_t count = 0;
  double near = fmax(near_hz, 2 * MAIN_LOBE * cross->bin_hz);
  for (size_t k = 1; k < cross->n / 2; k++) {
    double distance = fabs((double)k * cross->bin_hz - pilot_hz);
    if (distance >= near && distance <= far_hz)
      space[count++] = power[k];
  }
  if (count == 0)
    return 0;
  qsort(space, count, sizeof *space, ascending);
  return space[count / 2];
}

/* Frequency as the centre of gravity of the main lobe around the largest bin. */
static double centre_of_line(const double *power, const struct cross *cross, size_t top)
{
  double weight = 0, moment = 0;
  for (size_t k = top - MAIN_LOBE; k <= top + MAIN_LOBE; k++) {
    weight += power[k];
    moment += power[k] * (double)k;
  }
  return weight > 0 ? moment / weight * cross->bin_hz : 0;
}

static void find_line(const double *power, const struct cross *cross, double *space,
                      struct kind_channel *channel)
{
  size_t middle = (size_t)lrint(pilot_hz / cross->bin_hz);
  size_t reach = (size_t)ceil(search_hz / cross->bin_hz) + MAIN_LOBE;
  double all = 0, line = 0;
  if (middle < reach + MAIN_LOBE || middle + reach + MAIN_LOBE + 1 >= cross->n / 2)
    return;
  size_t top = middle - reach;
  for (size_t k = top; k <= middle + reach; k++)
    top = power[k] > power[top] ? k : top;
  for (size_t k = 1; k < cross->n / 2; k++) {
    all += power[k];
    line += k + MAIN_LOBE >= top && k <= top + MAIN_LOBE ? power[k] : 0;
  }
  double around = level_around(power, cross, space);
  channel->line_hz = centre_of_line(power, cross, top);
  channel->line_over_db = 10 * log10(power[top] / fmax(around, 1e-12 * power[top] + 1e-300));
  channel->line_under_db = 10 * log10(all / fmax(line, 1e-30 * all + 1e-300));
  channel->has_line = channel->line_over_db > line_threshold_db &&
                      fabs(channel->line_hz - pilot_hz) <= search_hz + cross->bin_hz / 4;
}

/* As fine as wanted, with three half-overlapping records at least. */
static size_t fine_length(const struct input *input)
{
  size_t n = COARSE;
  while (n < FINE_MAX && input->rate_hz / (double)n > fine_hz && 4 * n <= input->frames)
    n *= 2;
  return n;
}

static enum sc_error look_for_lines(const struct input *input, struct kind_evidence *evidence)
{
  struct cross fine;
  enum sc_error error = cross_fill(input, fine_length(input), &fine);
  if (error != SC_OK)
    return error;
  double *space = malloc(fine.n / 2 * sizeof *space);
  if (space == NULL) {
    cross_clear(&fine);
    return SC_NO_MEMORY;
  }
  find_line(fine.aa, &fine, space, &evidence->channel[0]);
  find_line(fine.bb, &fine, space, &evidence->channel[1]);
  free(space);
  cross_clear(&fine);
  return SC_OK;
}

enum sc_error kind_gather(const float *samples, size_t frames, unsigned channels, double rate_hz,
                          struct kind_evidence *evidence)
{
  struct input input = {samples, frames, channels, rate_hz, {0, 0}};
  struct cross coarse;
  *evidence = (struct kind_evidence){0};
  remove_means(&input);
  take_moments(&input, evidence);
  enum sc_error error = cross_fill(&input, COARSE, &coarse);
  if (error != SC_OK)
    return error;
  compare(&coarse, evidence);
  evidence->high_share = share_above(coarse.aa, coarse.bb, &coarse);
  evidence->channel[0].high_share = share_above(coarse.aa, NULL, &coarse);
  evidence->channel[1].high_share = share_above(coarse.bb, NULL, &coarse);
  evidence->top_share = share_of_top(&coarse);
  cross_clear(&coarse);
  return look_for_lines(&input, evidence);
}
