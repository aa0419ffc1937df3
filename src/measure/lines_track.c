/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines over several records. Each record gives an estimate of its own; together they give a
 * weighted mean, whose uncertainty is taken from their scatter where that is larger than the
 * noise explains. */
#include "measure/lines_track.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

static_assert((int)LINES_RECORDS_MAX <= (int)SC_LINES_MOMENTS_MAX, "each record is a moment");
static const double pi = 3.14159265358979323846;
static const double decibels = 8.685889638065035; /* 20 / ln 10 */
/* Peaks farther apart than this are two lines. */
static const double same_bins = 2.5;

/* One track, as its fits are asked for together. */
struct track {
  struct lines_fit fits[LINES_RECORDS_MAX];
  size_t count;
};

static int by_bin(const void *left, const void *right)
{
  const struct lines_place *a = left, *b = right;
  return (a->bin > b->bin) - (a->bin < b->bin);
}

static void sort_places(struct lines_tracks *tracks)
{
  for (size_t i = 0; i < tracks->count; i++)
    tracks->places[i] = (struct lines_place){tracks->bins[i], i};
  qsort(tracks->places, tracks->count, sizeof *tracks->places, by_bin);
}

/* The first place at or above a frequency, or the number of them. */
static size_t first_from(const struct lines_tracks *tracks, double bin)
{
  size_t below = 0, above = tracks->count;
  while (below < above) {
    const size_t middle = below + (above - below) / 2;
    if (tracks->places[middle].bin < bin)
      below = middle + 1;
    else
      above = middle;
  }
  return below;
}

size_t lines_tracks_at(const struct lines_tracks *tracks, double bin)
{
  size_t best = LINES_TRACKS_MAX;
  double nearest = same_bins;
  for (size_t p = first_from(tracks, bin - same_bins);
       p < tracks->count && tracks->places[p].bin < bin + same_bins; p++) {
    double distance = fabs(tracks->places[p].bin - bin);
    if (distance < nearest) {
      nearest = distance;
      best = tracks->places[p].track;
    }
  }
  return best;
}

/* The peaks, strongest first; a line that is known starts from where it was last. */
static size_t gather(struct lines_tracks *tracks, const struct lines_record *record,
                     const struct dsp_peak *peaks, size_t peak_count)
{
  bool taken[LINES_TRACKS_MAX] = {false};
  size_t count = 0;
  for (size_t i = 0; i < peak_count && count < LINES_TRACKS_MAX; i++) {
    struct dsp_tone tone = lines_record_tone(record, &peaks[i]);
    const size_t owner = lines_tracks_at(tracks, tone.found);
    if (owner < LINES_TRACKS_MAX) {
      if (taken[owner])
        continue;
      taken[owner] = true;
      tone.found = tracks->bins[owner];
    }
    tracks->tones[count] = tone;
    tracks->owners[count++] = owner;
  }
  return count;
}

static double power_of(const struct lines_fit *fit)
{
  return fit->re * fit->re + fit->im * fit->im;
}

/* What the tone must stand over. Seen in few bins, noise scatters by a quarter; so little more
 * than the floor around it says nothing, but where it is clearly rougher the bar is higher. */
static double noise_against(const struct dsp_tone *tone)
{
  static const double margin = 1.3;
  return tone->rough ? margin * tone->seen : fmax(tone->noise, tone->seen / margin);
}

/* Power over noise, each summed over the records of the track (LINES_TRACKS_MAX: none) and one more
 * fit. */
static double height(const struct lines_tracks *tracks, size_t track, const struct dsp_tone *tone)
{
  const bool known = track < LINES_TRACKS_MAX;
  const double power = tone->re * tone->re + tone->im * tone->im;
  return (power + (known ? tracks->power[track] : 0)) /
         (noise_against(tone) + (known ? tracks->against[track] : 0));
}

bool lines_tracks_stands(const struct lines_tracks *tracks, size_t track, double ratio)
{
  return tracks->power[track] / tracks->against[track] > ratio;
}

static void swap_tones(struct lines_tracks *tracks, size_t i, size_t j)
{
  struct dsp_tone tone = tracks->tones[i];
  size_t owner = tracks->owners[i];
  tracks->tones[i] = tracks->tones[j];
  tracks->owners[i] = tracks->owners[j];
  tracks->tones[j] = tone;
  tracks->owners[j] = owner;
}

/* Those that are tones as far as one can tell by now come first; their number. */
static size_t part_tones(struct lines_tracks *tracks, struct lines_record *record,
                         double false_alarm, size_t count)
{
  size_t tones = 0;
  for (size_t i = 0; i < count; i++) {
    const struct dsp_tone *tone = &tracks->tones[i];
    size_t owner = tracks->owners[i];
    size_t records = owner < LINES_TRACKS_MAX ? tracks->fitted[owner] + 1 : 1;
    double threshold = lines_record_threshold(record, records, false_alarm);
    if (tone->fixed || (!tone->lost && height(tracks, owner, tone) > threshold))
      swap_tones(tracks, i, tones++);
  }
  return tones;
}

