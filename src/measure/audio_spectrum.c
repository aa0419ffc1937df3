/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Welch's averaged spectra (P. D. Welch, IEEE Trans. Audio Electroacoust. AU-15, 1967), half
 * overlapping blocks of about a third of a second under a Blackman-Harris window, both channels in
 * one complex transform. Between the blocks the phase of each bin advances by the frequency of
 * what stands in it, which gives a steady tone's frequency far inside a bin. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "measure/audio_spectrum.h"

#include <complex.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "common/kernel.h"
#include "dsp/fft.h"
#include "dsp/weighting.h"
#include "dsp/window.h"

#define PI 3.1415926535897932384626433832795

static const double block_s = 0.33;
/* Half overlapping blocks under this window are nearly independent: their powers' correlation
 * adds 5 % to the variance of a mean (squared window correlation 0.025 on either side). */
static const double overlap_variance = 1.05;
/* Main lobe of the window, half its width in bins, and bins beside for the noise. */
enum { LOBE_BINS = 4, BESIDE_BINS = 16 };
static const double low_hz = 20;

/* Sums over blocks. */
struct sums {
  double *power;           /* of each bin */
  double complex *advance; /* bin times its conjugate of one block before */
  double band[AUDIO_BANDS], band_square[AUDIO_BANDS];
};

struct audio_spectrum {
  double rate_hz, bin_hz, noise_bins; /* noise bandwidth in bins */
  double scale;                       /* bin's square to mean square, one-sided */
  size_t n, bins, filled, blocks;
  double *window;
  double *gain[AUDIO_BANDS]; /* power gain of each bin, noise bandwidth divided out */
  float *waiting;            /* 2 n: frames of the next block */
  double *last[2], *own;     /* bins of the block before, and of this one */
  struct dsp_fft64 *fft;
  struct sums sums[2];
};

static double band_gain(enum audio_band band, double hz)
{
  static const struct {
    double low, high;
    enum dsp_weighting weighting;
  } bands[AUDIO_BANDS] = {[AUDIO_BAND_FLAT] = {30, 15e3, DSP_WEIGHTING_FLAT},
                          [AUDIO_BAND_A] = {20, 20e3, DSP_WEIGHTING_A}};
  return hz >= bands[band].low && hz <= bands[band].high
             ? dsp_weighting_gain(bands[band].weighting, hz)
             : 0;
}

static bool allocate(struct audio_spectrum *s)
{
  bool ok = true;
  ok &= (s->window = calloc(s->n, sizeof *s->window)) != NULL;
  ok &= (s->waiting = calloc(2 * s->n, sizeof *s->waiting)) != NULL;
  ok &= (s->own = calloc(2 * s->bins, sizeof *s->own)) != NULL;
  for (int b = 0; b < AUDIO_BANDS; b++)
    ok &= (s->gain[b] = calloc(s->bins, sizeof **s->gain)) != NULL;
  for (int c = 0; c < 2; c++) {
    ok &= (s->last[c] = calloc(2 * s->bins, sizeof **s->last)) != NULL;
    ok &= (s->sums[c].power = calloc(s->bins, sizeof(double))) != NULL;
    ok &= (s->sums[c].advance = calloc(s->bins, sizeof(double complex))) != NULL;
  }
  return ok && dsp_fft64_create(s->n, DSP_PLAN_ESTIMATE, &s->fft) == SC_OK;
}

static void fill(struct audio_spectrum *s)
{
  dsp_window_fill(SC_WINDOW_BLACKMAN_HARRIS, 0, s->n, s->window);
  double sum = 0;
  for (size_t i = 0; i < s->n; i++)
    sum += s->window[i];
  s->scale = 2 / (sum * sum);
  for (int b = 0; b < AUDIO_BANDS; b++)
    for (size_t k = 0; k < s->bins; k++)
      s->gain[b][k] = band_gain((enum audio_band)b, (double)k * s->bin_hz) / s->noise_bins;
}

enum sc_error audio_spectrum_create(double rate_hz, struct audio_spectrum **spectrum)
{
  *spectrum = NULL;
  struct audio_spectrum *s = calloc(1, sizeof *s);
  if (s == NULL)
    return SC_NO_MEMORY;
  s->rate_hz = rate_hz;
  s->n = 2 * dsp_fft_good_length((size_t)(block_s * rate_hz / 2));
  s->bins = s->n / 2;
  s->bin_hz = rate_hz / (double)s->n;
  s->noise_bins = dsp_window_noise_bandwidth(SC_WINDOW_BLACKMAN_HARRIS, 0);
  if (!allocate(s)) {
    audio_spectrum_destroy(s);
    return SC_NO_MEMORY;
  }
  fill(s);
  *spectrum = s;
  return SC_OK;
}

