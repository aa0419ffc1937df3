/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Transform, averaged power, peaks and fits of records of one length. The record is transformed
 * once, lightly tapered; the view for finding is derived from that. */
#include "measure/lines_record.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "dsp/fft.h"
#include "dsp/large.h"
#include "dsp/lobe.h"
#include "dsp/select.h"

/* Nothing below this part of the record's power is called a line: the rounding of single
 * precision samples has lines of its own, and so has the leakage of the strongest line. */
static const double rounding_single = 3e-16, rounding_double = 5e-14;
/* For a quantile, neighbouring bins of the 7-term window are worth one observation in 2.7
 * (simulated). */
static const double correlated_bins = 2.7;
/* Peaks of noise alone that are fitted in vain: the window for finding sees a tone 4 dB weaker
 * than the fit does, so the fit decides. */
static const double candidates = 100;
/* The fit takes the best frequency, not that of a bin: sqrt(pi t / 3) maxima of a flat record's
 * spectrum pass t for each bin that does (S. O. Rice 1944), which is worth this much at t = 17. */
static const double best_frequency = 1.45;
/* Variance of the fitted amplitude over that in a flat record; see plateau.h. */
static const double fit_noise = 1.06;
/* Real input: this close to either end of the spectrum, a line and its image are one. */
enum { EDGE_BINS = 3 };
/* Of the windows that the floor is taken from. */
enum { FLOOR_BINS = 512 };

/* So far out a tone that is not wanted weighs on those that are. */
static const double weighs_bins = DSP_PLATEAU_SPAN + DSP_TONE_REACH + 8;

/* A threshold costs as much as some fits, and the same ones are asked for again and again. */
struct known {
  unsigned looks;
  double false_alarm, threshold;
};

struct lines_record {
  size_t n;
  bool complex_input;
  struct lines_band band;
  struct dsp_large *single; /* one of the two */
  struct dsp_fft64 *fft;
  struct dsp_plateau *plateau;
  struct dsp_lobe lobe;
  struct dsp_peaks *peaks;
  size_t bins; /* of the averaged power */
  unsigned looks;
  unsigned found_looks; /* of the peaks that were asked for last */
  struct dsp_peak
      *followed;         /* of the last search for lines to follow: asking for what stands now */
  size_t followed_count; /* must not change what is followed */
  unsigned followed_looks;
  bool crowded, crowded_now; /* peaks were left out of such a search, or of the last one */
  struct known known[LINES_RECORDS_MAX + 1]; /* by the number of fits */
  double smallest;                           /* that a line in the loaded record may be */
  double lowest;                             /* sum of that over looks */
  float *power;                              /* sum over looks, `bins` */
};

void lines_record_destroy(struct lines_record *record)
{
  if (!record)
    return;
  dsp_large_destroy(record->single);
  dsp_fft64_destroy(record->fft);
  dsp_plateau_destroy(record->plateau);
  dsp_peaks_destroy(record->peaks);
  free(record->followed);
  dsp_memory_free(record->power);
  free(record);
}

static bool is_wanted(const void *context, size_t bin)
{
  const struct lines_record *record = context;
  const struct lines_band *band = &record->band;
  double n = (double)record->n, at = (double)bin;
  if (record->complex_input && at > n / 2)
    at -= n;
  if (at > band->without_lower + weighs_bins && at < band->without_upper - weighs_bins)
    return false;
  return band->upper <= band->lower ||
         (at >= band->lower - weighs_bins && at <= band->upper + weighs_bins);
}

/* In the precision of the samples. */
static enum sc_error create_transform(struct lines_record *record, bool single)
{
  return single ? dsp_large_create(record->n, &record->single)
                : dsp_fft64_create(record->n, DSP_PLAN_ESTIMATE, &record->fft);
}

static enum sc_error create_parts(struct lines_record *record, bool single)
{
  enum sc_error error = create_transform(record, single);
  if (error == SC_OK)
    error = dsp_plateau_create(record->n, &record->plateau);
  if (error != SC_OK)
    return error;
  record->lobe = dsp_lobe_make(record->plateau);
  struct dsp_peaks_settings settings = {
      .n = record->bins,
      .circular = record->complex_input,
      .capacity = LINES_CANDIDATES_MAX,
      .lobe = record->lobe.power,
      .lobe_count = DSP_LOBE_HALF_WIDTH + 1,
      .far = DSP_LOBE_FAR,
      .correlated_bins = correlated_bins,
      .wanted = is_wanted,
      .context = record,
  };
  record->followed = malloc(settings.capacity * sizeof *record->followed);
  return record->followed != NULL ? dsp_peaks_create(&settings, &record->peaks) : SC_NO_MEMORY;
}

