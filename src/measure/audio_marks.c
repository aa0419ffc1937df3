/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Matched filters for the rising and the falling chirp, on both channels at about 8 kS/s, by fast
 * correlation. What counts is the square of the correlation coefficient: the share of the energy
 * under the chirp's length that is the chirp, whatever its level, polarity and phase. A wrong
 * clock moves a rising chirp's peak one way and a falling one's as far the other (the coupling of
 * range and Doppler), so the mean of a pair stands.
 *
 * Noise reaches the square r by chance with exp(-r B T), B T = 1280: never. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "measure/audio_marks.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/sequence.h>

#include "common/kernel.h"
#include "dsp/fft.h"
#include "dsp/resample.h"

/* Of a transform's correlations the newest HOP are new. */
enum { POINTS = 1 << 13, HOP = 1 << 12, FEED = 4096, QUEUE = 16, HISTORY = 8 };
enum { RISING, FALLING, CHIRPS };

static const double search_rate_hz = 8000, pass_hz = 3700, attenuation_db = 60;
/* Squares of the correlation coefficient: of one chirp, and the sum of a pair. */
static const double least_single = 0.1, least_pair = 0.3;
/* What the transform's rounding leaves of loud frames in silent ones is below 1e-13 of their energy
 * (single precision), so nothing that is weaker than this is looked at. */
static const double silent_share = 1e-10;
/* A peak is the highest within this, and a pair's distance is right within the second. */
static const double alone_s = 0.05, distance_tolerance_s = 0.004;

/* A peak of one filter. */
struct peak {
  double at_s, strength;
  double found; /* frame of the search at which it was found, -1: none waits */
};

struct audio_marks {
  double rate_hz, step_s, delay_s; /* of the search */
  size_t length, filled;           /* of a chirp; frames waiting */
  double searched;                 /* frames before the waiting ones */
  struct dsp_decimator *decimator;
  float *reduced;
  struct dsp_fft *fft;
  /* POINTS complex ones each, as the transform has them */
  float *waiting;        /* left + j right */
  float *filter[CHIRPS]; /* conjugate transforms of the analytic chirps */
  float *spectrum;       /* of the waiting frames */
  double *energy;        /* running sum over them */
  float *match;          /* sum of squares over both channels */
  double chirp_energy[CHIRPS];
  struct peak candidate[CHIRPS];
  struct peak history[CHIRPS][HISTORY];
  size_t history_count[CHIRPS];
  struct audio_mark queue[QUEUE];
  size_t queued;
};

static void forward(struct audio_marks *m, const float *in, float *out)
{
  float *x = dsp_fft_buffer(m->fft);
  memcpy(x, in, (size_t)2 * POINTS * sizeof *x);
  dsp_fft_run(m->fft);
  memcpy(out, x, (size_t)2 * POINTS * sizeof *x);
}

static void design(struct audio_marks *m, int chirp)
{
  memset(m->waiting, 0, (size_t)2 * POINTS * sizeof *m->waiting);
  for (size_t i = 0; i < m->length; i++) {
    const double t = (double)i * m->step_s;
    const double value = sc_chirp_envelope(t) * sin(sc_chirp_rad(chirp == RISING, t));
    m->waiting[2 * i] = (float)value;
    m->chirp_energy[chirp] += value * value;
  }
  float *filter = m->filter[chirp];
  forward(m, m->waiting, filter);
  for (size_t k = 0; k < POINTS; k++) {
    const float gain = k > 0 && k < POINTS / 2 ? 2.0F : 0.0F;
    filter[2 * k] *= gain;
    filter[2 * k + 1] *= -gain;
  }
}

