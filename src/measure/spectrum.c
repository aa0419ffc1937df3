/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Averaged spectrum by Welch's method, with a zoom in front of it.
 *
 * Samples pass the zoom, where there is one, and are cut into overlapping records; each goes
 * through a worker: weigh, transform, gather powers. A worker holds all that a record changes,
 * sums included; sums of several workers could be added. */
#include <sidecomb/spectrum.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "dsp/fft.h"
#include "dsp/periodogram.h"
#include "dsp/window.h"
#include "dsp/zoom.h"
#include "measure/spectrum_plan.h"

/* Stop band of the zoom's filters. Aliases are to be 90 dB down within the span, and the pass
 * band, which errs by twice the stop band's ripple per stage, is to be flat within 0.001 dB. */
static const double ZOOM_ATTENUATION_DB = 110;

/* FFTW measures a plan in some 25 us per point and then saves some 1 ns per frame. */
static const double PLANNING_S_PER_POINT = 25e-6, SAVING_S_PER_FRAME = 1e-9;

/* At an overlap of at most 0.95 no more records than these share samples with one (a hop of 1 in a
 * record of 28 is the worst of rounding). */
enum { NEIGHBOURS_MAX = 32 };

/* Two transforms wait for each other, so that the sums are read and written half as often; long
 * ones, which leave the cache in any case, do without. */
enum { PAIRED_LENGTH_MAX = 1 << 15 };

struct worker {
  struct dsp_fft *fft[2];
  size_t transforms, waiting;
  double *sum;
  float *max, *min;
};

/* Weight of the average, and the sum over all pairs of records of their weights times the square
 * of their correlation: the square of the one over the other is the number of independent
 * records (Welch 1967). */
struct tally {
  uint64_t records, run; /* run: since the last discontinuity */
  double weight, pairs;
  double decay, neighbours[NEIGHBOURS_MAX + 1]; /* [m]: pairs that a record with m others adds */
};

/* Frames before the next block that records still need: the next one starts at `start`. */
struct kept {
  float *ring; /* of a record's length */
  size_t start, frames;
  size_t skip; /* of those to come, before the next record */
};

struct sc_spectrum {
  struct sc_spectrum_settings settings;
  struct measure_band band;
  struct measure_records plan;
  size_t points, components; /* floats of a frame */
  double rbw_hz;
  float *window, *mean;
  struct kept kept;
  struct dsp_zoom *zoom; /* NULL: the input's own samples */
  struct worker worker;
  struct tally tally;
};

static void worker_clear(struct worker *worker, size_t points)
{
  worker->waiting = 0;
  memset(worker->sum, 0, points * sizeof *worker->sum);
  memset(worker->max, 0, points * sizeof *worker->max);
  for (size_t i = 0; i < points; i++)
    worker->min[i] = INFINITY;
}

/* Half of what a real signal holds at a frequency lies at its negative, but for 0 and half the
 * rate: those two are not doubled. */
static void halve_edges(float *bins, size_t length)
{
  float *half_rate = bins + length;
  for (size_t i = 0; i < 2; i++) {
    bins[i] *= (float)sqrt(0.5);
    half_rate[i] *= (float)sqrt(0.5);
  }
}

/* Powers of `count` bins from `bin` on into the sums from `point` on. */
static void gather(struct worker *worker, size_t bin, size_t point, size_t count, double decay)
{
  const float *first = dsp_fft_output(worker->fft[0]) + 2 * bin;
  double *sum = worker->sum + point;
  float *max = worker->max + point, *min = worker->min + point;
  if (worker->waiting == 1)
    dsp_gather_power(first, count, decay, sum, max, min);
  else
    dsp_gather_two_powers(first, dsp_fft_output(worker->fft[1]) + 2 * bin, count, decay, sum, max,
                          min);
}

