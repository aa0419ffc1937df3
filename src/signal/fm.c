/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The baseband of an FM subcarrier: exp(j psi), psi the integral of its programme. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "signal/bank.h"
#include "signal/baseband.h"
#include "signal/baseband_types.h"
#include "signal/integral.h"
#include "signal/programme.h"

static const double two_pi = 6.283185307179586476925286766559;

/* From the programme's limit to where nothing is left of it. */
static const double edge_hz = 1000;

struct fm {
  struct signal_baseband base;
  double khz, rate_hz;
  double psi;
  struct signal_shape *shape;
  struct signal_programme *programme;
  struct signal_integral integral;
};

static void run(struct signal_baseband *baseband, double *re, double *im, size_t count)
{
  struct fm *fm = (struct fm *)baseband;
  double left[SIGNAL_BLOCK], right[SIGNAL_BLOCK], step[SIGNAL_BLOCK];
  signal_programme_run(fm->programme, left, right, count);
  for (size_t i = 0; i < count; i++)
    left[i] = (left[i] + right[i]) / 2;
  signal_integral_run(&fm->integral, left, step, count);
  for (size_t i = 0; i < count; i++) {
    fm->psi = remainder(fm->psi + two_pi * 1000 / fm->rate_hz * step[i], two_pi);
    re[i] = fm->khz * cos(fm->psi);
    im[i] = fm->khz * sin(fm->psi);
  }
}

static void start(struct signal_baseband *baseband, int64_t index)
{
  struct fm *fm = (struct fm *)baseband;
  double re[SIGNAL_INTEGRAL_POINTS], im[SIGNAL_INTEGRAL_POINTS];
  signal_programme_start(fm->programme, index - SIGNAL_INTEGRAL_POINTS + SIGNAL_INTEGRAL_AHEAD);
  run(baseband, re, im, SIGNAL_INTEGRAL_POINTS);
  fm->psi = 0;
}

static void destroy(struct signal_baseband *baseband)
{
  struct fm *fm = (struct fm *)baseband;
  signal_programme_destroy(fm->programme);
  signal_shape_destroy(fm->shape);
  free(fm);
}

static const struct signal_baseband_calls calls = {false, start, run, destroy};

enum sc_error signal_baseband_fm(const struct sc_subcarrier *subcarrier, double rate_hz,
                                 uint64_t seed, struct signal_baseband **baseband,
                                 struct sc_message *message)
{
  *baseband = NULL;
  struct fm *fm = calloc(1, sizeof *fm);
  if (fm == NULL)
    return SC_NO_MEMORY;
  fm->base.calls = &calls;
  fm->khz = subcarrier->khz;
  fm->rate_hz = rate_hz;
  enum sc_error error = signal_shape_create(subcarrier->limit_hz, subcarrier->limit_hz + edge_hz, 0,
                                            rate_hz, &fm->shape);
  if (error == SC_OK)
    error = signal_programme_create(subcarrier->programme, subcarrier->programme_count, true,
                                    fm->shape, subcarrier->limit_hz, seed, &fm->programme, message);
  if (error == SC_OK)
    *baseband = &fm->base;
  else
    destroy(&fm->base);
  return error;
}
