/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Stations on their carriers, at a rate that no FM line of theirs passes, then the band limit. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "signal/bank.h"
#include "signal/motion.h"
#include "signal/rate.h"
#include "signal/station.h"
#include "signal/turn.h"
#include "signal/way.h"

static const double two_pi = 6.283185307179586476925286766559;

/* The bound on the rate of modulation, and how far the lines of a fully modulated station
 * reach before they are below -120 dBc: 75 kHz of deviation at 53 kHz falls to -137 dBc at nine
 * times 53 kHz (Bessel functions, computed). */
static const double modulation_rate_min_hz = 1e6;
static const double reach_hz = 500e3;

static const double composite_full_khz = 100, tilt_khz = 75;

struct sender {
  struct signal_station *station;
  double hz; /* of its carrier, from the tuned frequency */
  double level;
};

struct signal_way {
  enum sc_scenario_what what;
  double fast_rate_hz, clock; /* true rate of the modulation; true seconds per second of clock */
  double tilt_db, composite_scale;
  size_t chunk, sender_count;
  struct sender senders[1 + SC_SCENARIO_FEW_MAX]; /* the station itself first */
  struct sc_motion motion;                        /* of the station itself */
  bool moves;
  struct signal_bank *carriers, *along, *am;
  struct signal_lower *lower;
  bool limited;
  int64_t next;
  /* Work, a chunk each (iq and turned: two); those of motion only where there is some. */
  double *khz, *radians, *iq, *swell, *motion_radians, *turned;
  double before, after; /* power sums around the band limit */
  size_t before_frames, after_frames;
  double peak_khz;
};

/* ---- making */

static double clock_factor(const struct sc_scenario *s)
{
  return 1 + s->clock_ppm * 1e-6;
}

/* The tuned frequency in true hertz, against the station's nominal one. The receiver's oscillator
 * makes its tuning as wrong as its clock. */
static double nominal_hz(const struct sc_scenario *s)
{
  return s->centre_hz > 0 ? s->station_hz - s->centre_hz * clock_factor(s) : 0;
}

static double farthest_hz(const struct sc_scenario *s)
{
  double hz = fabs(nominal_hz(s) + s->offset_hz) + signal_motion_most_hz(&s->motion, s->seconds);
  for (size_t i = 0; i < s->neighbour_count; i++)
    hz = fmax(hz, fabs(nominal_hz(s) + s->neighbours[i].offset_hz));
  for (size_t i = 0; i < s->carrier_count; i++)
    hz = fmax(hz, fabs(nominal_hz(s) + s->carriers[i].hz) - reach_hz);
  return hz;
}

/* Lines beyond half the fast rate fold back; what counts is that none lands in the band. */
static size_t lower_factor(const struct sc_scenario *s)
{
  const double needed = s->what == SC_WHAT_IQ ? reach_hz + farthest_hz(s) + s->rate_hz / 2 : 0;
  return (size_t)ceil(fmax(modulation_rate_min_hz, needed) / s->rate_hz);
}

static void beside(const struct sc_neighbour *neighbour, struct sc_station *station)
{
  memset(station, 0, sizeof *station);
  station->pilot_hz = 19000;
  station->pilot_khz = neighbour->pilot_khz;
  station->limit_hz = 15000;
  station->mono = neighbour->pilot_khz == 0;
  for (int side = SC_TO_LEFT; side <= SC_TO_RIGHT && neighbour->noise_khz > 0; side++) {
    struct sc_programme *p = &station->programme[station->programme_count++];
    p->kind = SC_PROGRAMME_PINK;
    p->to = (enum sc_programme_to)side;
    p->khz = neighbour->noise_khz;
  }
  struct sc_programme *tone = &station->programme[station->programme_count++];
  tone->kind = SC_PROGRAMME_TONE;
  tone->to = SC_TO_BOTH;
  tone->hz = neighbour->tone_hz;
  tone->khz = neighbour->tone_khz;
}

static enum sc_error add_sender(struct signal_way *way, const struct sc_station *station, double hz,
                                double level, uint64_t seed, struct sc_message *message)
{
  struct sender *sender = &way->senders[way->sender_count];
  const enum sc_error error =
      signal_station_create(station, way->fast_rate_hz, seed, &sender->station, message);
  if (error != SC_OK)
    return error;
  way->sender_count++;
  sender->hz = hz + signal_station_shift_hz(sender->station);
  sender->level = level;
  return SC_OK;
}