static void store(struct lines_tracks *tracks, size_t owner, const struct dsp_tone *tone,
                  uint64_t start)
{
  if (owner == LINES_TRACKS_MAX) {
    if (tracks->count == LINES_TRACKS_MAX)
      return;
    owner = tracks->count++;
    tracks->fitted[owner] = 0;
    tracks->power[owner] = tracks->against[owner] = 0;
  }
  struct lines_fit *fit = &tracks->fits[tracks->fitted[owner]++][owner];
  *fit = (struct lines_fit){.bin = tone->bin,
                            .re = tone->re,
                            .im = tone->im,
                            .start = start,
                            .noise = (float)tone->noise,
                            .bin_variance = (float)tone->bin_variance,
                            .level_variance = (float)tone->level_variance,
                            .phase_variance = (float)tone->phase_variance};
  tracks->bins[owner] = tone->bin;
  tracks->power[owner] += power_of(fit);
  tracks->against[owner] += noise_against(tone);
}

static void move(struct lines_tracks *tracks, size_t from, size_t to)
{
  tracks->bins[to] = tracks->bins[from];
  tracks->fitted[to] = tracks->fitted[from];
  tracks->power[to] = tracks->power[from];
  tracks->against[to] = tracks->against[from];
  for (size_t i = 0; i < tracks->fitted[from]; i++)
    tracks->fits[i][to] = tracks->fits[i][from];
}

static void forget_others(struct lines_tracks *tracks, size_t count)
{
  bool wanted[LINES_TRACKS_MAX] = {false};
  size_t kept = 0, renamed[LINES_TRACKS_MAX];
  for (size_t i = 0; i < count; i++)
    if (tracks->owners[i] < LINES_TRACKS_MAX)
      wanted[tracks->owners[i]] = true;
  for (size_t i = 0; i < tracks->count; i++) {
    renamed[i] = kept;
    if (wanted[i] && kept++ < i)
      move(tracks, i, kept - 1);
  }
  tracks->count = kept;
  for (size_t i = 0; i < count; i++)
    if (tracks->owners[i] < LINES_TRACKS_MAX)
      tracks->owners[i] = renamed[tracks->owners[i]];
}

void lines_tracks_update(struct lines_tracks *tracks, struct lines_record *record,
                         double false_alarm, uint64_t start)
{
  size_t peak_count;
  const struct dsp_peak *peaks = lines_record_recent(record, &peak_count);
  size_t count = gather(tracks, record, peaks, peak_count);
  forget_others(tracks, count);
  lines_record_fit(record, tracks->tones, count);
  size_t tones = part_tones(tracks, record, false_alarm, count);
  lines_record_refine(record, tracks->tones, tones);
  for (size_t i = 0; i < count; i++)
    if (!tracks->tones[i].lost)
      store(tracks, tracks->owners[i], &tracks->tones[i], start);
  sort_places(tracks);
}

/* Mean of values with known variances; its variance grows where they scatter more than that. */
struct mean {
  double value, variance;
};

static struct mean weighted(const double *values, const double *variances, size_t count)
{
  double weight = 0, sum = 0, excess = 0;
  for (size_t i = 0; i < count; i++) {
    weight += 1 / variances[i];
    sum += values[i] / variances[i];
  }
  struct mean mean = {sum / weight, 1 / weight};
  for (size_t i = 0; i < count; i++)
    excess += (values[i] - mean.value) * (values[i] - mean.value) / variances[i];
  if (count > 1)
    excess /= (double)(count - 1);
  /* Three sigma of chi squared: below that, the scatter is what the noise makes. */
  if (count > 1 && excess > 1 + 3 * sqrt(2.0 / (double)(count - 1)))
    mean.variance *= excess;
  return mean;
}

static struct mean mean_bin(const struct track *track)
{
  double values[LINES_RECORDS_MAX] = {0}, variances[LINES_RECORDS_MAX] = {0};
  for (size_t i = 0; i < track->count; i++) {
    values[i] = track->fits[i].bin;
    variances[i] = (double)track->fits[i].bin_variance;
  }
  return weighted(values, variances, track->count);
}

/* Of the power, freed of the noise's share; all records weigh the same, since their noise is
 * the same but for chance. `variance` is relative to the amplitude. */
static struct mean mean_power(const struct track *track)
{
  double values[LINES_RECORDS_MAX] = {0}, variances[LINES_RECORDS_MAX] = {0};
  double mean = 0, variance = 0;
  size_t n = track->count;
  for (size_t i = 0; i < n; i++) {
    double power = power_of(&track->fits[i]);
    values[i] =
        power * (1 - (double)(track->fits[i].level_variance + track->fits[i].phase_variance));
    mean += values[i] / (double)n;
    variance += power * (double)track->fits[i].level_variance / (double)n;
  }
  for (size_t i = 0; i < n; i++)
    variances[i] = 4 * mean * variance;
  struct mean result = weighted(values, variances, n);
  result.variance /= 4 * result.value * result.value;
  return result;
}

