/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Stereo pilot: a narrow band around 19 kHz, one coherent tone in it, and the proof that it is
 * one. A gap of unknown length breaks the phase, so each stretch between gaps is estimated by
 * itself, and the estimates are combined by their weights. */
#include <sidecomb/pilot.h>

#include "dsp/coherent.h"
#include "dsp/narrowband.h"
#include "measure/jump.h"
#include "measure/power.h"
#include "measure/steadiness.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.1415926535897932384626433832795

static const double rate_min_hz = 44e3;
static const double full_deviation_khz = 75.0;
static const double shortest_s = 0.25;     /* of the series: 4 Hz of resolution */
static const double false_alarm = 1e-6;    /* of a whole result, in noise */
static const double energy_min = 40.0;     /* 16 dB: level known to 1 dB */
static const double overlap_cells = 1.6;   /* bins of the padded transform worth more cells */
static const double response_share = 3e-5; /* of the amplitude: what filters leave uncertain */
static const double weakest_khz = 0.75;    /* 1 % of 75 kHz; in use are 8 to 10 % */
static const double weakest_share = 0.01;  /* of the composite's rms, where kHz are not known */

static const char absent[] = "no line within 20 Hz of 19 kHz stands out of the noise";
static const char modulated[] = "the line near 19 kHz is not steady: it is modulated or jitters";
static const char fading[] = "the line near 19 kHz comes and goes";
static const char too_short[] = "less than 0.4 s without a gap: a steady line cannot be told";
static const char too_weak[] =
    "a steady line, but below 1 % of 75 kHz: too weak for a pilot in use";
static const char seen[] = "a steady line within 20 Hz of 19 kHz, well above the noise";
static const char no_scale[] = "the composite has no absolute scale";

/* What the stretches before the present one gave, weighted. */
struct stretches {
  size_t count;
  double frequency_weight, frequency, frequency_square;
  double amplitude_weight, amplitude;
  double energy;
  double longest_s;
};

struct sc_pilot_meter {
  struct sc_pilot_settings settings;
  struct dsp_narrowband *narrowband;
  struct dsp_coherent *coherent;
  struct measure_steadiness *steadiness;
  float *series;
  struct measure_jump jump;
  size_t jumps;
  struct stretches before;
  bool first;       /* no gap yet: the phase at the first frame can be told */
  double phase_rad; /* of the first stretch, NAN: none */
  double sum, square_sum, frames;
};

static enum sc_error create_parts(struct sc_pilot_meter *m)
{
  enum sc_error error =
      dsp_narrowband_create(SC_PILOT_NOMINAL_HZ, m->settings.rate_hz, &m->narrowband);
  if (error != SC_OK)
    return error;
  const struct measure_steadiness_settings steadiness = {
      dsp_narrowband_rate(m->narrowband), SC_PILOT_SEARCH_HZ, DSP_NARROWBAND_PASS_HZ};
  const size_t room = dsp_narrowband_room(m->narrowband, DSP_NARROWBAND_FEED_MAX);
  error =
      dsp_coherent_create(steadiness.rate_hz, SC_PILOT_SEARCH_HZ, SC_PILOT_SEARCH_HZ, &m->coherent);
  if (error == SC_OK)
    error = measure_steadiness_create(&steadiness, &m->steadiness);
  m->series = malloc(2 * room * sizeof *m->series);
  if (error == SC_OK && m->series == NULL)
    error = SC_NO_MEMORY;
  return error;
}

enum sc_error sc_pilot_create(const struct sc_pilot_settings *settings,
                              struct sc_pilot_meter **meter)
{
  if (!(settings->rate_hz >= rate_min_hz && isfinite(settings->rate_hz)))
    return SC_BAD_ARGUMENT;
  struct sc_pilot_meter *m = calloc(1, sizeof *m);
  if (m == NULL)
    return SC_NO_MEMORY;
  m->settings = *settings;
  const enum sc_error error = create_parts(m);
  if (error != SC_OK) {
    sc_pilot_destroy(m);
    return error;
  }
  sc_pilot_reset(m);
  *meter = m;
  return SC_OK;
}

void sc_pilot_reset(struct sc_pilot_meter *meter)
{
  dsp_narrowband_reset(meter->narrowband);
  dsp_coherent_reset(meter->coherent);
  measure_steadiness_reset(meter->steadiness);
  memset(&meter->before, 0, sizeof meter->before);
  measure_jump_reset(&meter->jump);
  meter->jumps = 0;
  meter->first = true;
  meter->phase_rad = (double)NAN;
  meter->sum = meter->square_sum = meter->frames = 0.0;
}

