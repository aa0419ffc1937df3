/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The wanted signal may come after a channel was found: a recording is begun, then the transmitter
 * is keyed. What the first second held then was the receiver's own line at zero, or a weak station.
 *
 * A line alone at zero gives way to the first signal that stands elsewhere, as it would in one
 * second with it (sc_channel_find); of other channels, one that is 10 dB stronger. */
#ifndef SIDECOMB_ANALYSIS_LATER_H
#define SIDECOMB_ANALYSIS_LATER_H

#include <sidecomb/carrier.h>
#include <sidecomb/error.h>

#include "analysis/head.h"

struct analysis_later;
/* By the second that the channel was found in. */
SC_MUST_USE enum sc_error analysis_later_create(double rate_hz, struct analysis_head *head,
                                                struct analysis_later **later);
/* Takes frames up to the end of the moment that it looks at; `taken` is their number. Memory for a
 * second of samples is taken when the power has risen. */
SC_MUST_USE enum sc_error analysis_later_feed(struct analysis_later *later, const float *iq,
                                              size_t frames, bool discontinuity, size_t *taken);
/* The samples up to the last one that was fed, which hold a signal that is to be taken instead;
 * the caller owns them. NULL: there is none. */
struct analysis_head *analysis_later_found(struct analysis_later *later);
void analysis_later_destroy(struct analysis_later *later);

#endif