static bool allocate(struct audio_marks *m, unsigned decimation)
{
  bool ok = true;
  ok &= (m->reduced = calloc(2 * FEED + 2, sizeof *m->reduced)) != NULL;
  ok &= (m->waiting = calloc(2 * POINTS, sizeof *m->waiting)) != NULL;
  ok &= (m->spectrum = calloc(2 * POINTS, sizeof *m->spectrum)) != NULL;
  ok &= (m->energy = calloc(POINTS + 1, sizeof *m->energy)) != NULL;
  ok &= (m->match = calloc(POINTS, sizeof *m->match)) != NULL;
  for (int c = 0; c < CHIRPS; c++)
    ok &= (m->filter[c] = calloc(2 * POINTS, sizeof *m->filter[c])) != NULL;
  return ok && dsp_fft_create(POINTS, DSP_PLAN_ESTIMATE, &m->fft) == SC_OK &&
         dsp_decimator_create(2, decimation, pass_hz, attenuation_db, m->rate_hz, FEED,
                              &m->decimator) == SC_OK;
}

enum sc_error audio_marks_create(double rate_hz, struct audio_marks **marks)
{
  *marks = NULL;
  struct audio_marks *m = calloc(1, sizeof *m);
  if (m == NULL)
    return SC_NO_MEMORY;
  const unsigned decimation = (unsigned)floor(rate_hz / search_rate_hz);
  m->rate_hz = rate_hz;
  m->step_s = decimation / rate_hz;
  m->length = (size_t)ceil(SC_CHIRP_S / m->step_s);
  if (!allocate(m, decimation)) {
    audio_marks_destroy(m);
    return SC_NO_MEMORY;
  }
  m->delay_s = dsp_decimator_delay(m->decimator) / rate_hz;
  for (int c = 0; c < CHIRPS; c++)
    design(m, c);
  audio_marks_reset(m);
  *marks = m;
  return SC_OK;
}

void audio_marks_reset(struct audio_marks *m)
{
  dsp_decimator_reset(m->decimator);
  m->queued = 0;
  m->filled = POINTS - HOP;
  m->searched = -(double)m->filled;
  memset(m->waiting, 0, (size_t)2 * POINTS * sizeof *m->waiting);
  for (int c = 0; c < CHIRPS; c++) {
    m->candidate[c].found = -1;
    m->history_count[c] = 0;
  }
}

static void tell(struct audio_marks *m, bool lead, double middle_s)
{
  if (m->queued < QUEUE)
    m->queue[m->queued++] = (struct audio_mark){lead, middle_s};
}

/* A peak that no higher one is near to: the second of a pair, when the first came right before. */
static void accept(struct audio_marks *m, int chirp, const struct peak *peak)
{
  const int other = !chirp;
  const size_t count = m->history_count[other] < HISTORY ? m->history_count[other] : HISTORY;
  for (size_t i = 0; i < count; i++) {
    const struct peak *first = &m->history[other][i];
    const double distance = peak->at_s - first->at_s;
    if (fabs(distance - SC_CHIRP_SPACING_S) < distance_tolerance_s &&
        peak->strength + first->strength > least_pair)
      tell(m, other == RISING, (peak->at_s + first->at_s + SC_CHIRP_S) / 2);
  }
  m->history[chirp][m->history_count[chirp]++ % HISTORY] = *peak;
}

/* Between the frames, by a parabola through the amplitudes around the highest. */
static double refine(const float *match, size_t i)
{
  const double before = sqrt((double)match[i - 1]), at = sqrt((double)match[i]);
  const double after = sqrt((double)match[i + 1]);
  const double bend = before - 2 * at + after;
  return bend < 0 ? fmax(-0.5, fmin(0.5, (before - after) / (2 * bend))) : 0;
}

static void look(struct audio_marks *m, int chirp, size_t i)
{
  struct peak *candidate = &m->candidate[chirp];
  const double frame = m->searched + (double)i;
  if (candidate->found >= 0 && (frame - candidate->found) * m->step_s > alone_s) {
    accept(m, chirp, candidate);
    candidate->found = -1;
  }
  const double energy = m->energy[i + m->length] - m->energy[i] + silent_share * m->energy[POINTS];
  const double strength = (double)m->match[i] / (energy * m->chirp_energy[chirp] + 1e-30);
  if (!(strength > least_single) || (candidate->found >= 0 && strength <= candidate->strength))
    return;
  const double at = frame + refine(m->match, i);
  *candidate = (struct peak){at * m->step_s - m->delay_s, strength, frame};
}

