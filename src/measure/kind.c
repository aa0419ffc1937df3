/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Decides the kind of a capture from its evidence. Each answer needs evidence for itself; the
 * lack of evidence for the others is not enough, and then the question stays open.
 *
 * Limits are common practice, no source, unless said otherwise. */
#include <config.h>

#include "measure/kind.h"

#include <math.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>

#include "measure/kind_evidence.h"

/* The lowest usual rate of a sound card that holds 19 kHz and most of the difference signal. */
static const double composite_rate_hz = 88200;
/* No sound card runs faster. */
static const double sound_rate_max_hz = 800e3;
/* Less does not resolve the line at 19 kHz. */
static const double least_s = 0.05;
static const size_t least_frames = 2048;
/* An unused input shows crosstalk and noise; I and Q never differ that much. */
static const double empty_db = 30;
static const double copy_coherence = 0.99;
/* Mismatch of I and Q that is forgiven: 1.5 dB or 10 degrees. */
static const double proper_limit = 0.2;
static const double lopsided_limit = 0.25;
/* FM at 10 dB of carrier-to-noise ratio; two independent tones read 0.25. */
static const double steady_limit = 0.2;
/* A rotating phasor's real part alone reads 0.5, a square wave 0. */
static const double alone_limit = 0.3;
/* Stereo audio can have an envelope this steady only as one tone, harmonics aside. */
static const double very_steady_limit = 0.05, one_tone_share = 0.98;
/* The pilot is at least 8 % of 75 kHz (ITU-R BS.450), the whole at most a sine of 69 kHz: it
 * is 21 dB below the power or stronger. A receiver's audio has a rest of it far below that. */
static const double pilot_under_db = 26;
/* Share of the power above 20.5 kHz that audio does not have. */
static const double high_limit = 0.01;

static enum sc_error answer(struct measure_kind *result, enum sc_kind kind, const char *format, ...)
    SC_PRINTF(3, 4);

static enum sc_error answer(struct measure_kind *result, enum sc_kind kind, const char *format, ...)
{
  va_list arguments;
  va_start(arguments, format);
  result->kind = kind;
  (void)vsnprintf(result->reason, sizeof result->reason, format, arguments);
  va_end(arguments);
  return SC_OK;
}

static const char *side(unsigned channel)
{
  return channel == 0 ? "left" : "right";
}

static double db(double ratio)
{
  return 10 * log10(fmax(ratio, 1e-30));
}

static bool is_composite(const struct kind_channel *channel)
{
  return channel->has_line &&
         (channel->line_under_db <= pilot_under_db || channel->high_share >= high_limit);
}

/* One real signal; `where` tells how it was found. */
static enum sc_error judge_real(const struct kind_evidence *evidence, unsigned index,
                                const char *where, double rate_hz, struct measure_kind *result)
{
  const struct kind_channel *channel = &evidence->channel[index];
  result->channel = index;
  if (channel->power <= 0)
    return answer(result, SC_KIND_UNDECIDED, "%s, and it does not move", where);
  if (is_composite(channel))
    return answer(result, SC_KIND_COMPOSITE,
                  "%s: a line at %.1f Hz stands %.0f dB over its surroundings, %.1f dB below the "
                  "whole",
                  where, channel->line_hz, channel->line_over_db, channel->line_under_db);
  if (channel->high_share < high_limit && rate_hz <= sound_rate_max_hz) {
    if (channel->has_line)
      return answer(result, SC_KIND_AUDIO,
                    "%s: %.2g %% of its power lies above 20.5 kHz, and the line at 19 kHz is %.1f "
                    "dB below the whole, too weak for a pilot",
                    where, 100 * channel->high_share, channel->line_under_db);
    return answer(result, SC_KIND_AUDIO,
                  "%s: no pilot at 19 kHz, and %.2g %% of its power above 20.5 kHz", where,
                  100 * channel->high_share);
  }
  return answer(result, SC_KIND_UNDECIDED,
                "%s: no pilot at 19 kHz, but %.3g %% of its power above 20.5 kHz", where,
                100 * channel->high_share);
}

/* Evidence that a + jb is one complex signal. NULL: none; else what it is. */
static const char *iq_evidence(const struct kind_evidence *evidence, char *text, size_t size)
{
  double limit = proper_limit + 1.5 * evidence->bias;
  bool proper = evidence->imbalance < limit && evidence->in_phase < limit;
  if (evidence->constant_share > 0.5)
    (void)snprintf(text, size, "%.0f %% of the power stands still at zero frequency",
                   100 * evidence->constant_share);
  else if (proper && evidence->quadrature > lopsided_limit + 1.5 * evidence->bias)
    (void)snprintf(text, size,
                   "the spectrum is lopsided (quadrature %.2f, in phase %.2f, imbalance %.2f)",
                   evidence->quadrature, evidence->in_phase, evidence->imbalance);
  else if (evidence->envelope < steady_limit && evidence->envelope_alone > alone_limit)
    (void)snprintf(text, size,
                   "the two channels together have a steady envelope (spread %.3f, alone %.2f)",
                   evidence->envelope, evidence->envelope_alone);
  else
    return NULL;
  return text;
}