static double mean_noise(const struct track *track)
{
  double sum = 0;
  for (size_t i = 0; i < track->count; i++)
    sum += (double)track->fits[i].noise;
  return sum / (double)track->count;
}

/* The amplitudes of a track, and by what each one turns from a frequency to the next one. */
struct turned {
  double re[LINES_RECORDS_MAX], im[LINES_RECORDS_MAX], cosine[LINES_RECORDS_MAX],
      sine[LINES_RECORDS_MAX];
};

/* Turned back by the phase of a steady tone at `bin`. */
static void turn_back(const struct track *track, double bin, double step, size_t length,
                      struct turned *t)
{
  for (size_t i = 0; i < track->count; i++) {
    const struct lines_fit *tone = &track->fits[i];
    const double lengths = (double)(tone->start - track->fits[0].start) / (double)length;
    const double turns = bin * lengths, phase = -2 * pi * (turns - floor(turns));
    t->re[i] = tone->re * cos(phase) - tone->im * sin(phase);
    t->im[i] = tone->re * sin(phase) + tone->im * cos(phase);
    t->cosine[i] = cos(-2 * pi * step * lengths);
    t->sine[i] = sin(-2 * pi * step * lengths);
  }
}

/* Returns the magnitude of their sum, and goes to the next frequency. */
static double sum_and_turn(struct turned *t, size_t count)
{
  double sum_re = 0, sum_im = 0;
  for (size_t i = 0; i < count; i++) {
    const double re = t->re[i], im = t->im[i];
    sum_re += re;
    sum_im += im;
    t->re[i] = re * t->cosine[i] - im * t->sine[i];
    t->im[i] = re * t->sine[i] + im * t->cosine[i];
  }
  return hypot(sum_re, sum_im);
}

/* Sum of the amplitudes turned back by the steady tone's phase, over the sum of their sizes, at
 * the best frequency within what the records allow. */
static double coherence(const struct track *track, struct mean bin, size_t length)
{
  enum { STEPS_MAX = 4000 };
  if (track->count < 2)
    return 1;
  double span =
      (double)(track->fits[track->count - 1].start - track->fits[0].start) / (double)length;
  double width = 4 * sqrt(bin.variance), step = 0.1 / fmax(span, 1), best = 0, size = 0;
  step = fmax(step, width / STEPS_MAX);
  struct turned turned;
  turn_back(track, bin.value - width, step, length, &turned);
  for (double offset = -width; offset <= width; offset += step)
    best = fmax(best, sum_and_turn(&turned, track->count));
  for (size_t i = 0; i < track->count; i++)
    size += sqrt(power_of(&track->fits[i]));
  return size > 0 ? best / size : 0;
}

static struct sc_moment moment_of(const struct lines_fit *fit, double side, double rate_hz,
                                  size_t length)
{
  return (struct sc_moment){.middle_s = ((double)fit->start + (double)(length / 2)) / rate_hz,
                            .amplitude = (float)(side * sqrt(power_of(fit))),
                            .phase_rad = (float)atan2(fit->im, fit->re),
                            .relative_uncertainty = sqrtf(fit->level_variance),
                            .phase_uncertainty_rad = sqrtf(fit->phase_variance)};
}

static struct track gathered(const struct lines_tracks *tracks, size_t index)
{
  struct track track = {.count = tracks->fitted[index]};
  for (size_t i = 0; i < track.count; i++)
    track.fits[i] = tracks->fits[i][index];
  return track;
}

struct sc_tone lines_tracks_combine(const struct lines_tracks *tracks, size_t index,
                                    const struct sc_lines_settings *settings, size_t length)
{
  const struct track whole = gathered(tracks, index), *track = &whole;
  struct mean bin = mean_bin(track), power = mean_power(track);
  const struct lines_fit *last = &track->fits[track->count - 1];
  double noise = mean_noise(track), scale = settings->sample_rate_hz / (double)length;
  double side = settings->complex_input ? 1 : 2; /* a real tone has a line on either side */
  double n = (double)length;
  double place = settings->complex_input ? bin.value - n * floor(bin.value / n + 0.5) : bin.value;
  struct sc_tone tone = {0};
  double phase = atan2(last->im, last->re) - pi * bin.value;
  tone.frequency_hz = sc_measured(place * scale, sqrt(bin.variance) * scale);
  tone.level_db = sc_measured(10 * log10(side * power.value), decibels * sqrt(power.variance));
  tone.amplitude = side * sqrt(power.value);
  tone.amplitude_uncertainty = tone.amplitude * sqrt(power.variance);
  tone.phase_rad = phase - 2 * pi * floor(phase / (2 * pi) + 0.5);
  tone.phase_uncertainty_rad = sqrt((double)last->phase_variance + pi * pi * bin.variance);
  tone.snr_db = 10 * log10(power.value / noise);
  tone.noise_density = side * noise / scale;
  tone.coherence = coherence(track, bin, length);
  tone.moment_count = track->count;
  for (size_t i = 0; i < track->count; i++)
    tone.moments[i] = moment_of(&track->fits[i], side, settings->sample_rate_hz, length);
  return tone;
}
