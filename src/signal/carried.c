/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Subcarriers and what they carry. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "signal/bank.h"
#include "signal/carried.h"
#include "signal/clones.h"

struct signal_carried {
  size_t frames; /* of one run */
  struct signal_baseband *baseband;
  struct signal_stream *re, *im; /* im is NULL for a real baseband */
  struct signal_bank *carrier;
  double *fast, *turns;
};

static enum sc_error make(struct signal_carried *c, const struct signal_raise *raise, double hz,
                          double phase_rad, double rate_hz)
{
  enum sc_error error = signal_stream_create(raise, &c->re);
  if (error == SC_OK && c->baseband != NULL && !signal_baseband_real(c->baseband))
    error = signal_stream_create(raise, &c->im);
  if (error == SC_OK)
    error = signal_bank_create(1, rate_hz, &c->carrier);
  if (error != SC_OK)
    return error;
  signal_bank_add(c->carrier, hz, signal_complex(sin(phase_rad), -cos(phase_rad)));
  c->frames = SIGNAL_SLOW * raise->factor;
  c->fast = calloc(4 * c->frames, sizeof *c->fast);
  if (c->fast == NULL)
    return SC_NO_MEMORY;
  c->turns = c->fast + 2 * c->frames;
  return SC_OK;
}

enum sc_error signal_carried_create(const struct signal_raise *raise,
                                    struct signal_baseband *baseband, double hz, double phase_rad,
                                    double rate_hz, struct signal_carried **carried)
{
  *carried = NULL;
  struct signal_carried *c = calloc(1, sizeof *c);
  if (c == NULL) {
    signal_baseband_destroy(baseband);
    return SC_NO_MEMORY;
  }
  c->baseband = baseband;
  const enum sc_error error = make(c, raise, hz, phase_rad, rate_hz);
  if (error == SC_OK)
    *carried = c;
  else
    signal_carried_destroy(c);
  return error;
}

void signal_carried_start(struct signal_carried *carried, int64_t index)
{
  if (carried->baseband != NULL)
    signal_baseband_start(carried->baseband, index);
}

void signal_carried_prime(struct signal_carried *carried, double given)
{
  double re = given, im = 0;
  if (carried->baseband != NULL)
    signal_baseband_run(carried->baseband, &re, &im, 1);
  signal_stream_prime(carried->re, re);
  if (carried->im != NULL)
    signal_stream_prime(carried->im, im);
}

/* The subcarrier's turns for a whole run. */
static void turn(struct signal_carried *carried, int64_t frame)
{
  memset(carried->turns, 0, 2 * carried->frames * sizeof *carried->turns);
  for (size_t done = 0; done < carried->frames; done += SIGNAL_BLOCK) {
    const size_t left = carried->frames - done;
    signal_bank_sum_complex(carried->carrier, frame + (int64_t)done, carried->turns + 2 * done,
                            left < SIGNAL_BLOCK ? left : SIGNAL_BLOCK);
  }
}

SIGNAL_CLONES
static void add_real(double *restrict sum, const double *restrict re, const double *restrict turns,
                     size_t count)
{
  for (size_t i = 0; i < count; i++)
    sum[i] += re[i] * turns[2 * i];
}

SIGNAL_CLONES
static void add_complex(double *restrict sum, const double *restrict re, const double *restrict im,
                        const double *restrict turns, size_t count)
{
  for (size_t i = 0; i < count; i++)
    sum[i] += re[i] * turns[2 * i] - im[i] * turns[2 * i + 1];
}

void signal_carried_run(struct signal_carried *carried, const double *given, int64_t frame,
                        double *khz)
{
  double re[SIGNAL_SLOW], im[SIGNAL_SLOW];
  const double *real = given;
  if (carried->baseband != NULL) {
    signal_baseband_run(carried->baseband, re, im, SIGNAL_SLOW);
    real = re;
  }
  turn(carried, frame);
  signal_stream_run(carried->re, real, carried->fast);
  if (carried->im == NULL) {
    add_real(khz, carried->fast, carried->turns, carried->frames);
    return;
  }
  signal_stream_run(carried->im, im, carried->fast + carried->frames);
  add_complex(khz, carried->fast, carried->fast + carried->frames, carried->turns, carried->frames);
}

void signal_carried_destroy(struct signal_carried *carried)
{
  if (carried == NULL)
    return;
  signal_baseband_destroy(carried->baseband);
  signal_stream_destroy(carried->re);
  signal_stream_destroy(carried->im);
  signal_bank_destroy(carried->carrier);
  free(carried->fast);
  free(carried);
}