enum sc_error lines_record_create(size_t n, bool complex_input, bool single,
                                  const struct lines_band *band, struct lines_record **out)
{
  *out = NULL;
  if (n < LINES_SHORTEST || n % 2 != 0)
    return SC_BAD_ARGUMENT;
  struct lines_record *record = calloc(1, sizeof *record);
  if (!record)
    return SC_NO_MEMORY;
  record->n = n;
  record->complex_input = complex_input;
  record->bins = complex_input ? n : n / 2 + 1;
  record->band = *band;
  record->power = dsp_memory_make(record->bins * sizeof *record->power);
  enum sc_error error = record->power != NULL ? create_parts(record, single) : SC_NO_MEMORY;
  if (error != SC_OK) {
    lines_record_destroy(record);
    return error;
  }
  memset(record->power, 0, record->bins * sizeof *record->power);
  *out = record;
  return SC_OK;
}

size_t lines_record_length(const struct lines_record *record)
{
  return record->n;
}

struct dsp_rows lines_record_rows(const struct lines_record *record)
{
  return dsp_large_rows(record->single);
}

void lines_record_rest(struct lines_record *record)
{
  if (record->single != NULL)
    dsp_large_rest(record->single);
}

/* One row, tapered. */
static void take_row(const struct lines_record *record, const struct lines_frames *frames,
                     const struct lines_turn *turn, size_t at, size_t count, float *row)
{
  const size_t channels = record->complex_input ? 2 : 1;
  lines_frames_read(frames, at * channels, count * channels, row);
  for (size_t i = count; channels == 1 && i-- > 0;) { /* from the end, to spread in place */
    row[2 * i] = row[i];
    row[2 * i + 1] = 0;
  }
  if (turn != NULL)
    lines_turn_back(turn, record->n, at, row, count);
  dsp_plateau_weigh(record->plateau, at, row, count);
}

static void take_rows(const struct lines_record *record, const struct lines_frames *frames,
                      const struct lines_turn *turn)
{
  const struct dsp_rows rows = dsp_large_rows(record->single);
  for (size_t r = 0; r < rows.rows; r++)
    take_row(record, frames, turn, r * rows.length, rows.length, rows.values + r * rows.stride);
}

/* The same in double precision; returns the sum of their squares. */
static double take_frames(const struct lines_record *record, const struct lines_frames *frames)
{
  double *buffer = dsp_fft64_buffer(record->fft), squares = 0;
  const size_t count = record->complex_input ? 2 * record->n : record->n;
  lines_frames_read64(frames, 0, count, buffer);
  for (size_t i = 0; i < count; i++)
    squares += buffer[i] * buffer[i];
  for (size_t i = record->n; !record->complex_input && i-- > 0;) { /* from the end, as above */
    buffer[2 * i] = buffer[i];
    buffer[2 * i + 1] = 0;
  }
  dsp_plateau_apply(record->plateau, buffer, 2);
  return squares;
}

static double transform_single(struct lines_record *record, const struct lines_frames *frames,
                               const struct lines_turn *turn)
{
  take_rows(record, frames, turn);
  return dsp_large_run(record->single);
}

static double transform_double(struct lines_record *record, const struct lines_frames *frames)
{
  const double squares = take_frames(record, frames);
  dsp_fft64_run(record->fft);
  return squares;
}

bool lines_record_load(struct lines_record *record, const struct lines_frames *frames, bool exact,
                       const struct lines_turn *turn)
{
  const double squares = record->single != NULL ? transform_single(record, frames, turn)
                                                : transform_double(record, frames);
  record->smallest = squares * (exact ? rounding_double : rounding_single);
  return isfinite(squares);
}

void lines_record_average(struct lines_record *record)
{
  if (record->single != NULL) {
    const struct dsp_rows rows = dsp_large_rows(record->single);
    dsp_lobe_add_rows(&record->lobe, &rows, record->bins, record->power);
  } else {
    dsp_lobe_add(&record->lobe, dsp_fft64_buffer(record->fft), record->n, 0, record->bins,
                 record->power);
  }
  record->lowest += record->smallest;
  record->looks++;
}

void lines_record_forget(struct lines_record *record)
{
  if (record->looks > 0)
    memset(record->power, 0, record->bins * sizeof *record->power);
  record->looks = record->found_looks = record->followed_looks = 0;
  record->crowded = record->crowded_now = false;
  record->lowest = 0;
}

const struct dsp_peak *lines_record_find(struct lines_record *record, size_t *count)
{
  const struct dsp_peak *found = dsp_peaks_find(record->peaks, record->power, record->looks,
                                                candidates, record->lowest, count);
  record->found_looks = record->looks;
  record->crowded_now = dsp_peaks_crowded(record->peaks);
  return found;
}