/* A transform holds the bins from zero up, then those from the lowest negative one. */
static void gather_waiting(struct worker *worker, const struct measure_records *plan, double decay)
{
  size_t below = 0;
  if (worker->waiting == 0)
    return;
  if (plan->first < 0) {
    long last = plan->last < -1 ? plan->last : -1;
    below = (size_t)(last - plan->first + 1);
    gather(worker, plan->length - (size_t)-plan->first, 0, below, decay);
  }
  if (plan->last >= 0) {
    size_t bin = plan->first > 0 ? (size_t)plan->first : 0;
    gather(worker, bin, below, (size_t)plan->last + 1 - bin, decay);
  }
  worker->waiting = 0;
}

static void tally_record(struct tally *tally)
{
  size_t others = tally->run < NEIGHBOURS_MAX ? (size_t)tally->run : NEIGHBOURS_MAX;
  tally->weight = tally->decay * tally->weight + 1;
  tally->pairs = tally->decay * tally->decay * tally->pairs + tally->neighbours[others];
  tally->records++;
  tally->run++;
}

/* A piece of a record into the transform's input, `at` frames after the record's start. */
static void weigh(struct sc_spectrum *s, const float *samples, size_t at, size_t frames)
{
  float *input = dsp_fft_buffer(s->worker.fft[s->worker.waiting]) + at * s->components;
  if (s->band.half)
    dsp_weigh_real(samples, s->window + at, frames, input);
  else
    dsp_weigh_complex(samples, s->window + at, frames, input);
}

/* The record that starts with the kept frames and goes on in the block. */
static void take_record(struct sc_spectrum *s, const float *block)
{
  const struct kept *kept = &s->kept;
  struct worker *worker = &s->worker;
  struct dsp_fft *fft = worker->fft[worker->waiting];
  size_t length = s->plan.length, to_end = length - kept->start;
  size_t first = kept->frames < to_end ? kept->frames : to_end;
  weigh(s, kept->ring + kept->start * s->components, 0, first);
  weigh(s, kept->ring, first, kept->frames - first);
  weigh(s, block, kept->frames, length - kept->frames);
  dsp_fft_run(fft);
  if (s->band.half)
    halve_edges(dsp_fft_output(fft), length);
  if (++worker->waiting == worker->transforms)
    gather_waiting(worker, &s->plan, s->tally.decay);
  tally_record(&s->tally);
}

static void keep(struct sc_spectrum *s, const float *samples, size_t frames)
{
  struct kept *kept = &s->kept;
  size_t length = s->plan.length, end = (kept->start + kept->frames) % length;
  size_t first = frames < length - end ? frames : length - end;
  size_t frame = s->components * sizeof *samples;
  memcpy(kept->ring + end * s->components, samples, first * frame);
  memcpy(kept->ring, samples + first * s->components, (frames - first) * frame);
  kept->frames += frames;
}

/* Returns how many of the frames to come are between two records. */
static size_t leave_out(struct sc_spectrum *s, size_t frames)
{
  size_t left_out = s->kept.skip < frames ? s->kept.skip : frames;
  s->kept.skip -= left_out;
  return left_out;
}

/* A record's frames are copied only when the block ends before it does. */
static void feed_records(struct sc_spectrum *s, const float *samples, size_t frames)
{
  struct kept *kept = &s->kept;
  size_t done = leave_out(s, frames);
  while (kept->frames + (frames - done) >= s->plan.length) {
    take_record(s, samples + done * s->components);
    size_t left = kept->frames < s->plan.hop ? kept->frames : s->plan.hop;
    kept->start = (kept->start + left) % s->plan.length;
    kept->frames -= left;
    kept->skip = s->plan.apart;
    done += s->plan.hop - left;
    done += leave_out(s, frames - done);
  }
  keep(s, samples + done * s->components, frames - done);
}

static void feed_zoomed(struct sc_spectrum *s, const float *samples, size_t frames)
{
  size_t components = s->settings.complex_input ? 2 : 1;
  while (frames > 0) {
    size_t part = frames < DSP_ZOOM_BLOCK ? frames : DSP_ZOOM_BLOCK;
    const float *zoomed;
    size_t made = dsp_zoom_run(s->zoom, samples, part, &zoomed);
    feed_records(s, zoomed, made);
    samples += part * components;
    frames -= part;
  }
}

