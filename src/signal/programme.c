/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Programme sources summed on left and right, then shaped. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "signal/bank.h"
#include "signal/pink.h"
#include "signal/programme.h"
#include "signal/random.h"
#include "signal/sound.h"

static const double two_pi = 6.283185307179586476925286766559;

/* A sweep begins and ends softly, else its jump back would be heard everywhere. */
static const double sweep_fade_s = 0.01;

struct part {
  struct sc_programme what;
  double left, right;
  double deviation; /* white noise: of a sample */
  struct signal_pink pink;
  struct signal_random random;
  struct signal_bank *bank; /* steady parts */
  struct signal_sound *sound;
};

struct signal_programme {
  double rate_hz;
  size_t count;
  struct part *parts;
  const struct signal_shape *shape;
  struct signal_shaped *left, *right;
  int64_t next; /* index of the next sample that enters the shape */
};

bool signal_programme_steady(enum sc_programme_kind kind)
{
  return kind == SC_PROGRAMME_TONE || kind == SC_PROGRAMME_COMB;
}

size_t signal_programme_tones(const struct sc_programme *part)
{
  if (part->kind == SC_PROGRAMME_TONE)
    return 1;
  return part->kind == SC_PROGRAMME_COMB && part->count > 0 ? (size_t)part->count : 0;
}

struct sc_signal_tone signal_programme_tone(const struct sc_programme *part, size_t i)
{
  struct sc_signal_tone tone = {part->hz, part->khz, part->phase_rad};
  if (part->kind != SC_PROGRAMME_COMB || part->count < 2)
    return tone;
  const double n = part->count, k = (double)i;
  tone.frequency_hz = part->hz * pow(part->to_hz / part->hz, k / (n - 1));
  tone.phase_rad += fmod(two_pi / 2 * k * k / n, two_pi);
  return tone;
}

void signal_programme_gains(enum sc_programme_to to, double *left, double *right)
{
  *left = to == SC_TO_RIGHT ? 0 : 1;
  *right = to == SC_TO_LEFT ? 0 : to == SC_TO_APART ? -1 : 1;
}

/* ---- making */

static enum sc_error make_bank(struct part *part, double rate_hz)
{
  const size_t count = signal_programme_tones(&part->what);
  const enum sc_error error = signal_bank_create(count, rate_hz, &part->bank);
  for (size_t i = 0; error == SC_OK && i < count; i++) {
    const struct sc_signal_tone tone = signal_programme_tone(&part->what, i);
    signal_bank_add(part->bank, tone.frequency_hz,
                    signal_complex(tone.amplitude * sin(tone.phase_rad),
                                   -tone.amplitude * cos(tone.phase_rad)));
  }
  return error;
}

static enum sc_error make_part(struct part *part, double rate_hz, double limit_hz, uint64_t seed,
                               struct sc_message *message)
{
  signal_programme_gains(part->what.to, &part->left, &part->right);
  signal_random_seed(&part->random, seed);
  if (signal_programme_steady(part->what.kind))
    return make_bank(part, rate_hz);
  if (part->what.kind == SC_PROGRAMME_SOUND)
    return signal_sound_open(part->what.path, rate_hz, &part->sound, message);
  if (part->what.kind == SC_PROGRAMME_PINK)
    signal_pink_init(&part->pink, rate_hz, limit_hz);
  part->deviation = part->what.khz * sqrt(rate_hz / 2 / limit_hz);
  return SC_OK;
}

static enum sc_error make_parts(struct signal_programme *programme, const struct sc_programme *from,
                                size_t count, bool steady, double limit_hz, uint64_t seed,
                                struct sc_message *message)
{
  programme->parts = calloc(count ? count : 1, sizeof *programme->parts);
  if (programme->parts == NULL)
    return SC_NO_MEMORY;
  for (size_t i = 0; i < count; i++) {
    if (!steady && signal_programme_steady(from[i].kind))
      continue;
    struct part *part = &programme->parts[programme->count++];
    part->what = from[i];
    const enum sc_error error =
        make_part(part, programme->rate_hz, limit_hz, seed + 1000 * i, message);
    if (error != SC_OK)
      return error;
  }
  return SC_OK;
}

enum sc_error signal_programme_create(const struct sc_programme *parts, size_t count, bool steady,
                                      const struct signal_shape *shape, double limit_hz,
                                      uint64_t seed, struct signal_programme **programme,
                                      struct sc_message *message)
{
  *programme = NULL;
  struct signal_programme *p = calloc(1, sizeof *p);
  if (p == NULL)
    return SC_NO_MEMORY;
  p->rate_hz = shape->rate_hz;
  p->shape = shape;
  enum sc_error error = make_parts(p, parts, count, steady, limit_hz, seed, message);
  if (error == SC_OK)
    error = signal_shaped_create(shape, &p->left);
  if (error == SC_OK)
    error = signal_shaped_create(shape, &p->right);
  if (error == SC_OK)
    *programme = p;
  else
    signal_programme_destroy(p);
  return error;
}