void sc_pilot_destroy(struct sc_pilot_meter *meter)
{
  if (meter == NULL)
    return;
  dsp_narrowband_destroy(meter->narrowband);
  dsp_coherent_destroy(meter->coherent);
  measure_steadiness_destroy(meter->steadiness);
  free(meter->series);
  free(meter);
}

/* The peak over the noise, as energy, that noise alone passes with the stated chance in one of
 * its cells: cell averaging, N (p^(-1/N) - 1). */
static double threshold(const struct dsp_coherent_fit *fit)
{
  const double cells = 2.0 * SC_PILOT_SEARCH_HZ * fit->record_s * overlap_cells + 1.0;
  const double n = fit->noise_cells;
  return fmax(energy_min, n * (pow(false_alarm / cells, -1.0 / n) - 1.0));
}

static double sine_phase(const struct sc_pilot_meter *m, const struct dsp_coherent_fit *fit)
{
  const double turns = fit->frequency_hz * dsp_narrowband_start(m->narrowband);
  return remainder(fit->phase_rad - 2.0 * PI * turns + PI / 2.0, 2.0 * PI);
}

/* Adds the present stretch to those before, if its line stands out by itself. */
static void conclude(const struct sc_pilot_meter *m, struct stretches *all, double *phase_rad)
{
  struct dsp_coherent_fit fit;
  if (dsp_coherent_result(m->coherent, &fit) != SC_OK)
    return;
  all->longest_s = fmax(all->longest_s, fit.record_s);
  if (fit.record_s < shortest_s || !(fit.energy > threshold(&fit)))
    return;
  const double by_frequency = pow(fit.frequency_uncertainty_hz, -2.0);
  const double by_amplitude = pow(fit.amplitude_uncertainty, -2.0);
  all->count++;
  all->frequency_weight += by_frequency;
  all->frequency += by_frequency * fit.frequency_hz;
  all->frequency_square += by_frequency * fit.frequency_hz * fit.frequency_hz;
  all->amplitude_weight += by_amplitude;
  all->amplitude += by_amplitude * fit.amplitude;
  all->energy += fit.energy;
  if (m->first)
    *phase_rad = sine_phase(m, &fit);
}

static void begin_stretch(struct sc_pilot_meter *m)
{
  conclude(m, &m->before, &m->phase_rad);
  m->first = m->first && m->frames == 0.0;
  dsp_narrowband_reset(m->narrowband);
  dsp_coherent_reset(m->coherent);
  measure_steadiness_break(m->steadiness);
  measure_jump_reset(&m->jump);
}

/* Samples are missing there that nobody marked: what holds the jump is taken back, and what is
 * behind it begins a stretch. */
static void break_at_jump(struct sc_pilot_meter *m)
{
  float frames[2 * MEASURE_JUMP_SIDE];
  for (size_t i = 0; i < 2 * MEASURE_JUMP_SIDE; i++)
    frames[i] = (float)m->jump.frames[i];
  dsp_coherent_drop(m->coherent, MEASURE_JUMP_BETWEEN + MEASURE_JUMP_SIDE);
  measure_steadiness_drop(m->steadiness, MEASURE_JUMP_BETWEEN + MEASURE_JUMP_SIDE);
  conclude(m, &m->before, &m->phase_rad);
  m->first = false;
  m->jumps++;
  dsp_coherent_reset(m->coherent);
  measure_steadiness_break(m->steadiness);
  dsp_coherent_feed(m->coherent, frames, MEASURE_JUMP_SIDE);
  measure_steadiness_feed(m->steadiness, frames, MEASURE_JUMP_SIDE);
}

static void take(struct sc_pilot_meter *m, const float *series, size_t frames)
{
  for (size_t i = 0; i < frames; i++) {
    dsp_coherent_feed(m->coherent, series + 2 * i, 1);
    measure_steadiness_feed(m->steadiness, series + 2 * i, 1);
    if (measure_jump_feed(&m->jump, series + 2 * i))
      break_at_jump(m);
  }
}

static void add_power(struct sc_pilot_meter *m, const float *composite, size_t frames)
{
  const struct measure_power p = measure_power_of(composite, frames);
  m->sum += p.sum;
  m->square_sum += p.squares;
  m->frames += (double)frames;
}

void sc_pilot_feed(struct sc_pilot_meter *meter, const float *composite, size_t frames,
                   bool discontinuity)
{
  if (discontinuity)
    begin_stretch(meter);
  while (frames > 0) {
    const size_t n = frames < DSP_NARROWBAND_FEED_MAX ? frames : DSP_NARROWBAND_FEED_MAX;
    add_power(meter, composite, n);
    const size_t made = dsp_narrowband_run(meter->narrowband, composite, n, meter->series);
    take(meter, meter->series, made);
    composite += n;
    frames -= n;
  }
}

