/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The middle of a channel that is wider than what its place was looked for with. */
#ifndef SIDECOMB_ANALYSIS_CENTRE_H
#define SIDECOMB_ANALYSIS_CENTRE_H

#include <sidecomb/carrier.h>
#include <sidecomb/error.h>

#include "analysis/head.h"

/* A signal that fills the 200 kHz of sc_channel_find may reach beyond them: of a strong tone they
 * hold most power where they hold one of the two horns of its spectrum, and their centre of gravity
 * is not the carrier's. The mean of the demodulated frequency is nearer to it, even where a part of
 * the signal is cut off; so a guess that wide goes there until it stays. Where it does not, or goes
 * as far as another channel, it is left as it was. Costs a few demodulations of the head, of such
 * signals only. SC_NO_MEMORY. */
enum sc_error analysis_centre(const struct analysis_head *head, double rate_hz,
                              struct sc_channel_guess *guess);

#endif