/* Two audio channels with 90 degrees between them would look the same. */
static bool could_be_audio(const struct kind_evidence *evidence, double rate_hz)
{
  bool one_tone = evidence->envelope > very_steady_limit || evidence->top_share > one_tone_share;
  return evidence->high_share < high_limit && evidence->constant_share <= 0.5 && one_tone &&
         rate_hz <= 200e3;
}

/* Two channels that both live and differ. */
static enum sc_error judge_pair(const struct kind_evidence *evidence, double rate_hz,
                                struct measure_kind *result)
{
  const struct kind_channel *channel = evidence->channel;
  char text[160];
  const char *iq = iq_evidence(evidence, text, sizeof text);
  if (iq != NULL && could_be_audio(evidence, rate_hz))
    return answer(result, SC_KIND_UNDECIDED,
                  "%s, but all of it lies within 20.5 kHz, as with stereo audio of 90 degrees", iq);
  if (iq != NULL)
    return answer(result, SC_KIND_IQ, "two channels, and %s", iq);
  if (rate_hz > sound_rate_max_hz)
    return answer(result, SC_KIND_IQ, "two channels at %.10g Hz, faster than sound cards run",
                  rate_hz);
  if (is_composite(&channel[0]) && is_composite(&channel[1]))
    return answer(result, SC_KIND_UNDECIDED,
                  "both channels hold a composite of their own: choose with --channel left or "
                  "--channel right");
  for (unsigned k = 0; k < 2; k++)
    if (is_composite(&channel[k])) {
      (void)snprintf(text, sizeof text, "two channels of which the %s one has a pilot", side(k));
      return judge_real(evidence, k, text, rate_hz, result);
    }
  if (evidence->high_share < high_limit)
    return answer(result, SC_KIND_AUDIO,
                  "two channels without a pilot (imbalance %.2f, in phase %.2f), %.2g %% of their "
                  "power above 20.5 kHz",
                  evidence->imbalance, evidence->in_phase, 100 * evidence->high_share);
  return answer(result, SC_KIND_UNDECIDED,
                "two channels that look like noise (quadrature %.2f, in phase %.2f, imbalance "
                "%.2f, %.0f %% above 20.5 kHz)",
                evidence->quadrature, evidence->in_phase, evidence->imbalance,
                100 * evidence->high_share);
}

static enum sc_error judge(const struct kind_evidence *evidence, unsigned channels, double rate_hz,
                           struct measure_kind *result)
{
  double left = evidence->channel[0].power, right = evidence->channel[1].power;
  unsigned stronger = right > left;
  double below_db = fabs(db(left) - db(right));
  char where[160];
  if (channels == 1)
    return judge_real(evidence, 0, "one channel", rate_hz, result);
  if (left <= 0 && right <= 0)
    return answer(result, SC_KIND_UNDECIDED, "two channels that do not move");
  if (below_db > empty_db && evidence->constant_share <= 0.5) {
    (void)snprintf(where, sizeof where, "%s is empty or %.0f dB below %s", side(1 - stronger),
                   below_db, side(stronger));
    return judge_real(evidence, stronger, where, rate_hz, result);
  }
  if (evidence->coherence > copy_coherence) {
    (void)snprintf(where, sizeof where, "%s is a copy of %s (coherence %.4f)", side(1 - stronger),
                   side(stronger), evidence->coherence);
    return judge_real(evidence, stronger, where, rate_hz, result);
  }
  return judge_pair(evidence, rate_hz, result);
}

enum sc_error measure_kind(const float *samples, size_t frames, unsigned channels, double rate_hz,
                           struct measure_kind *result)
{
  *result = (struct measure_kind){.kind = SC_KIND_UNDECIDED};
  if (rate_hz < composite_rate_hz)
    return answer(result, SC_KIND_AUDIO, "%.10g samples a second are too few for a composite",
                  rate_hz);
  if (frames < least_frames || (double)frames < least_s * rate_hz)
    return answer(result, SC_KIND_UNDECIDED, "%.3g ms are too short to tell",
                  1e3 * (double)frames / rate_hz);
  struct kind_evidence evidence;
  enum sc_error error = kind_gather(samples, frames, channels, rate_hz, &evidence);
  return error != SC_OK ? error : judge(&evidence, channels, rate_hz, result);
}