static void start_afresh(struct sc_spectrum *s)
{
  s->kept.start = s->kept.frames = s->kept.skip = 0;
  s->tally.run = 0;
  if (s->zoom)
    dsp_zoom_reset(s->zoom);
}

void sc_spectrum_feed(struct sc_spectrum *spectrum, const float *samples, size_t frames,
                      bool discontinuity)
{
  if (discontinuity)
    start_afresh(spectrum);
  if (frames == 0)
    return;
  if (spectrum->zoom)
    feed_zoomed(spectrum, samples, frames);
  else
    feed_records(spectrum, samples, frames);
}

void sc_spectrum_result(struct sc_spectrum *spectrum, struct sc_trace *trace)
{
  const struct sc_spectrum *s = spectrum;
  const struct tally *tally = &s->tally;
  gather_waiting(&spectrum->worker, &s->plan, tally->decay);
  for (size_t i = 0; i < s->points && tally->records; i++)
    s->mean[i] = (float)(s->worker.sum[i] / tally->weight);
  *trace = (struct sc_trace){
      .start_hz = s->band.mix_hz + (double)s->plan.first * s->plan.step_hz,
      .step_hz = s->plan.step_hz,
      .points = tally->records ? s->points : 0,
      .mean = s->mean,
      .max_hold = s->worker.max,
      .min_hold = s->worker.min,
      .rbw_hz = s->rbw_hz,
      .record_s = (double)s->plan.length / s->band.rate_hz,
      .records = tally->records,
      .independent_records = tally->records ? tally->weight * tally->weight / tally->pairs : 0,
      .coverage = fmin((double)s->plan.length / (double)(s->plan.hop + s->plan.apart), 1),
      .window = s->settings.window,
      .window_parameter = s->settings.window_parameter,
      .rbw_limited = s->plan.limited,
  };
}

void sc_spectrum_reset(struct sc_spectrum *spectrum)
{
  start_afresh(spectrum);
  worker_clear(&spectrum->worker, spectrum->points);
  spectrum->tally.records = 0;
  spectrum->tally.weight = spectrum->tally.pairs = 0;
}

static enum sc_error make_zoom(struct sc_spectrum *s)
{
  if (s->band.decimation == 1)
    return SC_OK;
  const struct dsp_zoom_settings settings = {
      .rate_hz = s->settings.sample_rate_hz,
      .complex_input = s->settings.complex_input,
      .centre_hz = s->band.mix_hz,
      .decimation = s->band.decimation,
      .half_width_hz = s->band.clean_hz,
      .attenuation_db = ZOOM_ATTENUATION_DB,
  };
  return dsp_zoom_create(&settings, &s->zoom);
}

static enum dsp_effort choose_effort(const struct sc_spectrum *s)
{
  double frames = (double)s->settings.expected_frames / s->band.decimation;
  double cost_s = PLANNING_S_PER_POINT * (double)s->plan.length;
  return frames * SAVING_S_PER_FRAME > cost_s ? DSP_PLAN_MEASURE : DSP_PLAN_ESTIMATE;
}

static enum sc_error make_worker(struct sc_spectrum *s)
{
  struct worker *worker = &s->worker;
  worker->sum = malloc(s->points * sizeof *worker->sum);
  worker->max = malloc(s->points * sizeof *worker->max);
  worker->min = malloc(s->points * sizeof *worker->min);
  if (!worker->sum || !worker->max || !worker->min)
    return SC_NO_MEMORY;
  worker->transforms = s->plan.length <= PAIRED_LENGTH_MAX ? 2 : 1;
  enum sc_error error = SC_OK;
  for (size_t i = 0; i < worker->transforms && error == SC_OK; i++)
    error = dsp_fft_create_apart(s->plan.length, s->band.half, choose_effort(s), &worker->fft[i]);
  return error;
}

