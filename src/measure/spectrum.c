/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Averaged spectrum by Welch's method, with a zoom in front of it.
 *
 * Samples pass the zoom, where there is one, and are cut into overlapping records; each goes
 * through a worker: weigh, transform, gather powers. A worker holds all that a record changes,
 * sums included; sums of several workers could be added.
 *
 * A transform of complex values is done in quarters, each of which makes every fourth bin. The sums
 * stay in that order, so that a row's powers are taken while it is in the nearest cache. */
#include <sidecomb/spectrum.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "dsp/fft.h"
#include "dsp/periodogram.h"
#include "dsp/quarters.h"
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

/* Two records wait for each other, so that the sums are read and written half as often; long ones,
 * which leave the cache in any case, do without. */
enum { PAIRED_LENGTH_MAX = 1 << 17 };

/* Quarters need whole vectors, and short ones gain nothing. */
enum { QUARTERS_LENGTH_MIN = 1024, QUARTERS_UNIT = 32 };

struct worker {
  size_t rows, row_bins;         /* bin k is number k / rows of row k % rows */
  struct dsp_quarters *quarters; /* NULL: one row, by fft */
  float *divided[2], *bins[2];   /* of the quarters: rows before they are transformed, one after */
  struct dsp_fft *fft[2];
  size_t records, waiting; /* that can wait, that do */
  double *sum;             /* rows, one behind the other */
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
  float *record; /* one that is in several pieces */
  float *window, *mean, *max, *min;
  struct kept kept;
  struct dsp_zoom *zoom; /* NULL: the input's own samples */
  struct worker worker;
  struct tally tally;
};