void signal_programme_destroy(struct signal_programme *programme)
{
  if (programme == NULL)
    return;
  for (size_t i = 0; programme->parts != NULL && i < programme->count; i++) {
    signal_bank_destroy(programme->parts[i].bank);
    signal_sound_close(programme->parts[i].sound);
  }
  free(programme->parts);
  signal_shaped_destroy(programme->left);
  signal_shaped_destroy(programme->right);
  free(programme);
}

bool signal_programme_silent(const struct signal_programme *programme)
{
  return programme->count == 0;
}

/* ---- playing */

static double sweep(const struct sc_programme *what, double t)
{
  const double x = t - what->period_s * floor(t / what->period_s);
  const double ratio = log(what->to_hz / what->hz);
  const double cycles = what->hz * what->period_s / ratio * (exp(ratio * x / what->period_s) - 1);
  const double edge = fmin(x, what->period_s - x);
  const double fade = edge < sweep_fade_s ? 0.5 - 0.5 * cos(two_pi / 2 * edge / sweep_fade_s) : 1;
  return what->khz * fade * sin(two_pi * (cycles - floor(cycles)) + what->phase_rad);
}

static double burst(const struct sc_programme *what, double t)
{
  const double x = t - what->period_s * floor(t / what->period_s);
  return x < what->on_s ? what->khz * sin(two_pi * what->hz * x + what->phase_rad) : 0;
}

static void add_sound(struct part *part, double *left, double *right, size_t count)
{
  for (size_t i = 0; i < count; i++) {
    double l, r;
    signal_sound_next(part->sound, &l, &r);
    if (part->what.to != SC_TO_BOTH)
      l = r = (l + r) / 2;
    left[i] += part->what.khz * part->left * l;
    right[i] += part->what.khz * part->right * r;
  }
}

static double value(struct part *part, double t)
{
  switch (part->what.kind) {
  case SC_PROGRAMME_WHITE:
    return part->deviation * signal_random_gauss(&part->random);
  case SC_PROGRAMME_PINK:
    return part->what.khz * signal_pink_next(&part->pink, &part->random);
  case SC_PROGRAMME_SWEEP:
    return sweep(&part->what, t);
  default:
    return burst(&part->what, t);
  }
}

static void add_part(struct part *part, int64_t first, double rate_hz, double *left, double *right,
                     size_t count)
{
  double mono[SIGNAL_BLOCK] = {0};
  if (part->sound != NULL) {
    /* a file begins at time zero */
    const size_t before = first < 0 ? (size_t)-first : 0;
    if (before < count)
      add_sound(part, left + before, right + before, count - before);
    return;
  }
  if (part->bank != NULL)
    signal_bank_sum(part->bank, first, mono, count);
  else
    for (size_t i = 0; i < count; i++)
      mono[i] = value(part, (double)(first + (int64_t)i) / rate_hz);
  for (size_t i = 0; i < count; i++) {
    left[i] += part->left * mono[i];
    right[i] += part->right * mono[i];
  }
}

static void run_block(struct signal_programme *programme, double *left, double *right, size_t count)
{
  double l[SIGNAL_BLOCK] = {0}, r[SIGNAL_BLOCK] = {0};
  for (size_t i = 0; i < programme->count; i++)
    add_part(&programme->parts[i], programme->next, programme->rate_hz, l, r, count);
  signal_shaped_run(programme->left, l, left, count);
  signal_shaped_run(programme->right, r, right, count);
  programme->next += (int64_t)count;
}

void signal_programme_run(struct signal_programme *programme, double *left, double *right,
                          size_t count)
{
  for (size_t done = 0; done < count;) {
    const size_t n = count - done < SIGNAL_BLOCK ? count - done : SIGNAL_BLOCK;
    run_block(programme, left + done, right + done, n);
    done += n;
  }
}

void signal_programme_start(struct signal_programme *programme, int64_t index)
{
  double left[SIGNAL_BLOCK], right[SIGNAL_BLOCK];
  const size_t ahead = signal_shape_ahead(programme->shape);
  programme->next = index - (int64_t)ahead;
  for (size_t left_over = 2 * ahead; left_over > 0;) {
    const size_t n = left_over < SIGNAL_BLOCK ? left_over : SIGNAL_BLOCK;
    run_block(programme, left, right, n);
    left_over -= n;
  }
}
