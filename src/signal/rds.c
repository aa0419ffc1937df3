/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* RDS bits as a shaped biphase signal.
 *
 * Impulse response of cos(pi f td / 4) up to 2 / td, in bits x = t / td:
 * p(x) = cos(4 pi x) / (1 - 64 x^2), p(0) = 1. A bit is p(x) - p(x - 1/2), its tails fall with
 * x^-3 (each 1 / (1024 x^3)); beyond REACH bits they are faded out, -100 dB.
 */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>

#include "signal/bank.h"
#include "signal/baseband.h"
#include "signal/baseband_types.h"
#include "signal/rds_groups.h"

enum { REACH = 16, FADE = 4, HELD = 1024 };

static const double pi = 3.1415926535897932384626433832795;

/* Sum of |p(x) - p(x - 1/2)| over all bits, at its largest: computed, and reached by bits at
 * random; the rms of random bits. */
static const double peak = 1.1333511936761;
static const double rms = 0.7855647291097;

struct rds {
  struct signal_baseband base;
  struct signal_rds_coder coder;
  double scale, bit_rate_hz, rate_hz;
  int64_t next;           /* sample to come */
  int64_t bits;           /* bits made; bit k is in sign[k % HELD] */
  int64_t group;          /* group to come */
  int last;               /* state of the differential coder */
  signed char sign[HELD]; /* 1 or -1 */
};

double signal_rds_crest(void)
{
  return peak / rms;
}

/* cos(4 pi x) / (1 - 64 x^2) without its two gaps */
static double response(double x)
{
  const double y = fabs(x), z = pi / 2 * (1 - 8 * y);
  return pi / 2 * (fabs(z) < 1e-9 ? 1 : sin(z) / z) / (1 + 8 * y);
}

double signal_rds_pulse(double x)
{
  return response(x) - response(x - 0.5);
}

static double fade(double x)
{
  const double over = fabs(x) - (REACH - FADE);
  return over <= 0 ? 1 : over >= FADE ? 0 : 0.5 + 0.5 * cos(pi * over / FADE);
}

/* Value at x bits. Away from a bit its two cosines are the same for all bits. */
static double wave(const struct rds *rds, double x)
{
  const double whole = floor(x);
  const int64_t now = (int64_t)whole;
  const double shared = cos(4 * pi * (x - whole));
  double near = 0, far = 0;
  for (int64_t k = now - REACH; k <= now + REACH + 1; k++) {
    const double y = x - (double)k, sign = rds->sign[(k % HELD + HELD) % HELD];
    if (k >= now - 1 && k <= now + 2)
      near += sign * signal_rds_pulse(y);
    else
      far += sign * fade(y) * (1 / (1 - 64 * y * y) - 1 / (1 - 64 * (y - 0.5) * (y - 0.5)));
  }
  return near + shared * far;
}

static void add_group(struct rds *rds)
{
  const double length_s = SIGNAL_RDS_GROUP_BITS / rds->bit_rate_hz;
  uint16_t group[4];
  uint8_t bits[SIGNAL_RDS_GROUP_BITS];
  signal_rds_coder_next(&rds->coder, (double)rds->group * length_s,
                        (double)(rds->group + 1) * length_s, group);
  signal_rds_bits(group, bits);
  for (size_t i = 0; i < SIGNAL_RDS_GROUP_BITS; i++) {
    rds->last ^= bits[i];
    rds->sign[(rds->bits % HELD + HELD) % HELD] = rds->last ? 1 : -1;
    rds->bits++;
  }
  rds->group++;
}

/* A whole round of groups has gone before time zero, so that the data has no beginning. */
static void start(struct signal_baseband *baseband, int64_t index)
{
  struct rds *rds = (struct rds *)baseband;
  const struct signal_rds_coder fresh = rds->coder;
  rds->next = index;
  rds->group = -3;
  rds->bits = rds->group * SIGNAL_RDS_GROUP_BITS;
  while (rds->group < 0)
    add_group(rds);
  rds->coder = fresh;
}

static void run(struct signal_baseband *baseband, double *re, double *im, size_t count)
{
  struct rds *rds = (struct rds *)baseband;
  for (size_t i = 0; i < count; i++, rds->next++) {
    const double x = (double)rds->next * rds->bit_rate_hz / rds->rate_hz;
    while ((double)rds->bits < x + REACH + 2)
      add_group(rds);
    re[i] = rds->scale * wave(rds, x);
    im[i] = 0;
  }
}

static void destroy(struct signal_baseband *baseband)
{
  free(baseband);
}

static const struct signal_baseband_calls calls = {true, start, run, destroy};

enum sc_error signal_baseband_rds(const struct sc_rds_content *content, double bit_rate_hz,
                                  double rate_hz, struct signal_baseband **baseband)
{
  *baseband = NULL;
  struct rds *rds = calloc(1, sizeof *rds);
  if (rds == NULL)
    return SC_NO_MEMORY;
  rds->base.calls = &calls;
  rds->scale = content->khz / peak;
  rds->bit_rate_hz = bit_rate_hz;
  rds->rate_hz = rate_hz;
  if (!signal_rds_coder_init(&rds->coder, content)) {
    free(rds);
    return SC_BAD_ARGUMENT;
  }
  *baseband = &rds->base;
  return SC_OK;
}
