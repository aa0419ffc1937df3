/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A station's steady parts in closed form, the rest through slow basebands raised to the rate of
 * the modulation and integrated there.
 */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "signal/carried.h"
#include "signal/integral.h"
#include "signal/parts.h"
#include "signal/programme.h"
#include "signal/rate.h"
#include "signal/station.h"

static const double two_pi = 6.283185307179586476925286766559;

/* What the slow streams pass: far more than any programme or subcarrier fills. */
static const double slow_pass_hz = 24e3;

/* From the programme's limit to where nothing is left of it. */
static const double limit_edge_hz = 2000;

/* A programme without a limit of its own. */
static const double limit_open_hz = 22e3;

enum { CARRIED_MAX = 2 * SC_SCENARIO_FEW_MAX + 2 };

/* Frames by which the composite that goes out lags behind the newest that the integral needs. */
enum { OLD = SIGNAL_INTEGRAL_AHEAD };

struct signal_station {
  double rate_hz, slow_rate_hz;
  size_t factor;
  double difference_gain;
  struct signal_parts parts;
  struct signal_shape *shape;
  struct signal_programme *programme;
  struct signal_raise *raise;
  struct signal_stream *sum;
  struct signal_carried *carried[CARRIED_MAX];
  size_t carried_count;
  bool stereo;   /* carried[0] is the difference */
  bool moving;   /* there are parts that are not steady */
  int64_t next;  /* frame of the moving composite to come */
  double turn;   /* phase of the moving parts */
  double *moved; /* the moving composite, a few old frames in front */
  struct signal_integral integral;
};

/* ---- making */

static size_t capacity(const struct sc_station *settings)
{
  size_t count = 2 + settings->tone_count;
  for (size_t i = 0; i < settings->programme_count; i++)
    count += 3 * signal_programme_tones(&settings->programme[i]);
  return count;
}

/* Steady tones as they leave the programme's filter. */
static void add_tone(struct signal_station *station, const struct sc_station *settings,
                     struct sc_signal_tone tone, double left, double right)
{
  if (fabs(tone.frequency_hz) >= station->slow_rate_hz / 2)
    return;
  const double complex h = signal_shape_response(station->shape, tone.frequency_hz);
  const double khz = tone.amplitude * cabs(h);
  tone.phase_rad += carg(h);
  signal_parts_sine(&station->parts, tone.frequency_hz, khz * (left + right) / 2, tone.phase_rad);
  if (!settings->mono)
    signal_parts_product(
        &station->parts, &tone, khz * station->difference_gain * (left - right) / 2,
        2 * settings->pilot_hz, 2 * settings->pilot_phase_rad + settings->difference_phase_rad);
}

static void add_steady(struct signal_station *station, const struct sc_station *settings)
{
  struct signal_parts *parts = &station->parts;
  const double q = settings->pilot_phase_rad;
  signal_parts_sine(parts, settings->pilot_hz, settings->pilot_khz, q);
  signal_parts_sine(parts, 2 * settings->pilot_hz, settings->residual_khz,
                    2 * q + settings->residual_phase_rad);
  for (size_t i = 0; i < settings->tone_count; i++)
    signal_parts_sine(parts, settings->tones[i].hz, settings->tones[i].amplitude,
                      settings->tones[i].phase_rad);
  for (size_t i = 0; i < settings->programme_count; i++) {
    double left, right;
    signal_programme_gains(settings->programme[i].to, &left, &right);
    if (!signal_programme_steady(settings->programme[i].kind))
      continue;
    for (size_t k = 0; k < signal_programme_tones(&settings->programme[i]); k++)
      add_tone(station, settings, signal_programme_tone(&settings->programme[i], k), left, right);
  }
}

static enum sc_error make_programme(struct signal_station *station,
                                    const struct sc_station *settings, uint64_t seed,
                                    struct sc_message *message)
{
  const double limit = settings->limit_hz > 0 ? settings->limit_hz : limit_open_hz;
  enum sc_error error =
      signal_shape_create(limit, limit + limit_edge_hz, settings->preemphasis_us * 1e-6,
                          station->slow_rate_hz, &station->shape);
  if (error == SC_OK)
    error = signal_programme_create(settings->programme, settings->programme_count, false,
                                    station->shape, limit, seed, &station->programme, message);
  if (error == SC_OK)
    error = signal_stream_create(station->raise, &station->sum);
  return error;
}