bool lines_record_crowded(const struct lines_record *record)
{
  return record->crowded || record->crowded_now;
}

const struct dsp_peak *lines_record_recent(struct lines_record *record, size_t *count)
{
  if (3 * record->followed_looks < 2 * record->looks) {
    const struct dsp_peak *found = lines_record_find(record, &record->followed_count);
    memcpy(record->followed, found, record->followed_count * sizeof *found);
    record->followed_looks = record->looks;
    record->crowded = record->crowded || record->crowded_now;
  }
  record->found_looks = record->followed_looks;
  *count = record->followed_count;
  return record->followed;
}

double lines_record_threshold(struct lines_record *record, size_t fitted, double false_alarm)
{
  struct known *known = &record->known[fitted];
  if (known->looks == record->looks && known->false_alarm == false_alarm)
    return known->threshold;
  double chance = false_alarm / (double)record->bins;
  double threshold =
      dsp_peaks_threshold(record->peaks, (double)fitted, record->looks, chance) + best_frequency;
  *known = (struct known){record->looks, false_alarm, fit_noise * threshold};
  return known->threshold;
}

/* Of the mean of so many looks, which is gamma distributed, the median over the mean (K. P.
 * Choi, Proc. Am. Math. Soc. 121, 1994, from memory: k - 1/3 + 8 / 405 k). */
static double median_of_looks(double looks)
{
  return (looks - 1.0 / 3 + 8 / (405 * looks)) / looks;
}

double lines_record_floor(const struct lines_record *record, double lower, double upper)
{
  float window[FLOOR_BINS];
  const double bins = (double)record->bins, looks = (double)record->looks;
  double most = (double)NAN;
  for (double from = lower; record->looks > 0 && from + FLOOR_BINS - 1 <= upper;
       from += FLOOR_BINS) {
    const double first = from < 0 && record->complex_input ? from + bins : from;
    if (first < 0 || first >= bins)
      continue;
    for (size_t i = 0; i < FLOOR_BINS; i++)
      window[i] = record->power[((size_t)first + i) % record->bins];
    most = fmax(most, (double)dsp_select(window, FLOOR_BINS, FLOOR_BINS / 2));
  }
  return most / looks / median_of_looks(looks) / record->lobe.noise_gain / (double)record->n;
}

/* Parabola through the logarithms: the summit of the 7-term window is nearly Gaussian. */
static double summit(const struct lines_record *record, size_t k)
{
  size_t bins = record->bins, below = k > 0 ? k - 1 : bins - 1, above = k + 1 < bins ? k + 1 : 0;
  if (!record->complex_input && (k == 0 || k + 1 == bins))
    return (double)k;
  double a = log((double)record->power[below]), b = log((double)record->power[k]);
  double c = log((double)record->power[above]);
  double part = 0.5 * (a - c) / (a - 2 * b + c);
  return (double)k + (isfinite(part) ? fmin(fmax(part, -0.5), 0.5) : 0);
}

struct dsp_tone lines_record_tone(const struct lines_record *record, const struct dsp_peak *peak)
{
  struct dsp_tone tone = {.found = summit(record, peak->index)};
  tone.noise = peak->floor / record->found_looks / record->lobe.noise_gain / (double)record->n;
  if (record->complex_input)
    return tone;
  bool direct = peak->index <= EDGE_BINS, highest = peak->index + EDGE_BINS >= record->n / 2;
  if (direct || highest)
    tone.found = direct ? 0 : (double)(record->n / 2);
  tone.fixed = direct || highest;
  return tone;
}

/* `rows` is for the view to point to. */
static struct dsp_record view_of(const struct lines_record *record, struct dsp_rows *rows)
{
  struct dsp_record view = {
      .n = record->n, .real_input = !record->complex_input, .plateau = record->plateau};
  if (record->single != NULL) {
    *rows = dsp_large_rows(record->single);
    view.rows = rows;
  } else {
    view.bins = dsp_fft64_buffer(record->fft);
  }
  return view;
}

void lines_record_fit(const struct lines_record *record, struct dsp_tone *tones, size_t count)
{
  struct dsp_rows rows;
  const struct dsp_record view = view_of(record, &rows);
  dsp_tones_fit(&view, tones, count, DSP_TONE_SWEEPS_ROUGH);
}

void lines_record_refine(const struct lines_record *record, struct dsp_tone *tones, size_t count)
{
  struct dsp_rows rows;
  const struct dsp_record view = view_of(record, &rows);
  dsp_tones_refine(&view, tones, count, DSP_TONE_SWEEPS);
}
