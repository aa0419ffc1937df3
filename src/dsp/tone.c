/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Joint least squares of many tones, one tone at a time. Tones that can be told apart lie so far
 * from each other that the relaxation converges in a few sweeps; the patch of bins that belongs
 * to a tone holds all but a hundredth of what the record knows of it. */
#include "dsp/tone.h"

#include <math.h>
#include <stdlib.h>

#include "dsp/simd.h"

enum { PATCH = 2 * DSP_TONE_REACH + 1, STRETCH = 32 };
enum { LANES = 8, PADDED = (PATCH + LANES - 1) / LANES * LANES };

/* What a neighbour may leave behind unsubtracted, of the noise's amplitude in a bin. */
static const double negligible = 0.03;
/* A step below this share of the standard uncertainty, or below this part of a bin, ends it; steps
 * get smaller by their square, so that what the rough share leaves is a hundredth of it. */
static const double still_share = 3e-3, still_share_rough = 0.05, still_bins = 1e-9;
/* The interpolated transform is no better than this; see plateau.h. */
static const double model_variance = 1e-17;
/* A patch this much louder than the floor is hardly a chance event (31 degrees of freedom: 0.01).
 */
static const double loud = 1.7;
static const double lost_bins = 3;

/* Behind PATCH there are zeros. */
struct patch {
  double re[PADDED], im[PADDED];       /* the record, less the other tones */
  double value[PADDED], slope[PADDED]; /* the tone's response */
};

/* Sums over a patch of products: v value, s slope. */
struct sums {
  double vv, vs, ss, v_re, v_im, s_re, s_im;
};

static double wrapped(double bins, size_t n)
{
  return bins - (double)n * floor(bins / (double)n + 0.5);
}

static void read_bins(const double *bins, size_t n, size_t k, double scale, struct patch *patch)
{
  for (size_t m = 0; m < PATCH; m++) {
    patch->re[m] = scale * bins[2 * k];
    patch->im[m] = scale * bins[2 * k + 1];
    scale = -scale;
    k = k + 1 < n ? k + 1 : 0;
  }
}

static void read_rows(const struct dsp_rows *rows, size_t k, double scale, struct patch *patch)
{
  size_t row = k % rows->rows, number = k / rows->rows;
  for (size_t m = 0; m < PATCH; m++) {
    const float *bin = rows->values + row * rows->stride + 2 * number;
    patch->re[m] = scale * (double)bin[0];
    patch->im[m] = scale * (double)bin[1];
    scale = -scale;
    if (++row == rows->rows) {
      row = 0;
      number = number + 1 < rows->length ? number + 1 : 0;
    }
  }
}

static void read_record(const struct dsp_record *record, ptrdiff_t centre, struct patch *patch)
{
  const ptrdiff_t n = (ptrdiff_t)record->n, first = centre - DSP_TONE_REACH;
  const double scale = (first & 1 ? -1.0 : 1.0) / (double)n;
  const size_t k = (size_t)(((first % n) + n) % n);
  if (record->rows != NULL)
    read_rows(record->rows, k, scale, patch);
  else
    read_bins(record->bins, record->n, k, scale, patch);
}

static void subtract(const struct dsp_record *record, double bin, double re, double im,
                     ptrdiff_t centre, double harmless, struct patch *patch)
{
  double distance = wrapped((double)centre - bin, record->n);
  double nearest = fmax(fabs(distance) - DSP_TONE_REACH, 0);
  double envelope = dsp_plateau_envelope(record->plateau, nearest);
  if (envelope * envelope * (re * re + im * im) < harmless)
    return;
  double value[PATCH], slope[PATCH];
  dsp_plateau_responses(record->plateau, distance - DSP_TONE_REACH, PATCH, value, slope);
  for (size_t m = 0; m < PATCH; m++) {
    patch->re[m] -= re * value[m];
    patch->im[m] -= im * value[m];
  }
}

/* Something of a tone may be in a patch so many bins away. */
static const float reach = DSP_PLATEAU_SPAN + DSP_TONE_REACH + 2;