static enum sc_error carry(struct signal_station *station, struct signal_baseband *baseband,
                           double hz, double phase_rad)
{
  struct signal_carried **carried = &station->carried[station->carried_count];
  const enum sc_error error =
      signal_carried_create(station->raise, baseband, hz, phase_rad, station->rate_hz, carried);
  if (error == SC_OK)
    station->carried_count++;
  return error;
}

static enum sc_error carry_rds(struct signal_station *station, const struct sc_station *settings,
                               struct sc_message *message)
{
  struct signal_baseband *baseband;
  const struct sc_rds_content *rds = &settings->rds;
  if (rds->khz == 0)
    return SC_OK;
  const enum sc_error error =
      signal_baseband_rds(rds, settings->pilot_hz / 16, station->slow_rate_hz, &baseband);
  if (error == SC_BAD_ARGUMENT)
    return sc_fail(message, error, "rds: a text has a character that RDS lacks, or is too long");
  if (error != SC_OK)
    return error;
  return carry(station, baseband, 3 * settings->pilot_hz,
               3 * settings->pilot_phase_rad + rds->phase_rad);
}

static enum sc_error carry_subcarriers(struct signal_station *station,
                                       const struct sc_station *settings, uint64_t seed,
                                       struct sc_message *message)
{
  struct signal_baseband *baseband;
  enum sc_error error = SC_OK;
  for (size_t i = 0; error == SC_OK && i < settings->subcarrier_count; i++) {
    const struct sc_subcarrier *sub = &settings->subcarriers[i];
    error =
        signal_baseband_fm(sub, station->slow_rate_hz, seed + 101 * (i + 1), &baseband, message);
    if (error == SC_OK)
      error = carry(station, baseband, sub->hz, 0);
  }
  for (size_t i = 0; error == SC_OK && i < settings->band_count; i++) {
    const struct sc_band *band = &settings->bands[i];
    error = signal_baseband_noise(band, station->slow_rate_hz, seed + 211 * (i + 1), &baseband);
    if (error == SC_OK)
      error = carry(station, baseband, band->hz, 0);
  }
  return error;
}

static enum sc_error make(struct signal_station *station, const struct sc_station *settings,
                          uint64_t seed, struct sc_message *message)
{
  enum sc_error error = signal_parts_create(&station->parts, capacity(settings), station->rate_hz);
  if (error == SC_OK)
    error =
        signal_raise_create(station->factor, slow_pass_hz, station->slow_rate_hz, &station->raise);
  if (error == SC_OK)
    error = make_programme(station, settings, seed, message);
  if (error == SC_OK && station->stereo)
    error = carry(station, NULL, 2 * settings->pilot_hz,
                  2 * settings->pilot_phase_rad + settings->difference_phase_rad);
  if (error == SC_OK)
    error = carry_rds(station, settings, message);
  if (error == SC_OK)
    error = carry_subcarriers(station, settings, seed, message);
  station->moved = calloc(OLD + signal_station_chunk(station), sizeof *station->moved);
  return error == SC_OK && station->moved == NULL ? SC_NO_MEMORY : error;
}

enum sc_error signal_station_create(const struct sc_station *settings, double rate_hz,
                                    uint64_t seed, struct signal_station **station,
                                    struct sc_message *message)
{
  *station = NULL;
  struct signal_station *s = calloc(1, sizeof *s);
  if (s == NULL)
    return SC_NO_MEMORY;
  s->rate_hz = rate_hz;
  s->factor = (size_t)(rate_hz / SIGNAL_AUDIO_RATE_HZ);
  s->slow_rate_hz = rate_hz / (double)s->factor;
  s->difference_gain = pow(10, settings->difference_gain_db / 20);
  s->stereo = !settings->mono;
  const enum sc_error error = make(s, settings, seed, message);
  if (error != SC_OK) {
    signal_station_destroy(s);
    return error;
  }
  add_steady(s, settings);
  s->moving = !signal_programme_silent(s->programme) || s->carried_count > (s->stereo ? 1u : 0u);
  *station = s;
  return SC_OK;
}