static double composite_rms(const struct sc_pilot_meter *m)
{
  const double mean = m->sum / m->frames;
  return sqrt(fmax(0.0, m->square_sum / m->frames - mean * mean));
}

static void refuse(struct sc_pilot *pilot, enum sc_truth present, const char *why)
{
  pilot->present = present;
  pilot->why = why;
  pilot->frequency_hz = pilot->frequency_error_hz = sc_not_measured(why);
  pilot->deviation_khz = pilot->amplitude = pilot->injection_percent = sc_not_measured(why);
  pilot->within_tolerance = SC_UNKNOWN;
  pilot->phase_rad = pilot->steadiness_db = pilot->snr_db = (double)NAN;
}

/* Mean of the stretches' frequencies; when they disagree by more than chance, their
 * scatter widens the uncertainty. */
static struct sc_quantity frequency_error(const struct stretches *all)
{
  const double mean = all->frequency / all->frequency_weight;
  double variance = 1.0 / all->frequency_weight;
  if (all->count > 1) {
    const double freedom = (double)(all->count - 1);
    const double chi = (all->frequency_square - mean * all->frequency) / freedom;
    if (chi > 1.0 + 3.0 * sqrt(2.0 / freedom))
      variance *= chi;
  }
  return sc_measured(mean, sqrt(variance));
}

static void judge_frequency(const struct sc_pilot_meter *m, const struct stretches *all,
                            struct sc_pilot *pilot)
{
  struct sc_quantity error_hz = frequency_error(all);
  const double clock = m->settings.clock_relative_uncertainty;
  pilot->within_tolerance = SC_UNKNOWN;
  if (!isnan(clock)) {
    error_hz.uncertainty = hypot(error_hz.uncertainty, clock * SC_PILOT_NOMINAL_HZ);
    const double distance = fabs(error_hz.value);
    if (distance + 2.0 * error_hz.uncertainty <= SC_PILOT_TOLERANCE_HZ)
      pilot->within_tolerance = SC_YES;
    else if (distance - 2.0 * error_hz.uncertainty > SC_PILOT_TOLERANCE_HZ)
      pilot->within_tolerance = SC_NO;
  }
  pilot->frequency_error_hz = error_hz;
  pilot->frequency_hz = sc_measured(SC_PILOT_NOMINAL_HZ + error_hz.value, error_hz.uncertainty);
}

static void judge_amplitude(const struct sc_pilot_meter *m, const struct stretches *all,
                            struct sc_pilot *pilot)
{
  const double amplitude = all->amplitude / all->amplitude_weight;
  const double uncertainty = hypot(1.0 / sqrt(all->amplitude_weight), response_share * amplitude);
  pilot->amplitude = sc_measured(amplitude, uncertainty);
  if (!m->settings.absolute) {
    pilot->deviation_khz = pilot->injection_percent = sc_not_measured(no_scale);
    return;
  }
  const double percent = 100.0 / full_deviation_khz;
  pilot->deviation_khz = pilot->amplitude;
  pilot->injection_percent = sc_measured(percent * amplitude, percent * uncertainty);
}

static bool weak(const struct sc_pilot_meter *m, const struct sc_pilot *pilot)
{
  if (m->settings.absolute)
    return pilot->amplitude.value < weakest_khz;
  return pilot->amplitude.value < weakest_share * composite_rms(m);
}

void sc_pilot_result(const struct sc_pilot_meter *meter, struct sc_pilot *pilot)
{
  struct stretches all = meter->before;
  double phase_rad = meter->phase_rad;
  struct measure_steadiness_result steady;
  conclude(meter, &all, &phase_rad);
  pilot->jumps = meter->jumps;
  measure_steadiness_judge(meter->steadiness, &steady);
  if (all.longest_s < shortest_s) {
    refuse(pilot, SC_UNKNOWN, too_short);
    return;
  }
  if (all.count == 0 || steady.modulated || steady.fades) {
    refuse(pilot, SC_NO, all.count == 0 ? absent : steady.modulated ? modulated : fading);
    return;
  }
  judge_frequency(meter, &all, pilot);
  judge_amplitude(meter, &all, pilot);
  pilot->phase_rad = phase_rad;
  pilot->steadiness_db = 10.0 * log10(steady.off_ratio);
  pilot->snr_db = 10.0 * log10(all.energy);
  pilot->present = weak(meter, pilot) ? SC_UNKNOWN : SC_YES;
  pilot->why = pilot->present == SC_YES ? seen : too_weak;
}