void audio_spectrum_reset(struct audio_spectrum *s)
{
  s->filled = s->blocks = 0;
  for (int c = 0; c < 2; c++) {
    struct sums *sums = &s->sums[c];
    memset(sums->power, 0, s->bins * sizeof *sums->power);
    memset(sums->advance, 0, s->bins * sizeof *sums->advance);
    memset(sums->band, 0, sizeof sums->band);
    memset(sums->band_square, 0, sizeof sums->band_square);
  }
}

/* Bins of one channel out of those of left + j right, of which there are n. Here and below real and
 * imaginary part are kept apart from complex arithmetic, whose care for infinities costs more than
 * all the rest. */
SC_KERNEL
static void part_left(const double *restrict z, size_t n, size_t bins, double *restrict own)
{
  const double *const mirror = z + 2 * n;
  for (size_t k = 1; k < bins; k++) {
    own[2 * k] = 0.5 * (z[2 * k] + *(mirror - 2 * k));
    own[2 * k + 1] = 0.5 * (z[2 * k + 1] - *(mirror - 2 * k + 1));
  }
}

SC_KERNEL
static void part_right(const double *restrict z, size_t n, size_t bins, double *restrict own)
{
  const double *const mirror = z + 2 * n;
  for (size_t k = 1; k < bins; k++) {
    own[2 * k] = 0.5 * (z[2 * k + 1] + *(mirror - 2 * k + 1));
    own[2 * k + 1] = -0.5 * (z[2 * k] - *(mirror - 2 * k));
  }
}

static void part(const struct audio_spectrum *s, int c, const double *z, double *own)
{
  own[0] = z[c];
  own[1] = 0;
  if (c == 0)
    part_left(z, s->n, s->bins, own);
  else
    part_right(z, s->n, s->bins, own);
}

SC_KERNEL
static void add_advance(const double *restrict own, const double *restrict last, size_t bins,
                        double *restrict advance)
{
  for (size_t k = 0; k < bins; k++) {
    const double re = own[2 * k], im = own[2 * k + 1];
    advance[2 * k] += re * last[2 * k] + im * last[2 * k + 1];
    advance[2 * k + 1] += im * last[2 * k] - re * last[2 * k + 1];
  }
}

SC_KERNEL
static void weigh(const double *restrict window, const float *restrict samples, size_t n,
                  double *restrict out)
{
  for (size_t i = 0; i < n; i++) {
    out[2 * i] = window[i] * (double)samples[2 * i];
    out[2 * i + 1] = window[i] * (double)samples[2 * i + 1];
  }
}

static void add_channel(struct audio_spectrum *s, int c, const double *bins)
{
  struct sums *sums = &s->sums[c];
  double band[AUDIO_BANDS] = {0};
  part(s, c, bins, s->own);
  for (size_t k = 0; k < s->bins; k++) {
    const double re = s->own[2 * k], im = s->own[2 * k + 1];
    const double power = s->scale * (re * re + im * im);
    sums->power[k] += power;
    for (int b = 0; b < AUDIO_BANDS; b++)
      band[b] += s->gain[b][k] * power;
  }
  if (s->blocks > 0)
    add_advance(s->own, s->last[c], s->bins, (double *)(void *)sums->advance);
  memcpy(s->last[c], s->own, 2 * s->bins * sizeof *s->own);
  for (int b = 0; b < AUDIO_BANDS; b++) {
    sums->band[b] += band[b];
    sums->band_square[b] += band[b] * band[b];
  }
}

static void add_block(struct audio_spectrum *s)
{
  double *x = dsp_fft64_buffer(s->fft);
  weigh(s->window, s->waiting, s->n, x);
  dsp_fft64_run(s->fft);
  for (int c = 0; c < 2; c++)
    add_channel(s, c, x);
  s->blocks++;
}

void audio_spectrum_feed(struct audio_spectrum *s, const float *samples, size_t frames)
{
  while (frames > 0) {
    const size_t room = s->n - s->filled, run = frames < room ? frames : room;
    memcpy(s->waiting + 2 * s->filled, samples, 2 * run * sizeof *samples);
    s->filled += run;
    samples += 2 * run;
    frames -= run;
    if (s->filled < s->n)
      return;
    add_block(s);
    memmove(s->waiting, s->waiting + s->n, s->n * sizeof *s->waiting);
    s->filled = s->n / 2;
  }
}

size_t audio_spectrum_blocks(const struct audio_spectrum *s)
{
  return s->blocks;
}

