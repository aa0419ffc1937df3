/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* In place of the receivers where this was built without SoapySDR. */
#include <config.h>

#include "capture/receiver.h"

static enum sc_error refuse(struct sc_message *message)
{
  return sc_fail(message, SC_UNSUPPORTED,
                 "--receiver: this build knows no receivers: build it where SoapySDR is");
}

enum sc_error capture_receiver_open(const struct sc_source_options *options,
                                    struct capture **capture, struct sc_message *message)
{
  (void)options;
  (void)capture;
  return refuse(message);
}

enum sc_error capture_receiver_tune(struct capture *capture, const struct sc_tuning *tuning,
                                    double *centre_hz, struct sc_message *message)
{
  (void)capture;
  (void)tuning;
  (void)centre_hz;
  return refuse(message);
}

enum sc_error capture_receiver_can_tune(struct capture *capture, const struct sc_tuning *tuning,
                                        struct sc_message *message)
{
  (void)capture;
  (void)tuning;
  return refuse(message);
}

enum sc_error capture_receiver_find(struct sc_devices *devices)
{
  (void)devices;
  return SC_OK;
}
