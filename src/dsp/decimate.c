/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Decimation in several stages. A stage need not keep its whole stop band clean, only what would
 * fold into the final pass band, so the early ones are short. The split into factors is found by
 * dynamic programming over the divisors. */
#include "dsp/resample.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { STAGES_MAX = 32 };

struct dsp_decimator {
  unsigned components;
  size_t stage_count;
  struct dsp_resampler *stages[STAGES_MAX];
  float *between[2];
  size_t transient;
  double delay;
};

struct request {
  double pass_hz, attenuation_db, final_rate_hz;
};

/* Plan for one divisor: work per frame of its input, and the first stage's factor. */
struct plan {
  unsigned divisor, factor;
  double work;
};

static size_t stage_taps(const struct request *request, unsigned divisor, unsigned factor)
{
  const double rate = request->final_rate_hz * divisor;
  return dsp_lowpass_length(request->pass_hz, rate / factor - request->pass_hz,
                            request->attenuation_db, rate);
}

static const struct plan *find(const struct plan *plans, size_t count, unsigned divisor)
{
  for (size_t i = 0; i < count; i++)
    if (plans[i].divisor == divisor)
      return &plans[i];
  return NULL;
}

static struct plan best_plan(const struct request *request, const struct plan *plans, size_t count,
                             unsigned divisor)
{
  static const double handling = 4.0; /* work to move one frame into a stage, in taps */
  struct plan best = {divisor, divisor, INFINITY};
  for (unsigned factor = 2; factor <= divisor; factor++) {
    if (divisor % factor != 0)
      continue;
    const struct plan *rest = find(plans, count, divisor / factor);
    const double taps = (double)stage_taps(request, divisor, factor);
    const double work = handling + (taps + rest->work) / factor;
    if (work < best.work)
      best = (struct plan){divisor, factor, work};
  }
  return best;
}

static size_t count_divisors(unsigned n)
{
  size_t count = 0;
  for (unsigned d = 1; d <= n; d++)
    count += n % d == 0;
  return count;
}

/* The factors in the order of the stages. */
static enum sc_error split(const struct request *request, unsigned decimation,
                           unsigned factors[STAGES_MAX], size_t *count)
{
  struct plan *plans = calloc(count_divisors(decimation), sizeof *plans);
  if (plans == NULL)
    return SC_NO_MEMORY;
  size_t known = 0;
  plans[known++] = (struct plan){1, 1, 0.0};
  for (unsigned d = 2; d <= decimation; d++)
    if (decimation % d == 0) {
      plans[known] = best_plan(request, plans, known, d);
      known++;
    }
  *count = 0;
  for (unsigned left = decimation; left > 1;) {
    const unsigned factor = find(plans, known, left)->factor;
    factors[(*count)++] = factor;
    left /= factor;
  }
  free(plans);
  return SC_OK;
}

/* One stage at `rate_hz`, which `before` frames of the decimator's input make one frame of. */
static enum sc_error add_stage(struct dsp_decimator *d, const struct request *request,
                               unsigned factor, double rate_hz, double before, size_t frames_max)
{
  double *taps = NULL;
  size_t count = 0;
  enum sc_error error = dsp_lowpass_design(request->pass_hz, rate_hz / factor - request->pass_hz,
                                           request->attenuation_db, rate_hz, &taps, &count);
  if (error != SC_OK)
    return error;
  error = dsp_resampler_create(d->components, 1, factor, taps, count, frames_max,
                               &d->stages[d->stage_count]);
  free(taps);
  if (error != SC_OK)
    return error;
  d->stage_count++;
  d->delay += before * (double)(count - 1) / 2.0;
  return SC_OK;
}

static enum sc_error add_stages(struct dsp_decimator *d, const struct request *request,
                                unsigned decimation, size_t frames_max)
{
  unsigned factors[STAGES_MAX];
  size_t count;
  enum sc_error error = split(request, decimation, factors, &count);
  double before = 1.0;
  for (size_t s = 0; error == SC_OK && s < count; s++) {
    error = add_stage(d, request, factors[s], request->final_rate_hz * decimation / before, before,
                      frames_max);
    before *= factors[s];
    frames_max = frames_max / factors[s] + 1;
    if (error == SC_OK && s < 2 && s + 1 < count) {
      d->between[s] = malloc(frames_max * d->components * sizeof(float));
      error = d->between[s] == NULL ? SC_NO_MEMORY : SC_OK;
    }
  }
  d->transient = (size_t)ceil(2.0 * d->delay / decimation);
  return error;
}

enum sc_error dsp_decimator_create(unsigned components, unsigned decimation, double pass_hz,
                                   double attenuation_db, double rate_hz, size_t frames_max,
                                   struct dsp_decimator **decimator)
{
  if (components < 1 || components > 2 || decimation == 0 || !(pass_hz > 0.0) ||
      !(attenuation_db > 0.0) || !(rate_hz / decimation > 2.0 * pass_hz) || frames_max == 0)
    return SC_BAD_ARGUMENT;
  struct dsp_decimator *d = calloc(1, sizeof *d);
  if (d == NULL)
    return SC_NO_MEMORY;
  d->components = components;
  const struct request request = {pass_hz, attenuation_db, rate_hz / decimation};
  const enum sc_error error = add_stages(d, &request, decimation, frames_max);
  if (error != SC_OK) {
    dsp_decimator_destroy(d);
    return error;
  }
  *decimator = d;
  return SC_OK;
}

static float *output_of(const struct dsp_decimator *d, size_t stage, float *out)
{
  return stage + 1 == d->stage_count ? out : d->between[stage % 2];
}

/* The stages behind the first one. */
static size_t run_others(const struct dsp_decimator *d, const float *in, size_t frames, float *out)
{
  for (size_t s = 1; s < d->stage_count; s++) {
    float *to = output_of(d, s, out);
    frames = dsp_resampler_run(d->stages[s], in, frames, to);
    in = to;
  }
  return frames;
}

size_t dsp_decimator_run(struct dsp_decimator *decimator, const float *in, size_t frames,
                         float *out)
{
  if (decimator->stage_count == 0) {
    memcpy(out, in, frames * decimator->components * sizeof *in);
    return frames;
  }
  float *const to = output_of(decimator, 0, out);
  frames = dsp_resampler_run(decimator->stages[0], in, frames, to);
  return run_others(decimator, to, frames, out);
}

size_t dsp_decimator_run_mixed(struct dsp_decimator *decimator, struct dsp_mixer *mixer,
                               const float *in, bool real, size_t frames, float *out)
{
  if (decimator->stage_count == 0) {
    (real ? dsp_mixer_run_real : dsp_mixer_run)(mixer, in, out, frames);
    return frames;
  }
  float *const to = output_of(decimator, 0, out);
  frames = dsp_resampler_run_mixed(decimator->stages[0], mixer, in, real, frames, to);
  return run_others(decimator, to, frames, out);
}

size_t dsp_decimator_transient(const struct dsp_decimator *decimator)
{
  return decimator->transient;
}

double dsp_decimator_delay(const struct dsp_decimator *decimator)
{
  return decimator->delay;
}

void dsp_decimator_reset(struct dsp_decimator *decimator)
{
  for (size_t s = 0; s < decimator->stage_count; s++)
    dsp_resampler_reset(decimator->stages[s]);
}

void dsp_decimator_destroy(struct dsp_decimator *decimator)
{
  if (decimator == NULL)
    return;
  for (size_t s = 0; s < STAGES_MAX; s++)
    dsp_resampler_destroy(decimator->stages[s]);
  free(decimator->between[0]);
  free(decimator->between[1]);
  free(decimator);
}