static void fill_tally(struct sc_spectrum *s, const double *window)
{
  struct tally *tally = &s->tally;
  size_t length = s->plan.length, hop = s->plan.hop;
  tally->decay = 1;
  if (s->settings.memory_s > 0)
    tally->decay = exp(-(double)hop / s->band.rate_hz / s->settings.memory_s);
  tally->neighbours[0] = 1;
  for (size_t m = 1; m <= NEIGHBOURS_MAX; m++) {
    double c = m * hop < length ? dsp_window_correlation(window, length, m * hop) : 0;
    tally->neighbours[m] = tally->neighbours[m - 1] + 2 * c * c * pow(tally->decay, (double)m);
  }
}

/* Scaled so that a tone's bin reads its power: to a sum of 1, and for real input, where a sine
 * has half its amplitude at its positive frequency, to a sum of 2. */
static void scale_window(struct sc_spectrum *s, const double *window)
{
  double sum = 0, squares = 0;
  for (size_t i = 0; i < s->plan.length; i++) {
    sum += window[i];
    squares += window[i] * window[i];
  }
  for (size_t i = 0; i < s->plan.length; i++)
    s->window[i] = (float)(window[i] * (s->settings.complex_input ? 1 : 2) / sum);
  s->rbw_hz = squares / (sum * sum) * s->band.rate_hz;
}

static enum sc_error make_window(struct sc_spectrum *s)
{
  double *window = malloc(s->plan.length * sizeof *window);
  s->window = malloc(s->plan.length * sizeof *s->window);
  enum sc_error error = window && s->window ? SC_OK : SC_NO_MEMORY;
  if (error == SC_OK) {
    dsp_window_fill(s->settings.window, s->settings.window_parameter, s->plan.length, window);
    scale_window(s, window);
    fill_tally(s, window);
  }
  free(window);
  return error;
}

static enum sc_error make_records(struct sc_spectrum *s)
{
  size_t transient = s->zoom ? dsp_zoom_transient(s->zoom) : 0;
  s->plan = measure_plan_records(&s->settings, &s->band, transient);
  s->points = (size_t)(s->plan.last - s->plan.first + 1);
  s->components = s->band.half ? 1 : 2;
  s->kept.ring = malloc(s->plan.length * s->components * sizeof *s->kept.ring);
  s->mean = malloc(s->points * sizeof *s->mean);
  enum sc_error error = s->kept.ring && s->mean ? make_window(s) : SC_NO_MEMORY;
  return error == SC_OK ? make_worker(s) : error;
}

enum sc_error sc_spectrum_create(const struct sc_spectrum_settings *settings,
                                 struct sc_spectrum **spectrum)
{
  struct measure_band band;
  if (!spectrum)
    return SC_BAD_ARGUMENT;
  *spectrum = NULL;
  enum sc_error error = settings ? measure_plan_band(settings, &band) : SC_BAD_ARGUMENT;
  if (error != SC_OK)
    return error;
  struct sc_spectrum *s = calloc(1, sizeof *s);
  if (!s)
    return SC_NO_MEMORY;
  s->settings = *settings;
  s->band = band;
  error = make_zoom(s);
  if (error == SC_OK)
    error = make_records(s);
  if (error != SC_OK) {
    sc_spectrum_destroy(s);
    return error;
  }
  sc_spectrum_reset(s);
  *spectrum = s;
  return SC_OK;
}

void sc_spectrum_destroy(struct sc_spectrum *spectrum)
{
  if (!spectrum)
    return;
  dsp_fft_destroy(spectrum->worker.fft[0]);
  dsp_fft_destroy(spectrum->worker.fft[1]);
  free(spectrum->worker.sum);
  free(spectrum->worker.max);
  free(spectrum->worker.min);
  dsp_zoom_destroy(spectrum->zoom);
  free(spectrum->window);
  free(spectrum->kept.ring);
  free(spectrum->mean);
  free(spectrum);
}
