/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A pilot that is not at 19 kHz because the capture's sample rate is stated wrong. */
#ifndef SIDECOMB_ACCOUNT_SCALED_H
#define SIDECOMB_ACCOUNT_SCALED_H

#include <stdbool.h>

#include <sidecomb/result.h>

struct account_scaled {
  double hz;      /* of the tone that may be the pilot */
  bool has_pairs; /* tones of equal level stand in pairs about twice its frequency, as a stereo
                     difference does: evidence beside the place */
};

/* Where no pilot was found: false, no tone may be it. */
bool account_find_scaled(const struct sc_result *result, struct account_scaled *scaled);

#endif
