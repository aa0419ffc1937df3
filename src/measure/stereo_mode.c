/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The mode by what counts as programme in sum and difference, and by the pilot. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "measure/stereo_mode.h"

#include <math.h>
#include <stdio.h>

/* Common practice, no source: less is hum and noise rather than a programme. */
static const double programme_least_khz = 0.1;
static const double programme_least_share = 0.015; /* of the pilot, where kHz are not known */
static const double mono_share = 0.0158;           /* -36 dB: less is crosstalk */
/* All but a tenth of the sum's power: lines are found in a part of the record only. */
static const double hum_rest = 0.1;

static double least_programme(const struct sc_stereo_meter *m, const struct sc_pilot *pilot)
{
  if (m->settings.absolute)
    return programme_least_khz;
  return pilot->amplitude.why == NULL ? programme_least_share * pilot->amplitude.value : 0.0;
}

/* Rms of what may be programme in the sum. */
static double sum_but_hum(const struct sc_stereo_context *context, const struct stereo_powers *p,
                          double least)
{
  const double sum = stereo_has_sum(p) ? p->sum : 0.0;
  const double rest = sum - context->hum_khz2;
  return rest <= fmax(least * least, hum_rest * sum) ? 0.0 : sqrt(sum);
}

void stereo_judge_mode(const struct sc_stereo_meter *m, const struct sc_stereo_context *context,
                       const struct stereo_powers *p, struct sc_stereo *r)
{
  const struct sc_pilot *pilot = context->pilot;
  const double least = least_programme(m, pilot);
  const double sum = stereo_has_sum(p) ? sqrt(p->sum) : 0.0;
  const bool locked = pilot->present == SC_YES;
  double difference = locked ? 0.0 : stereo_unlocked_rms(&m->sums);
  if (locked && stereo_has_difference(p, pilot->amplitude.value))
    difference = sqrt(p->difference);
  const bool sounds = sum >= least && sum > 0.0 && sum_but_hum(context, p, least) > 0.0;
  const bool hums = sum >= least && sum > 0.0 && !sounds;
  const bool wide = difference >= least && difference > mono_share * sum;
  if (pilot->present == SC_UNKNOWN)
    r->mode = SC_MODE_UNKNOWN;
  else if (!locked)
    r->mode = wide ? SC_MODE_DIFFERENCE_WITHOUT_PILOT : sounds ? SC_MODE_MONO : SC_MODE_UNMODULATED;
  else
    r->mode = wide ? SC_MODE_STEREO : sounds ? SC_MODE_MONO : SC_MODE_PILOT_ONLY;
  const char *unit = m->settings.absolute ? "kHz" : "of full scale";
  if (r->mode == SC_MODE_UNKNOWN)
    snprintf(r->evidence, sizeof r->evidence, "the pilot is open: %s", pilot->why);
  else
    snprintf(r->evidence, sizeof r->evidence,
             "%s pilot; sum %.3g and difference %.3g %s rms above the noise; as programme count "
             "%.2g %s, and a difference above -36 dB of the sum%s",
             locked ? "a" : "no", sum, difference, unit, least, unit,
             hums ? "; the sum is mains hum" : "");
}