/* Where all tones stand, by frequency as they began, for a quick look at who is near whom. */
struct places {
  float began[DSP_TONES_MAX];
  float bins[DSP_TONES_MAX]; /* now; NAN: lost */
  int near[DSP_TONES_MAX];   /* not 0: to the place last looked at */
  int moved[DSP_TONES_MAX];  /* not 0: when last visited, by more than is negligible */
  unsigned tone[DSP_TONES_MAX], place[DSP_TONES_MAX]; /* which tone is here; where a tone is */
  size_t from, to; /* the places that were looked at: beyond them nobody is near */
  double still_share;
};

static void note_place(struct places *places, const struct dsp_tone *tones, size_t i)
{
  places->bins[places->place[i]] = tones[i].lost ? NAN : (float)tones[i].bin;
}

struct beginning {
  float bin;
  unsigned tone;
};

static int by_bin(const void *left, const void *right)
{
  const struct beginning *a = left, *b = right;
  return (a->bin > b->bin) - (a->bin < b->bin);
}

static void place_all(struct places *places, const struct dsp_tone *tones, size_t count)
{
  struct beginning sorted[DSP_TONES_MAX];
  for (size_t i = 0; i < count; i++)
    sorted[i] = (struct beginning){(float)tones[i].bin, (unsigned)i};
  qsort(sorted, count, sizeof *sorted, by_bin);
  for (size_t p = 0; p < count; p++) {
    places->began[p] = places->bins[p] = sorted[p].bin;
    places->tone[p] = sorted[p].tone;
    places->place[sorted[p].tone] = (unsigned)p;
    places->moved[p] = 1;
  }
}

/* At an end of the spectrum, where tones are near to what comes from its other end or to images. */
static bool at_end(const struct dsp_record *record, float bin, float most)
{
  const float n = (float)record->n;
  return bin < most || bin > n - most || (record->real_input && fabsf(bin - n / 2) < most);
}

/* Where those can be that are near to a tone, which have gone 2 lost_bins at most, as it has. */
static void bound_near(const struct dsp_record *record, size_t place, size_t count,
                       struct places *places)
{
  const float most = reach + 4 * (float)lost_bins + 2, bin = places->began[place];
  size_t from = place, to = place + 1;
  if (at_end(record, bin, most)) {
    from = 0;
    to = count;
  }
  while (from > 0 && bin - places->began[from - 1] < most)
    from--;
  while (to < count && places->began[to] - bin < most)
    to++;
  places->from = from;
  places->to = to;
}

/* Tones, or their images, of which something may be in the patch: most of a long record are not.
 * Beyond so many bins in a circle of n; floats are out by a sixteenth of a bin at most. */
DSP_CLONES
static void look_around(const float *restrict bins, size_t count, float centre, float n,
                        float image_sign, int *restrict near)
{
  for (size_t i = 0; i < count; i++) {
    float distance = fabsf(centre - bins[i]), mirrored = fabsf(centre - image_sign * bins[i]);
    near[i] = (distance <= reach) | (distance >= n - reach) | (mirrored <= reach) |
              (mirrored >= n - reach);
  }
}

/* The first from `i` on that is near, or `count`. */
DSP_CLONES
static size_t next_near(const int *near, size_t i, size_t count)
{
  for (; i + STRETCH <= count; i += STRETCH) {
    int any = 0;
    for (size_t k = 0; k < STRETCH; k++)
      any |= near[i + k];
    if (any != 0)
      break;
  }
  while (i < count && near[i] == 0)
    i++;
  return i;
}

static void take_others(const struct dsp_record *record, const struct dsp_tone *tones,
                        const struct places *places, size_t self, ptrdiff_t centre,
                        struct patch *patch)
{
  const double harmless = negligible * negligible * tones[self].noise;
  const size_t to = places->to;
  for (size_t p = next_near(places->near, places->from, to); p < to;
       p = next_near(places->near, p + 1, to)) {
    const struct dsp_tone *tone = &tones[places->tone[p]];
    if (places->tone[p] != self)
      subtract(record, tone->bin, tone->re, tone->im, centre, harmless, patch);
    if (record->real_input && !tone->fixed)
      subtract(record, -tone->bin, tone->re, -tone->im, centre, harmless, patch);
  }
}

