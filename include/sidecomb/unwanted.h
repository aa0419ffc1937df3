/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What in a capture is not the transmitter's modulation, and what would have been seen of it.
 *
 * Counted are the lines on air whose verdict is spurious. The level from which on a line is found
 * with a probability of 99 % is, at each place,
 *
 *     E = (sqrt(2 E0) + 2.33)^2 / 2,   P = E N / T
 *
 * with E0 the threshold of the search, N the power density there, modulation included, and T the
 * length of a record, and 2 dB more for the search's window (the amplitude of a steady line in
 * noise is normal with variance N / 2T; S. M. Kay, Fundamentals of Statistical Signal Processing,
 * vol. 2, 1998, ch. 7). N is the largest median of the averaged spectrum over 2 kHz in the stated
 * span, both sides of the carrier. A search that found more lines than it keeps has left out the
 * weakest ones: there it is no less than the level of the weakest line that was kept and 2.33
 * standard uncertainties of the difference of two such lines.
 *
 * From 2 kHz from the carrier on, as far as the channel's filter reaches, lines are also looked for
 * in what an ideal limiter takes away, where modulation leaves nothing (measure/remainder.h). Where
 * that shows weaker ones, its threshold, record and density count, and what the limiter may make of
 * the strongest line is the least. A line is missed there that stands exactly on one of the
 * modulation's.
 */
#ifndef SIDECOMB_UNWANTED_H
#define SIDECOMB_UNWANTED_H

#include <stddef.h>

#include <sidecomb/quantity.h>

enum { SC_SEEN_SPANS_MAX = 10, SC_UNWANTED_BANDS_MAX = 16 };

/* Offsets to both sides of the carrier. */
struct sc_seen_span {
  struct sc_quantity lower_hz, upper_hz; /* exact */
  struct sc_quantity level_dbc;          /* a line is found from here on, in the worst place */
  enum sc_truth by_modulation; /* it is the modulation that hides weaker ones, not noise */
  enum sc_truth by_full_list;  /* it is that more lines were found than are kept */
};

/* Noise-like power: the medians of the averaged spectrum over 2 kHz, less the lines that were
 * found, stand 3 dB or more above the capture's noise, 30 kHz or more beyond half of Carson's
 * bandwidth, where most modulation has ended. Another station is such a band, and moves the
 * envelope; a noisy oscillator's skirt, and the outermost lines of many tones or of a drifting
 * carrier, are the transmitter's own and leave it alone. A band ends where that changes; another
 * signal's goes on beyond the channel. */
struct sc_unwanted_band {
  struct sc_quantity lower_hz, upper_hz; /* from the carrier, exact */
  struct sc_quantity level_dbc;          /* its power, less the capture's noise */
  enum sc_truth of_phase; /* a limiter takes away less than half of what it takes of another
                             signal: this one leaves the envelope alone. Unknown beyond
                             the channel's filter, 175 kHz, and in short captures */
};

struct sc_unwanted {
  struct sc_quantity count;                                             /* exact */
  struct sc_quantity strongest_dbc, strongest_dbm, strongest_offset_hz; /* why: none was found */
  /* No line of another source is stronger, anywhere within 5 MHz of the carrier that the capture
   * reaches, or at 120 kHz from it or more (where the mask of 47 CFR 73.317 begins): the strongest
   * line that is spurious, unknown or a residual, or, where that is more, the worst of the levels
   * from which on one would have been found. */
  struct sc_quantity strongest_at_most_dbc, beside_at_most_dbc;
  struct sc_seen_span seen[SC_SEEN_SPANS_MAX];
  size_t seen_count;
  struct sc_unwanted_band bands[SC_UNWANTED_BANDS_MAX]; /* by offset */
  size_t band_count;
};

#endif
