/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a receiver shows without the transmitter: a capture with the same settings, the transmitter
 * off or its input terminated. Lines that are there anyway are the receiver's, or another
 * station's, and no fault of the transmitter; their power is taken off the occupied bandwidth and
 * off the spectra that masks are held against.
 *
 * Lines are found as in any capture (sidecomb/lines.h). Of the averaged spectra counts what
 * exceeds twice their median: the noise itself stays, and is judged where it always is.
 *
 * A baseline that has within 100 kHz of the carrier a power of a tenth of the carrier's or more,
 * above its noise, is not used: the transmitter is on in it, or another one in its place. The
 * result then says so (baseline_refused, and among the warnings).
 */
#ifndef SIDECOMB_BASELINE_H
#define SIDECOMB_BASELINE_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/api.h>
#include <sidecomb/capture.h>
#include <sidecomb/error.h>
#include <sidecomb/lines.h>
#include <sidecomb/mask.h>
#include <sidecomb/spectrum.h>

struct sc_baseline;

/* Reads `source` to its end. `masks`: those that captures will be held against; may be NULL with
 * a count of 0. `progress` as for sc_analyse_source. SC_BAD_ARGUMENT: the source holds no IQ, or
 * nothing. */
SC_API SC_MUST_USE enum sc_error sc_baseline_read(struct sc_source *source,
                                                  const struct sc_mask *masks, size_t mask_count,
                                                  bool (*progress)(void *context, double share),
                                                  void *context, struct sc_baseline **baseline,
                                                  struct sc_message *message);
/* Whether it holds for a capture of these settings: rate and tuned frequency are equal. */
SC_API SC_MUST_USE enum sc_error sc_baseline_check(const struct sc_baseline *baseline,
                                                   const struct sc_source_info *info,
                                                   struct sc_message *message);
/* Accepts NULL. */
SC_API void sc_baseline_destroy(struct sc_baseline *baseline);

#endif
