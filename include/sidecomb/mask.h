/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Emission masks: limits over the offset from the carrier, read from text, and the margin that
 * a measured spectrum keeps to them. A mask's result is a measurement, never a certificate.
 *
 * A limit is in dB below the power of the unmodulated carrier (the total power of the FM signal
 * in its channel) and holds for the power within the mask's resolution bandwidth.
 *
 * Text of a mask, one statement a line, '#' begins a comment:
 *
 *     name        a few words
 *     source      standard, edition, clause
 *     note        a sentence that is shown with every result (may be left out)
 *     resolution  1k
 *     resolution  1k unstated      the source gives none, this is a choice
 *     detector    mean             or: max
 *     from 120k to 240k   25           dB below the carrier, from and to offsets in hertz
 *     from 100k to 200k   0 to 80      a straight line
 *     from 600k           43+10logP to 80   43 + 10 log10(power in watt), at most 80, and no end
 *
 * Offsets count to both sides. An offset where two ranges meet belongs to the stricter one.
 */
#ifndef SIDECOMB_MASK_H
#define SIDECOMB_MASK_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/api.h>
#include <sidecomb/error.h>
#include <sidecomb/quantity.h>
#include <sidecomb/spectrum.h>

enum { SC_MASKS_MAX = 4 }; /* held against one capture */
enum { SC_MASK_RANGES_MAX = 32, SC_MASK_NAME_LENGTH = 64, SC_MASK_TEXT_LENGTH = 240 };

struct sc_mask_range {
  double lower_hz, upper_hz; /* of the offset; upper INFINITY: no end */
  double lower_db, upper_db; /* attenuation at either end */
};

struct sc_mask {
  char name[SC_MASK_NAME_LENGTH];
  char source[SC_MASK_TEXT_LENGTH], note[SC_MASK_TEXT_LENGTH];
  double resolution_hz;
  bool resolution_unstated; /* by the source */
  bool max_hold;            /* detector: max instead of mean */
  struct sc_mask_range ranges[SC_MASK_RANGES_MAX];
  size_t range_count;
};

/* Reads a mask from text. `name` stands in the message, with the number of the line.
 * `power_w`: of the transmitter, for limits that depend on it; NAN: not given, and then such a
 * limit is an error. SC_BAD_FORMAT for what is not a mask. */
SC_API SC_MUST_USE enum sc_error sc_mask_parse(const char *text, const char *name, double power_w,
                                               struct sc_mask *mask, struct sc_message *message);
/* Attenuation that the mask asks for at an offset (either sign), NAN where it asks for none. */
SC_API double sc_mask_limit_db(const struct sc_mask *mask, double offset_hz);

struct sc_mask_result {
  char name[SC_MASK_NAME_LENGTH];
  char source[SC_MASK_TEXT_LENGTH], note[SC_MASK_TEXT_LENGTH];
  enum sc_truth pass;                 /* as far as could be judged; SC_UNKNOWN: nothing could */
  struct sc_quantity worst_margin_db; /* positive: within the mask */
  struct sc_quantity worst_offset_hz; /* where */
  struct sc_quantity resolution_hz;   /* of the trace that was judged, exact */
  double judged_share;                /* of the mask's offsets that the capture reaches */
  char unjudged[SC_MASK_TEXT_LENGTH]; /* which part was not, and why; empty: none */
};

struct sc_mask_settings {
  double carrier_hz;               /* in the trace's frequencies */
  struct sc_quantity carrier_dbfs; /* power of the unmodulated carrier */
  double noise_density;            /* of the capture, power per hertz; NAN: unknown */
};
/* Judges a trace that was made in the mask's resolution with a window of flat top; of one whose
 * resolution is another by more than 1 dB nothing, as spread power goes with it. The noise is
 * taken away; where it alone is above the limit nothing can be judged but what stands clearly
 * over the limit in spite of it. */
SC_API void sc_mask_judge(const struct sc_mask *mask, const struct sc_trace *trace,
                          const struct sc_mask_settings *settings, struct sc_mask_result *result);

#endif