static enum sc_error add_senders(struct signal_way *way, const struct sc_scenario *s,
                                 struct sc_message *message)
{
  const double level = pow(10, s->level_dbfs / 20);
  struct sc_station *other = malloc(sizeof *other);
  if (other == NULL)
    return SC_NO_MEMORY;
  enum sc_error error = add_sender(way, &s->station, nominal_hz(s) + s->offset_hz,
                                   s->carrier ? level : 0, s->seed + 1, message);
  for (size_t i = 0; error == SC_OK && i < s->neighbour_count; i++) {
    beside(&s->neighbours[i], other);
    error = add_sender(way, other, nominal_hz(s) + s->neighbours[i].offset_hz,
                       level * pow(10, s->neighbours[i].level_db / 20), s->seed + 17 * (i + 2),
                       message);
  }
  free(other);
  return error;
}

static enum sc_error add_lines(struct signal_way *way, const struct sc_scenario *s)
{
  enum sc_error error = signal_bank_create(s->carrier_count, way->fast_rate_hz, &way->carriers);
  if (error == SC_OK)
    error = signal_bank_create(s->carrier_count, way->fast_rate_hz, &way->along);
  if (error == SC_OK)
    error = signal_bank_create(s->am_count, way->fast_rate_hz, &way->am);
  if (error != SC_OK)
    return error;
  for (size_t i = 0; i < s->carrier_count; i++) {
    const struct sc_scenario_line *line = &s->carriers[i];
    const double amplitude = pow(10, (s->level_dbfs + line->amplitude) / 20);
    signal_bank_add(
        line->along && way->moves ? way->along : way->carriers, nominal_hz(s) + line->hz,
        signal_complex(amplitude * cos(line->phase_rad), amplitude * sin(line->phase_rad)));
  }
  for (size_t i = 0; i < s->am_count; i++) {
    const struct sc_scenario_line *line = &s->am[i];
    const double depth = line->amplitude / 100;
    signal_bank_add(way->am, line->hz,
                    signal_complex(depth * sin(line->phase_rad), -depth * cos(line->phase_rad)));
  }
  return SC_OK;
}

static enum sc_error make_work(struct signal_way *way)
{
  way->chunk = signal_station_chunk(way->senders[0].station);
  way->khz = calloc((way->moves ? 8 : 5) * way->chunk, sizeof *way->khz);
  if (way->khz == NULL)
    return SC_NO_MEMORY;
  way->radians = way->khz + way->chunk;
  way->iq = way->radians + way->chunk;
  way->swell = way->iq + 2 * way->chunk;
  way->motion_radians = way->moves ? way->swell + way->chunk : NULL;
  way->turned = way->moves ? way->motion_radians + way->chunk : NULL;
  return SC_OK;
}

/* Everything begins early enough for the band limit's first output to stand at t = 0. */
static void start(struct signal_way *way)
{
  const int64_t wanted = -(int64_t)signal_lower_ahead(way->lower);
  for (size_t i = 0; i < way->sender_count; i++)
    way->next = signal_station_start(way->senders[i].station, wanted);
  signal_lower_skip(way->lower, (size_t)(wanted - way->next));
}

static enum sc_error make(struct signal_way *way, const struct sc_scenario *s,
                          struct sc_message *message)
{
  const size_t factor = lower_factor(s);
  way->what = s->what;
  way->clock = clock_factor(s);
  way->fast_rate_hz = (double)factor * s->rate_hz * way->clock;
  way->limited = factor > 1;
  way->tilt_db = s->tilt_db;
  way->motion = s->motion;
  way->moves = signal_motion_any(&s->motion);
  way->composite_scale = pow(10, s->level_dbfs / 20) / composite_full_khz;
  enum sc_error error = add_senders(way, s, message);
  if (error == SC_OK)
    error = add_lines(way, s);
  if (error == SC_OK)
    error = signal_lower_create(factor, &way->lower);
  if (error == SC_OK)
    error = make_work(way);
  return error;
}

enum sc_error signal_way_create(const struct sc_scenario *scenario, struct signal_way **way,
                                struct sc_message *message)
{
  *way = NULL;
  struct signal_way *w = calloc(1, sizeof *w);
  if (w == NULL)
    return SC_NO_MEMORY;
  const enum sc_error error = make(w, scenario, message);
  if (error != SC_OK) {
    signal_way_destroy(w);
    return error;
  }
  start(w);
  *way = w;
  return SC_OK;
}

size_t signal_way_room(const struct signal_way *way)
{
  return way->chunk + 1;
}

void signal_way_destroy(struct signal_way *way)
{
  if (way == NULL)
    return;
  for (size_t i = 0; i < way->sender_count; i++)
    signal_station_destroy(way->senders[i].station);
  signal_bank_destroy(way->carriers);
  signal_bank_destroy(way->along);
  signal_bank_destroy(way->am);
  signal_lower_destroy(way->lower);
  free(way->khz);
  free(way);
}

/* ---- playing */

