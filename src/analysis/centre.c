/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/centre.h"

#include <math.h>
#include <stdbool.h>

#include <sidecomb/composite.h>

#include "dsp/taper.h"

/* A tone of 150 kHz and 50 Hz, of which a capture of 384 kS/s shows one horn alone at first, took
 * 14; two are usual. */
enum { STEPS_MAX = 30 };
/* Of the 200 kHz (our choice): a station's lines fill less, but for noise and loud tones. Of a tone
 * that fills the capture, most is taken for the floor. */
static const double wide_hz = 80e3;
/* The guess is no better than a few kilohertz; it may be a horn of what swings by 150 kHz. */
static const double near_hz = 3e3, far_hz = 155e3;

/* Under the taper that lets least of the modulation through, of the longest run without a gap. */
static double mean_khz(struct sc_demodulator *demodulator, const struct analysis_head *head)
{
  const float *iq, *khz;
  size_t frames, longest = 0;
  double mean = (double)NAN;
  bool gap;
  for (size_t i = 0; analysis_head_run(head, i, &iq, &frames, &gap); i++) {
    struct dsp_taper taper;
    dsp_taper_reset(&taper);
    for (size_t now, at = 0; at < frames; at += now) {
      now = frames - at < SC_DEMODULATOR_FEED_MAX ? frames - at : SC_DEMODULATOR_FEED_MAX;
      const size_t made = sc_demodulator_feed(demodulator, iq + 2 * at, now, at == 0, &khz, NULL);
      dsp_taper_feed(&taper, khz, made);
    }
    if (taper.frames > longest)
      mean = dsp_taper_mean(&taper, DSP_TAPER_ORDER);
    longest = taper.frames > longest ? taper.frames : longest;
  }
  return mean;
}

/* Of what a channel there lets through; NAN: there can be none, or nothing came. */
static enum sc_error mean_there(const struct analysis_head *head, double rate_hz, double channel_hz,
                                double *mean_hz)
{
  const struct sc_demodulator_settings settings = {rate_hz, channel_hz};
  struct sc_demodulator *demodulator = NULL;
  const enum sc_error error = sc_demodulator_create(&settings, &demodulator);
  *mean_hz = (double)NAN;
  if (error == SC_BAD_ARGUMENT || error == SC_UNSUPPORTED)
    return SC_OK; /* who makes the channel says so */
  if (error != SC_OK)
    return error;
  *mean_hz = channel_hz + 1e3 * mean_khz(demodulator, head);
  sc_demodulator_destroy(demodulator);
  return SC_OK;
}

enum sc_error analysis_centre(const struct analysis_head *head, double rate_hz,
                              struct sc_channel_guess *guess)
{
  double at_hz = guess->offset_hz;
  for (int step = 0; step < STEPS_MAX && guess->width_hz > wide_hz; step++) {
    double mean_hz;
    const enum sc_error error = mean_there(head, rate_hz, at_hz, &mean_hz);
    if (error != SC_OK)
      return error;

    const double moved_hz = fabs(mean_hz - at_hz);
    if (!(fabs(mean_hz - guess->offset_hz) <= far_hz))
      return SC_OK;
    if (moved_hz <= near_hz) {
      guess->offset_hz = at_hz;
      return SC_OK;
    }
    at_hz = mean_hz;
  }
  return SC_OK;
}