DSP_CLONES
static void add_products(const struct patch *patch, struct sums *sums)
{
  double vv[LANES] = {0}, vs[LANES] = {0}, ss[LANES] = {0}, v_re[LANES] = {0}, v_im[LANES] = {0};
  double s_re[LANES] = {0}, s_im[LANES] = {0};
  for (size_t m = 0; m < PADDED; m += LANES)
    for (size_t l = 0; l < LANES; l++) {
      const double v = patch->value[m + l], s = patch->slope[m + l];
      const double re = patch->re[m + l], im = patch->im[m + l];
      vv[l] += v * v;
      vs[l] += v * s;
      ss[l] += s * s;
      v_re[l] += v * re;
      v_im[l] += v * im;
      s_re[l] += s * re;
      s_im[l] += s * im;
    }
  *sums = (struct sums){0};
  for (size_t l = 0; l < LANES; l++) {
    sums->vv += vv[l];
    sums->vs += vs[l];
    sums->ss += ss[l];
    sums->v_re += v_re[l];
    sums->v_im += v_im[l];
    sums->s_re += s_re[l];
    sums->s_im += s_im[l];
  }
}

static void fit_amplitude(const struct dsp_record *record, struct dsp_tone *tone, ptrdiff_t centre,
                          struct patch *patch, struct sums *sums)
{
  double distance = wrapped((double)centre - tone->bin, record->n);
  dsp_plateau_responses(record->plateau, distance - DSP_TONE_REACH, PATCH, patch->value,
                        patch->slope);
  add_products(patch, sums);
  tone->re = sums->v_re / sums->vv;
  tone->im = tone->fixed && record->real_input ? 0 : sums->v_im / sums->vv;
}

/* One Gauss-Newton step in frequency, from what the best amplitude leaves over. */
static double frequency_step(const struct dsp_tone *tone, const struct sums *sums)
{
  double power = tone->re * tone->re + tone->im * tone->im;
  if (!(power > 0))
    return 0;
  double gradient = tone->re * sums->s_re + tone->im * sums->s_im - power * sums->vs;
  double step = -gradient / power / (sums->ss - sums->vs * sums->vs / sums->vv);
  return fmin(fmax(step, -0.5), 0.5);
}

static ptrdiff_t nearest_bin(const struct dsp_tone *tone)
{
  return (ptrdiff_t)floor(tone->bin + 0.5);
}

static void look_from(const struct dsp_record *record, const struct dsp_tone *tones, size_t self,
                      size_t count, struct places *places)
{
  bound_near(record, places->place[self], count, places);
  look_around(places->bins + places->from, places->to - places->from,
              (float)nearest_bin(&tones[self]), (float)record->n, record->real_input ? -1 : 1,
              places->near + places->from);
}

/* Whoever is near has been looked for. */
static double visit(const struct dsp_record *record, struct dsp_tone *tones,
                    const struct places *places, size_t self, struct patch *patch,
                    struct sums *sums)
{
  struct dsp_tone *tone = &tones[self];
  ptrdiff_t centre = nearest_bin(tone);
  read_record(record, centre, patch);
  take_others(record, tones, places, self, centre, patch);
  fit_amplitude(record, tone, centre, patch, sums);
  return tone->fixed ? 0 : frequency_step(tone, sums);
}

/* Quadratic form of the noise's covariance between bins. */
static double noise_through(const double *covariance, const double *weights)
{
  double sum = 0;
  for (size_t lag = 0; lag < PATCH; lag++) {
    double products = 0;
    for (size_t i = lag; i < PATCH; i++)
      products += weights[i] * weights[i - lag];
    sum += (lag > 0 ? 2 : 1) * covariance[lag] * products;
  }
  return sum;
}

/* What the tone does not explain of its patch. */
static double power_left(const struct dsp_tone *tone, const struct patch *patch)
{
  double left = 0;
  for (size_t m = 0; m < PATCH; m++) {
    double re = patch->re[m] - tone->re * patch->value[m];
    double im = patch->im[m] - tone->im * patch->value[m];
    left += re * re + im * im;
  }
  return left;
}