static struct audio_power scatter(double sum, double square, size_t blocks)
{
  if (blocks == 0)
    return (struct audio_power){0, (double)NAN};
  const double count = (double)blocks, mean = sum / count;
  const double variance = fmax(0, square / count - mean * mean) / (count - 1);
  return (struct audio_power){mean,
                              blocks < 2 ? (double)NAN : sqrt(overlap_variance * variance) / mean};
}

struct audio_power audio_spectrum_band(const struct audio_spectrum *s, int channel,
                                       enum audio_band band)
{
  const struct sums *sums = &s->sums[channel];
  return scatter(sums->band[band], sums->band_square[band], s->blocks);
}

static int ascending(const void *a, const void *b)
{
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

double audio_spectrum_density(const struct audio_spectrum *s, int channel, double frequency_hz)
{
  double beside[2 * BESIDE_BINS];
  size_t count = 0;
  const ptrdiff_t middle = (ptrdiff_t)lround(frequency_hz / s->bin_hz);
  for (ptrdiff_t d = LOBE_BINS + 1; d <= LOBE_BINS + BESIDE_BINS; d++)
    for (int side = -1; side <= 1; side += 2) {
      const ptrdiff_t k = middle + side * d;
      if (k > LOBE_BINS && k < (ptrdiff_t)s->bins)
        beside[count++] = s->sums[channel].power[k];
    }
  if (count == 0 || s->blocks == 0)
    return 0;
  qsort(beside, count, sizeof *beside, ascending);
  /* the lower quartile, for other tones may stand beside; its share of the mean of a gamma law is
     a cube (E. B. Wilson and M. M. Hilferty, Proc. Natl. Acad. Sci. 17, 1931) */
  const double looks = (double)s->blocks, quartile = -0.67449;
  const double share = 1 - 1 / (9 * looks) + quartile / (3 * sqrt(looks));
  return beside[count / 4] / (share * share * share * looks * s->noise_bins * s->bin_hz);
}

static size_t peak_bin(const struct audio_spectrum *s, int channel)
{
  size_t peak = 0;
  double largest = 0;
  for (size_t k = (size_t)ceil(low_hz / s->bin_hz); k + 1 < s->bins; k++)
    if (s->sums[channel].power[k] > largest) {
      largest = s->sums[channel].power[k];
      peak = k;
    }
  return peak;
}

/* The frequency nearest to the bin with which its phase advances by what was seen. */
static double advance_hz(const struct audio_spectrum *s, int channel, size_t bin)
{
  const double hop = (double)(s->n / 2), turn = carg(s->sums[channel].advance[bin]) / (2 * PI);
  const double expected = (double)bin * s->bin_hz * hop / s->rate_hz;
  return (turn + rint(expected - turn)) * s->rate_hz / hop;
}

struct audio_dominant audio_spectrum_dominant(const struct audio_spectrum *s, int channel)
{
  struct audio_dominant dominant = {0};
  const size_t peak = peak_bin(s, channel);
  if (peak == 0 || s->blocks < 2)
    return dominant;
  const struct sums *sums = &s->sums[channel];
  const double blocks = (double)s->blocks;
  double taken = 0;
  for (size_t k = peak > LOBE_BINS ? peak - LOBE_BINS : 0; k <= peak + LOBE_BINS; k++)
    if (k < s->bins) {
      dominant.power += sums->power[k] / (s->noise_bins * blocks);
      taken += s->gain[AUDIO_BAND_FLAT][k] * sums->power[k] / blocks;
    }
  dominant.frequency_hz = advance_hz(s, channel, peak);
  const double hop_s = (double)(s->n / 2) / s->rate_hz;
  const double noise = audio_spectrum_density(s, channel, dominant.frequency_hz) * s->noise_bins *
                       s->bin_hz / (2 * dominant.power);
  dominant.frequency_uncertainty_hz = sqrt(2 * noise) / (2 * PI * hop_s * (blocks - 1));
  struct audio_power all = audio_spectrum_band(s, channel, AUDIO_BAND_FLAT);
  dominant.rest.power = fmax(0, all.power - taken);
  dominant.rest.relative = sqrt(2 / blocks);
  return dominant;
}

void audio_spectrum_destroy(struct audio_spectrum *s)
{
  if (s == NULL)
    return;
  for (int b = 0; b < AUDIO_BANDS; b++)
    free(s->gain[b]);
  for (int c = 0; c < 2; c++) {
    free(s->last[c]);
    free(s->sums[c].power);
    free(s->sums[c].advance);
  }
  free(s->window);
  free(s->waiting);
  free(s->own);
  dsp_fft64_destroy(s->fft);
  free(s);
}