static void worker_clear(struct worker *worker)
{
  const size_t count = worker->rows * worker->row_bins;
  worker->waiting = 0;
  memset(worker->sum, 0, count * sizeof *worker->sum);
  memset(worker->max, 0, count * sizeof *worker->max);
  for (size_t i = 0; i < count; i++)
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

/* Bins of a row of a record that waits. */
static const float *transform_row(struct worker *worker, size_t record, size_t row, bool half)
{
  if (worker->quarters != NULL) {
    dsp_quarters_row(worker->quarters, worker->divided[record], row, worker->bins[record]);
    return worker->bins[record];
  }
  struct dsp_fft *fft = worker->fft[record];
  dsp_fft_run(fft);
  if (half)
    halve_edges(dsp_fft_output(fft), 2 * (worker->row_bins - 1));
  return dsp_fft_output(fft);
}

/* Powers of a row's bins that stand for bins [from, to) of the transform, into its sums. */
static void gather(struct worker *worker, const float *const bins[2], size_t row, size_t from,
                   size_t to, double decay)
{
  const size_t rows = worker->rows;
  const size_t first = from > row ? (from - row + rows - 1) / rows : 0;
  const size_t end = to > row ? (to - row + rows - 1) / rows : 0;
  const size_t at = row * worker->row_bins + first;
  double *sum = worker->sum + at;
  float *max = worker->max + at, *min = worker->min + at;
  if (end <= first)
    return;
  if (worker->waiting == 1)
    dsp_gather_power(bins[0] + 2 * first, end - first, decay, sum, max, min);
  else
    dsp_gather_two_powers(bins[0] + 2 * first, bins[1] + 2 * first, end - first, decay, sum, max,
                          min);
}

/* A transform holds the bins from zero up, then those from the lowest negative one. */
static void gather_waiting(struct sc_spectrum *s)
{
  struct worker *worker = &s->worker;
  const long first = s->plan.first, last = s->plan.last, length = (long)s->plan.length;
  for (size_t row = 0; row < worker->rows && worker->waiting > 0; row++) {
    const float *bins[2] = {NULL, NULL};
    for (size_t i = 0; i < worker->waiting; i++)
      bins[i] = transform_row(worker, i, row, s->band.half);
    if (first < 0)
      gather(worker, bins, row, (size_t)(length + first),
             (size_t)(length + (last < -1 ? last : -1) + 1), s->tally.decay);
    if (last >= 0)
      gather(worker, bins, row, (size_t)(first > 0 ? first : 0), (size_t)last + 1, s->tally.decay);
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

/* The record that starts with the kept frames and goes on in the block, in one piece. */
static const float *whole_record(struct sc_spectrum *s, const float *block)
{
  const struct kept *kept = &s->kept;
  const size_t length = s->plan.length, width = s->components, to_end = length - kept->start;
  const size_t first = kept->frames < to_end ? kept->frames : to_end;
  float *const then = s->record + first * width, *const last = s->record + kept->frames * width;
  if (kept->frames == 0)
    return block;
  memcpy(s->record, kept->ring + kept->start * width, first * width * sizeof *block);
  memcpy(then, kept->ring, (kept->frames - first) * width * sizeof *block);
  memcpy(last, block, (length - kept->frames) * width * sizeof *block);
  return s->record;
}

static void take_record(struct sc_spectrum *s, const float *block)
{
  const float *const record = whole_record(s, block);
  struct worker *worker = &s->worker;
  const size_t length = s->plan.length, place = worker->waiting;
  if (worker->quarters != NULL)
    dsp_quarters_divide(worker->quarters, record, s->window, worker->divided[place]);
  else if (s->band.half)
    dsp_weigh_real(record, s->window, length, dsp_fft_buffer(worker->fft[place]));
  else
    dsp_weigh_complex(record, s->window, length, dsp_fft_buffer(worker->fft[place]));
  if (++worker->waiting == worker->records)
    gather_waiting(s);
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

/* From the order of the rows to that of the frequencies. */
static void put_in_order(struct sc_spectrum *s)
{
  const struct worker *worker = &s->worker;
  const size_t length = s->plan.length;
  for (size_t i = 0; i < s->points; i++) {
    const size_t bin = (size_t)(s->plan.first + (long)(i + length)) % length;
    const size_t at = bin % worker->rows * worker->row_bins + bin / worker->rows;
    s->mean[i] = (float)(worker->sum[at] / s->tally.weight);
    s->max[i] = worker->max[at];
    s->min[i] = worker->min[at];
  }
}

void sc_spectrum_result(struct sc_spectrum *spectrum, struct sc_trace *trace)
{
  struct sc_spectrum *s = spectrum;
  const struct tally *tally = &s->tally;
  gather_waiting(s);
  if (tally->records > 0)
    put_in_order(s);
  *trace = (struct sc_trace){
      .start_hz = s->band.mix_hz + (double)s->plan.first * s->plan.step_hz,
      .step_hz = s->plan.step_hz,
      .points = tally->records ? s->points : 0,
      .mean = s->mean,
      .max_hold = s->max,
      .min_hold = s->min,
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
  worker_clear(&spectrum->worker);
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

static enum sc_error make_quarters(struct sc_spectrum *s)
{
  struct worker *worker = &s->worker;
  const size_t bytes = 2 * worker->row_bins * sizeof *worker->bins[0];
  enum sc_error error = dsp_quarters_create(s->plan.length, choose_effort(s), &worker->quarters);
  for (size_t i = 0; i < worker->records && error == SC_OK; i++) {
    worker->divided[i] = dsp_memory_make(dsp_quarters_room(worker->quarters) * sizeof(float));
    worker->bins[i] = dsp_memory_make(bytes);
    if (worker->divided[i] == NULL || worker->bins[i] == NULL)
      error = SC_NO_MEMORY;
  }
  return error;
}

static enum sc_error make_transforms(struct sc_spectrum *s)
{
  struct worker *worker = &s->worker;
  enum sc_error error = SC_OK;
  if (worker->rows > 1)
    return make_quarters(s);
  for (size_t i = 0; i < worker->records && error == SC_OK; i++)
    error = dsp_fft_create_apart(s->plan.length, s->band.half, choose_effort(s), &worker->fft[i]);
  return error;
}

static enum sc_error make_worker(struct sc_spectrum *s)
{
  struct worker *worker = &s->worker;
  const size_t length = s->plan.length;
  const bool quarters =
      !s->band.half && length >= QUARTERS_LENGTH_MIN && length % QUARTERS_UNIT == 0;
  worker->rows = quarters ? 4 : 1;
  worker->row_bins = s->band.half ? length / 2 + 1 : length / worker->rows;
  worker->records = length <= PAIRED_LENGTH_MAX ? 2 : 1;
  const size_t count = worker->rows * worker->row_bins;
  worker->sum = malloc(count * sizeof *worker->sum);
  worker->max = malloc(count * sizeof *worker->max);
  worker->min = malloc(count * sizeof *worker->min);
  const bool made = worker->sum != NULL && worker->max != NULL && worker->min != NULL;
  return made ? make_transforms(s) : SC_NO_MEMORY;
}

static void destroy_worker(struct worker *worker)
{
  for (size_t i = 0; i < 2; i++) {
    dsp_fft_destroy(worker->fft[i]);
    dsp_memory_free(worker->divided[i]);
    dsp_memory_free(worker->bins[i]);
  }
  dsp_quarters_destroy(worker->quarters);
  free(worker->sum);
  free(worker->max);
  free(worker->min);
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
  s->record = malloc(s->plan.length * s->components * sizeof *s->record);
  s->mean = malloc(s->points * sizeof *s->mean);
  s->max = malloc(s->points * sizeof *s->max);
  s->min = malloc(s->points * sizeof *s->min);
  const bool made = s->kept.ring && s->record && s->mean && s->max && s->min;
  enum sc_error error = made ? make_window(s) : SC_NO_MEMORY;
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
  destroy_worker(&spectrum->worker);
  dsp_zoom_destroy(spectrum->zoom);
  free(spectrum->window);
  free(spectrum->kept.ring);
  free(spectrum->record);
  free(spectrum->mean);
  free(spectrum->max);
  free(spectrum->min);
  free(spectrum);
}