/* Correlations of one channel: its spectrum out of that of left + j right, times the filter, which
 * is nothing above half of the bins. */
SC_KERNEL
static void multiply(const float *restrict spectrum, const float *restrict filter, bool right,
                     float *restrict x)
{
  const float *const mirror = spectrum + 2 * POINTS;
  const float sign = right ? -1.0F : 1.0F;
  const size_t re = right, im = 1 - re;
  for (size_t k = 1; k < POINTS / 2; k++) {
    const float *a = spectrum + 2 * k, *b = mirror - 2 * k, *f = filter + 2 * k;
    const float own_re = 0.5F * (a[re] + b[re]), own_im = 0.5F * sign * (a[im] - b[im]);
    x[2 * k] = own_re * f[0] - own_im * f[1];
    x[2 * k + 1] = -(own_re * f[1] + own_im * f[0]);
  }
}

SC_KERNEL
static void add_squares(const float *restrict x, float *restrict match)
{
  const float scale = 1.0F / ((float)POINTS * POINTS);
  for (size_t i = 0; i < POINTS; i++)
    match[i] += scale * (x[2 * i] * x[2 * i] + x[2 * i + 1] * x[2 * i + 1]);
}

static void correlate(struct audio_marks *m, int chirp, bool right)
{
  float *x = dsp_fft_buffer(m->fft);
  memset(x, 0, (size_t)2 * POINTS * sizeof *x);
  multiply(m->spectrum, m->filter[chirp], right, x);
  dsp_fft_run(m->fft);
  add_squares(x, m->match);
}

static void search(struct audio_marks *m)
{
  const size_t last = POINTS - m->length;
  for (size_t i = 0; i < POINTS; i++) {
    const double re = (double)m->waiting[2 * i], im = (double)m->waiting[2 * i + 1];
    m->energy[i + 1] = m->energy[i] + re * re + im * im;
  }
  forward(m, m->waiting, m->spectrum);
  for (int chirp = 0; chirp < CHIRPS; chirp++) {
    memset(m->match, 0, POINTS * sizeof *m->match);
    correlate(m, chirp, false);
    correlate(m, chirp, true);
    for (size_t i = last - HOP; i < last; i++)
      look(m, chirp, i);
  }
  memmove(m->waiting, m->waiting + 2 * HOP, (size_t)2 * (POINTS - HOP) * sizeof *m->waiting);
  m->filled = POINTS - HOP;
  m->searched += HOP;
}

void audio_marks_feed(struct audio_marks *m, const float *samples, size_t frames)
{
  while (frames > 0) {
    const size_t run = frames < FEED ? frames : FEED;
    const size_t got = dsp_decimator_run(m->decimator, samples, run, m->reduced);
    for (size_t i = 0; i < got; i++) {
      memcpy(m->waiting + 2 * m->filled++, m->reduced + 2 * i, 2 * sizeof *m->waiting);
      if (m->filled == POINTS)
        search(m);
    }
    samples += 2 * run;
    frames -= run;
  }
}

bool audio_marks_next(struct audio_marks *m, struct audio_mark *mark)
{
  if (m->queued == 0)
    return false;
  *mark = m->queue[0];
  m->queued--;
  memmove(m->queue, m->queue + 1, m->queued * sizeof *m->queue);
  return true;
}

void audio_marks_destroy(struct audio_marks *m)
{
  if (m == NULL)
    return;
  dsp_decimator_destroy(m->decimator);
  dsp_fft_destroy(m->fft);
  free(m->reduced);
  free(m->waiting);
  free(m->spectrum);
  free(m->energy);
  free(m->match);
  for (int c = 0; c < CHIRPS; c++)
    free(m->filter[c]);
  free(m);
}
