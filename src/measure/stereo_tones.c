/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Separation, its bound, and the phase between the channels, of tones by their strength. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "measure/stereo_tones.h"

#include <math.h>

#include "measure/stereo_powers.h"

static const double one_sided = 10.0;   /* power ratio: 10 dB */
static const double both_sides = 400.0; /* the other way round: 26 dB */
static const double degrees = 57.295779513082320877;

static const char no_tone[] = "no steady tone stands in this channel alone; programme cannot tell";
static const char hidden_tone[] = "of the tone nothing stands above the noise in the other channel";
static const char no_bound[] = "the separation itself was measured";
static const char no_common_tone[] = "no steady tone stands in both channels";

static struct sc_quantity separation(double strong, double strong_sd, double weak, double weak_sd)
{
  if (!(weak > 2.0 * weak_sd))
    return sc_not_measured(hidden_tone);
  const double share = hypot(strong_sd / strong, weak_sd / weak) / 2.0;
  const double leak = MEASURE_STEREO_LEAK * sqrt(strong / weak);
  return sc_measured(10.0 * log10(strong / weak), 20.0 / log(10.0) * hypot(share, leak));
}

/* What may be hidden in the other channel: three standard deviations, and what the decoder leaks.
 */
static struct sc_quantity least_separation(double strong, double weak, double weak_sd)
{
  if (weak > 2.0 * weak_sd)
    return sc_not_measured(no_bound);
  const double most =
      sqrt(fmax(0.0, weak) + MEASURE_STEREO_HIDDEN * weak_sd) + MEASURE_STEREO_LEAK * sqrt(strong);
  return sc_measured(20.0 * log10(sqrt(strong) / most), (double)NAN);
}

void stereo_state_tones(const struct sc_stereo_meter *m, struct sc_stereo *r)
{
  struct measure_channels_tone tones[MEASURE_CHANNELS_TONES_MAX];
  const size_t count = measure_channels_result(m->channels, tones);
  r->separation_left_to_right_db = r->separation_right_to_left_db = sc_not_measured(no_tone);
  r->separation_left_to_right_at_least_db = r->separation_right_to_left_at_least_db =
      sc_not_measured(no_tone);
  r->separation_left_hz = r->separation_right_hz = sc_not_measured(no_tone);
  r->interchannel_phase_deg = r->interchannel_hz = sc_not_measured(no_common_tone);
  for (size_t i = count; i-- > 0;) { /* the strongest last: it stays */
    const struct measure_channels_tone *t = &tones[i];
    const struct sc_quantity hz = sc_measured(t->frequency_hz, t->frequency_uncertainty_hz);
    if (t->left > one_sided * t->right) {
      r->separation_left_to_right_db = separation(t->left, t->left_sd, t->right, t->right_sd);
      r->separation_left_to_right_at_least_db = least_separation(t->left, t->right, t->right_sd);
      r->separation_left_hz = hz;
    } else if (t->right > one_sided * t->left) {
      r->separation_right_to_left_db = separation(t->right, t->right_sd, t->left, t->left_sd);
      r->separation_right_to_left_at_least_db = least_separation(t->right, t->left, t->left_sd);
      r->separation_right_hz = hz;
    }
    if (t->left < both_sides * t->right && t->right < both_sides * t->left) {
      r->interchannel_phase_deg =
          sc_measured(degrees * t->phase_rad, degrees * t->phase_uncertainty_rad);
      r->interchannel_hz = hz;
    }
  }
}