static void add_carrier(struct signal_way *way, const struct sender *sender, const double *swell)
{
  const double step = two_pi * sender->hz / way->fast_rate_hz;
  for (size_t done = 0; done < way->chunk; done += SIGNAL_BLOCK) {
    const size_t left = way->chunk - done, n = left < SIGNAL_BLOCK ? left : SIGNAL_BLOCK;
    const double first =
        two_pi * signal_cycles(sender->hz, way->next + (int64_t)done, way->fast_rate_hz);
    signal_turn_add(way->iq + 2 * done, way->radians + done, swell + done, first, step, n);
  }
}

/* The amplitude of the station's own carrier over the chunk. */
static void swell_main(struct signal_way *way, double level)
{
  for (size_t i = 0; i < way->chunk; i++)
    way->swell[i] = 1;
  for (size_t done = 0; done < way->chunk; done += SIGNAL_BLOCK) {
    const size_t left = way->chunk - done;
    signal_bank_sum(way->am, way->next + (int64_t)done, way->swell + done,
                    left < SIGNAL_BLOCK ? left : SIGNAL_BLOCK);
  }
  for (size_t i = 0; i < way->chunk; i++)
    way->swell[i] *= level;
  for (size_t i = 0; way->tilt_db != 0 && i < way->chunk; i++)
    way->swell[i] *= pow(10, way->tilt_db / 20 * way->khz[i] / tilt_khz);
}

static void move_main(struct signal_way *way)
{
  signal_motion_run(&way->motion, way->next, way->fast_rate_hz, way->motion_radians, way->chunk);
  for (size_t i = 0; i < way->chunk; i++)
    way->radians[i] += way->motion_radians[i];
}

static void run_senders(struct signal_way *way)
{
  memset(way->iq, 0, 2 * way->chunk * sizeof *way->iq);
  for (size_t k = way->sender_count; k-- > 0;) { /* the main one last: its composite stays */
    const struct sender *sender = &way->senders[k];
    signal_station_run(sender->station, way->khz, way->radians);
    if (k == 0)
      swell_main(way, sender->level);
    if (k == 0 && way->moves)
      move_main(way);
    for (size_t i = 0; k > 0 && i < way->chunk; i++)
      way->swell[i] = sender->level;
    if (sender->level > 0)
      add_carrier(way, sender, way->swell);
  }
}

static void run_composite(struct signal_way *way)
{
  signal_station_run(way->senders[0].station, way->khz, way->radians);
  for (size_t i = 0; i < way->chunk; i++) {
    way->iq[2 * i] = way->composite_scale * way->khz[i];
    way->iq[2 * i + 1] = 0;
  }
}

static void add_bank(struct signal_way *way, const struct signal_bank *bank, double *iq)
{
  for (size_t done = 0; done < way->chunk; done += SIGNAL_BLOCK) {
    const size_t left = way->chunk - done;
    signal_bank_sum_complex(bank, way->next + (int64_t)done, iq + 2 * done,
                            left < SIGNAL_BLOCK ? left : SIGNAL_BLOCK);
  }
}

static void add_spurious(struct signal_way *way)
{
  add_bank(way, way->carriers, way->iq);
  if (!way->moves)
    return;
  memset(way->turned, 0, 2 * way->chunk * sizeof *way->turned);
  add_bank(way, way->along, way->turned);
  signal_motion_add_turned(way->turned, way->motion_radians, way->iq, way->chunk);
}

static double power(const double *x, size_t count)
{
  double sum = 0;
  for (size_t i = 0; i < count; i++)
    sum += x[i] * x[i];
  return sum;
}

static void note_peak(struct signal_way *way)
{
  for (size_t i = 0; i < way->chunk; i++)
    way->peak_khz = fmax(way->peak_khz, fabs(way->khz[i]));
}

size_t signal_way_run(struct signal_way *way, double *iq)
{
  if (way->what == SC_WHAT_COMPOSITE) {
    run_composite(way);
  } else {
    run_senders(way);
    add_spurious(way);
  }
  note_peak(way);
  const size_t made = signal_lower_run(way->lower, way->iq, way->chunk, iq);
  way->before += power(way->iq, 2 * way->chunk);
  way->after += power(iq, 2 * made);
  way->before_frames += way->chunk;
  way->after_frames += made;
  way->next += (int64_t)way->chunk;
  return made;
}

void signal_way_info(const struct signal_way *way, struct sc_generator_info *info)
{
  info->modulation_rate_hz = way->fast_rate_hz / way->clock;
  info->carrier_hz = way->what == SC_WHAT_IQ ? way->senders[0].hz / way->clock : NAN;
  info->peak_khz = way->peak_khz;
  info->removed_db = NAN;
  if (way->limited && way->before > 0 && way->after_frames > 0)
    info->removed_db = 10 * log10(way->after / (double)way->after_frames *
                                  (double)way->before_frames / way->before);
}