static void state_uncertainty(const struct dsp_record *record, struct dsp_tone *tone,
                              const struct patch *patch, const struct sums *sums)
{
  const double *covariance = dsp_plateau_covariance(record->plateau);
  double level[PATCH], frequency[PATCH], phase[PATCH], left = power_left(tone, patch);
  double determinant = sums->vv * sums->ss - sums->vs * sums->vs;
  for (size_t m = 0; m < PATCH; m++) {
    double value = patch->value[m], slope = patch->slope[m];
    level[m] = (sums->ss * value - sums->vs * slope) / determinant;
    frequency[m] = (sums->vs * value - sums->vv * slope) / determinant;
    phase[m] = value / sums->vv;
  }
  tone->seen = left / covariance[0] / (PATCH - 1.5);
  tone->rough = tone->seen > loud * tone->noise;
  if (tone->rough)
    tone->noise = tone->seen;
  double relative = tone->noise / (2 * (tone->re * tone->re + tone->im * tone->im));
  tone->level_variance = relative * noise_through(covariance, level) + model_variance;
  tone->phase_variance = relative * noise_through(covariance, phase) + model_variance;
  tone->bin_variance = relative * noise_through(covariance, frequency) + model_variance;
}

/* The tone itself, or one that weighs on it. */
DSP_CLONES
static int any_moved(const int *near, const int *moved, size_t from, size_t to)
{
  int any = 0;
  for (size_t i = from; i < to; i++)
    any |= near[i] & moved[i];
  return any;
}

/* One step of the tone, and what it means for those around it. */
static void advance(const struct dsp_record *record, struct dsp_tone *tones, struct places *places,
                    size_t self)
{
  struct patch patch = {{0}, {0}, {0}, {0}};
  struct sums sums;
  struct dsp_tone *tone = &tones[self];
  const double step = visit(record, tones, places, self, &patch, &sums);
  const double sigma = 0.4 * sqrt(tone->noise / (tone->re * tone->re + tone->im * tone->im));
  places->moved[places->place[self]] =
      !(fabs(step) < fmax(places->still_share * sigma, still_bins));
  tone->bin += step;
  tone->lost = fabs(tone->bin - tone->found) > lost_bins;
  note_place(places, tones, self);
  for (size_t p = places->from; tone->lost && p < places->to; p++)
    places->moved[p] |= places->near[p];
}

/* Those that stand still among others that do are left alone. Returns whether all do. */
static bool sweep(const struct dsp_record *record, struct dsp_tone *tones, size_t count,
                  struct places *places)
{
  for (size_t i = 0; i < count; i++) {
    if (tones[i].lost)
      continue;
    look_from(record, tones, i, count, places);
    if (any_moved(places->near, places->moved, places->from, places->to))
      advance(record, tones, places, i);
  }
  bool still = true;
  for (size_t i = 0; i < count; i++)
    still = still && (tones[i].lost || !places->moved[places->place[i]]);
  return still;
}

static void relax(const struct dsp_record *record, struct dsp_tone *tones, size_t count,
                  unsigned sweeps, double share)
{
  struct places places;
  struct patch patch = {{0}, {0}, {0}, {0}};
  struct sums sums;
  places.still_share = share;
  place_all(&places, tones, count);
  for (unsigned i = 0; i < sweeps && !sweep(record, tones, count, &places); i++)
    continue;
  for (size_t i = 0; i < count; i++) {
    if (tones[i].lost)
      continue;
    look_from(record, tones, i, count, &places);
    visit(record, tones, &places, i, &patch, &sums);
    state_uncertainty(record, &tones[i], &patch, &sums);
  }
}

void dsp_tones_refine(const struct dsp_record *record, struct dsp_tone *tones, size_t count,
                      unsigned sweeps)
{
  relax(record, tones, count < DSP_TONES_MAX ? count : DSP_TONES_MAX, sweeps, still_share);
}

void dsp_tones_fit(const struct dsp_record *record, struct dsp_tone *tones, size_t count,
                   unsigned sweeps)
{
  count = count < DSP_TONES_MAX ? count : DSP_TONES_MAX;
  for (size_t i = 0; i < count; i++) {
    tones[i].bin = tones[i].found;
    tones[i].re = tones[i].im = 0;
    tones[i].lost = false;
  }
  relax(record, tones, count, sweeps, still_share_rough);
}