void signal_station_destroy(struct signal_station *station)
{
  if (station == NULL)
    return;
  for (size_t i = 0; i < station->carried_count; i++)
    signal_carried_destroy(station->carried[i]);
  signal_parts_destroy(&station->parts);
  signal_programme_destroy(station->programme);
  signal_shape_destroy(station->shape);
  signal_stream_destroy(station->sum);
  signal_raise_destroy(station->raise);
  free(station->moved);
  free(station);
}

size_t signal_station_chunk(const struct signal_station *station)
{
  return SIGNAL_SLOW * station->factor;
}

double signal_station_shift_hz(const struct signal_station *station)
{
  return station->parts.shift_hz;
}

/* ---- playing */

struct slow {
  double sum[SIGNAL_SLOW], difference[SIGNAL_SLOW];
};

static void run_programme(struct signal_station *station, struct slow *slow, size_t count)
{
  double left[SIGNAL_SLOW], right[SIGNAL_SLOW];
  signal_programme_run(station->programme, left, right, count);
  for (size_t i = 0; i < count; i++) {
    slow->sum[i] = (left[i] + right[i]) / 2;
    slow->difference[i] = station->difference_gain * (left[i] - right[i]) / 2;
  }
}

/* One slow sample of every stream, which only fills the filters' past. */
static void prime(struct signal_station *station)
{
  struct slow slow;
  run_programme(station, &slow, 1);
  signal_stream_prime(station->sum, slow.sum[0]);
  for (size_t i = 0; i < station->carried_count; i++)
    signal_carried_prime(station->carried[i], slow.difference[0]);
}

/* The next chunk of the moving composite, behind the old frames. */
static void move(struct signal_station *station)
{
  struct slow slow;
  double *khz = station->moved + OLD;
  run_programme(station, &slow, SIGNAL_SLOW);
  signal_stream_run(station->sum, slow.sum, khz);
  for (size_t i = 0; i < station->carried_count; i++)
    signal_carried_run(station->carried[i], slow.difference, station->next, khz);
}

static void integrate(struct signal_station *station, double *radians, size_t chunk)
{
  const double scale = two_pi * 1000 / station->rate_hz;
  signal_integral_run(&station->integral, station->moved + OLD, radians, chunk);
  for (size_t i = 0; i < chunk; i++) {
    station->turn += scale * radians[i];
    radians[i] = station->turn;
  }
  station->turn = remainder(station->turn, two_pi);
}

static void sum_in_blocks(const struct signal_bank *bank, int64_t first, double *out, size_t count)
{
  for (size_t done = 0; done < count; done += SIGNAL_BLOCK) {
    const size_t left = count - done;
    signal_bank_sum(bank, first + (int64_t)done, out + done,
                    left < SIGNAL_BLOCK ? left : SIGNAL_BLOCK);
  }
}

static void run_moving(struct signal_station *station, double *khz, double *radians, size_t chunk)
{
  move(station);
  integrate(station, radians, chunk);
  memcpy(khz, station->moved, chunk * sizeof *khz);
  memmove(station->moved, station->moved + chunk, OLD * sizeof *station->moved);
}

void signal_station_run(struct signal_station *station, double *khz, double *radians)
{
  const size_t chunk = signal_station_chunk(station);
  const int64_t first = station->next - OLD;
  if (station->moving) {
    run_moving(station, khz, radians, chunk);
  } else {
    memset(khz, 0, chunk * sizeof *khz);
    memset(radians, 0, chunk * sizeof *radians);
  }
  sum_in_blocks(station->parts.composite, first, khz, chunk);
  sum_in_blocks(station->parts.phase, first, radians, chunk);
  station->next += (int64_t)chunk;
}

int64_t signal_station_start(struct signal_station *station, int64_t frame)
{
  const int64_t factor = (int64_t)station->factor, chunk = (int64_t)signal_station_chunk(station);
  /* one chunk early, to fill the past of the integral */
  int64_t slow = (frame - chunk) / factor - 1;
  const int64_t first = slow + (int64_t)station->raise->ahead - (int64_t)station->raise->length + 1;
  signal_programme_start(station->programme, first);
  for (size_t i = 0; i < station->carried_count; i++)
    signal_carried_start(station->carried[i], first);
  for (size_t i = 0; i + 1 < station->raise->length; i++)
    prime(station);
  station->next = slow * factor;
  return station->next - OLD;
}
