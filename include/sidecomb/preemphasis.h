/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Which pre-emphasis the transmitter uses.
 *
 * Definition (ITU-R BS.450-3, 1.2): gain 10 log10(1 + (2 pi f tau)^2) dB, tau 50 or 75 us (0:
 * none). With the test audio (sequence.h) the levels of its combs as sent and as decoded without
 * de-emphasis are known: tau and one level for each channel are fitted by least squares. Its
 * uncertainty follows from the levels' and from how well the curve fits. A programme has a
 * spectrum of its own, which nobody knows: then it cannot be told.
 */
#ifndef SIDECOMB_PREEMPHASIS_H
#define SIDECOMB_PREEMPHASIS_H

#include <sidecomb/api.h>
#include <sidecomb/audio.h>
#include <sidecomb/quantity.h>

struct sc_preemphasis {
  struct sc_quantity tau_us; /* 0, 50 or 75: exact */
  struct sc_quantity fitted_us;
  struct sc_quantity uncertainty_us; /* of the fitted one: exact */
  const char *basis;                 /* what it was found from, or why it cannot be told */
};

/* `audio`: of what was decoded without de-emphasis. */
SC_API void sc_preemphasis_fit(const struct sc_audio *audio, struct sc_preemphasis *preemphasis);
SC_API void sc_preemphasis_refuse(struct sc_preemphasis *preemphasis, const char *why);

#endif
