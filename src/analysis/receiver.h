/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What is known of the receiver, as the report says it. */
#ifndef SIDECOMB_ANALYSIS_RECEIVER_H
#define SIDECOMB_ANALYSIS_RECEIVER_H

#include <sidecomb/result.h>

void analysis_receiver(const struct sc_tuning *tuned, struct sc_receiver_facts *facts);

#endif
