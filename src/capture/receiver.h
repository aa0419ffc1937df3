/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A receiver through SoapySDR. */
#ifndef SIDECOMB_CAPTURE_RECEIVER_H
#define SIDECOMB_CAPTURE_RECEIVER_H

#include <sidecomb/devices.h>

#include "capture/container.h"

/* Opens what options->receiver, rate_hz and tuning name. Without the library in this build:
 * SC_UNSUPPORTED. */
enum sc_error capture_receiver_open(const struct sc_source_options *options,
                                    struct capture **capture, struct sc_message *message);
/* Changes what `tuning` gives while the receiver runs; what was waiting to be read is dropped.
 * *centre_hz: where it is tuned to then. */
enum sc_error capture_receiver_tune(struct capture *capture, const struct sc_tuning *tuning,
                                    double *centre_hz, struct sc_message *message);
/* Whether the receiver can do that; it runs on as it is, and any thread may ask. */
enum sc_error capture_receiver_can_tune(struct capture *capture, const struct sc_tuning *tuning,
                                        struct sc_message *message);
/* Adds the receivers to the list. Without the library there are none. */
enum sc_error capture_receiver_find(struct sc_devices *devices);

#endif
