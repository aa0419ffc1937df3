/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a transmitter adds that nobody sends: amplitude modulation, hum and noise.
 *
 * - AM: see am.h; "unmodulated" when no programme is sent (a pilot may be), else "synchronous".
 * - Envelope: its rms in the whole channel, re its mean. FM leaves it alone: AM makes it, another
 *   signal in the channel, a reflection, or a filter that cuts the modulation.
 * - Hum and noise: rms of the sum from 30 Hz to 15 kHz behind de-emphasis, in dB relative to a
 *   sine of 75 kHz (common practice, the reference by 47 CFR 73.1570(b)(2)); only in silence,
 *   or where all but a tenth of the sum's power is lines at the first multiples of the mains.
 *   A tone at 30 Hz is read 0.013 dB low, which its uncertainty holds; at 50 Hz 0.002.
 * The limits are what the capture's own noise would read.
 */
#ifndef SIDECOMB_NOISE_H
#define SIDECOMB_NOISE_H

#include <sidecomb/quantity.h>

struct sc_noise {
  struct sc_quantity am_unmodulated_db, am_synchronous_db, am_limit_db;
  struct sc_quantity envelope_percent; /* of the whole channel, see am.h */
  struct sc_quantity fm_noise_db, fm_noise_limit_db;
  /* Where it does not stand above the capture's noise: it is no more than all that is there, that
   * noise included, and three standard uncertainties; exact. */
  struct sc_quantity am_unmodulated_at_most_db, am_synchronous_at_most_db, fm_noise_at_most_db;
  struct sc_quantity deemphasis_us; /* that fm_noise_db was measured with */
  struct sc_quantity image;         /* of the receiver's unequal I and Q, re the signal: see am.h */
};

#endif
