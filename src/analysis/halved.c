/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/halved.h"

#include <assert.h>
#include <stdlib.h>

#include "dsp/resample.h"

/* The data subcarrier ends at 59.4 kHz (IEC 62106). */
static const double pass_hz = 62e3;
static const double alias_db = 110;
/* Half of it holds the data subcarrier with room for filters. */
static const double rate_least_hz = 380e3;

struct analysis_halved {
  double rate_hz;
  struct dsp_decimator *decimator;
  size_t skip; /* frames of the filter's start, still to drop */
  float made[ANALYSIS_HALVED_FRAMES / 2 + 1];
};

enum sc_error analysis_halved_create(double rate_hz, struct analysis_halved **halved)
{
  *halved = NULL;
  if (!(rate_hz >= rate_least_hz))
    return SC_OK;
  struct analysis_halved *h = calloc(1, sizeof *h);
  if (h == NULL)
    return SC_NO_MEMORY;
  h->rate_hz = rate_hz;
  const enum sc_error error =
      dsp_decimator_create(1, 2, pass_hz, alias_db, rate_hz, ANALYSIS_HALVED_FRAMES, &h->decimator);
  if (error != SC_OK) {
    free(h);
    return error;
  }
  h->skip = dsp_decimator_transient(h->decimator);
  *halved = h;
  return SC_OK;
}

size_t analysis_halved_feed(struct analysis_halved *halved, const float *samples, size_t frames,
                            bool discontinuity, const float **made)
{
  struct analysis_halved *h = halved;
  assert(frames <= ANALYSIS_HALVED_FRAMES);
  if (discontinuity) {
    dsp_decimator_reset(h->decimator);
    h->skip = dsp_decimator_transient(h->decimator);
  }
  const size_t count = dsp_decimator_run(h->decimator, samples, frames, h->made);
  const size_t dropped = count < h->skip ? count : h->skip;
  h->skip -= dropped;
  *made = h->made + dropped;
  return count - dropped;
}

double analysis_halved_start_s(const struct analysis_halved *halved)
{
  const double dropped = 2 * (double)dsp_decimator_transient(halved->decimator);
  return (dropped - dsp_decimator_delay(halved->decimator)) / halved->rate_hz;
}

void analysis_halved_destroy(struct analysis_halved *halved)
{
  if (halved == NULL)
    return;
  dsp_decimator_destroy(halved->decimator);
  free(halved);
}
