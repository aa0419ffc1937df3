/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Band and demodulator in a row, as the meter has them, with every decision compared. */
#include "measure/rds_errors.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "measure/rds_band.h"
#include "measure/rds_demodulator.h"

enum { BLOCK = 8192 };
static const double record_bits = 100 * 1187.5;

struct comparison {
  const struct rds_signal *signal;
  struct rds_errors errors;
  long last; /* index of the last decision */
  bool decided, sent;
};

static void compare(void *context, float soft, double time_s)
{
  struct comparison *c = context;
  const long index = lround(time_s * 1187.5) - 1;
  const bool decided = soft < 0.0F;
  const bool sent = c->signal->sign[(size_t)index % c->signal->sign_count] < 0;
  if (index == c->last + 1) {
    c->errors.bits += 1.0;
    c->errors.wrong += (decided != c->decided) != (sent != c->sent);
  }
  c->last = index;
  c->decided = decided;
  c->sent = sent;
}

static void must(enum sc_error error)
{
  if (error == SC_OK)
    return;
  fprintf(stderr, "%s\n", sc_error_text(error));
  exit(EXIT_FAILURE);
}

static void add_record(struct rds_signal *signal, double bits, struct rds_errors *errors)
{
  static float khz[BLOCK];
  struct measure_rds_band *band;
  struct measure_rds_demodulator *demodulator;
  struct comparison comparison = {.signal = signal, .last = -2};
  must(measure_rds_band_create(signal->rate_hz, &band));
  must(measure_rds_demodulator_create(compare, &comparison, &demodulator));
  rds_signal_start(signal);
  for (double frames = bits / 1187.5 * signal->rate_hz; frames > 0.0; frames -= BLOCK) {
    rds_signal_run(signal, khz, BLOCK);
    measure_rds_band_feed(band, khz, BLOCK);
    measure_rds_band_forget(band, measure_rds_demodulator_run(demodulator, band));
  }
  measure_rds_demodulator_destroy(demodulator);
  measure_rds_band_destroy(band);
  errors->bits += comparison.errors.bits;
  errors->wrong += comparison.errors.wrong;
}

struct rds_errors rds_errors_count(const struct rds_signal *signal, double bits)
{
  static struct rds_signal now;
  struct rds_errors errors = {0.0, 0.0};
  for (unsigned i = 0; errors.bits < 0.95 * bits; i++) {
    now = *signal;
    now.seed += (uint64_t)i << 32;
    add_record(&now, fmin(bits - errors.bits, record_bits), &errors);
  }
  return errors;
}
