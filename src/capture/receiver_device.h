/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* An open receiver and its settings, inside the library's types. */
#ifndef SIDECOMB_CAPTURE_RECEIVER_DEVICE_H
#define SIDECOMB_CAPTURE_RECEIVER_DEVICE_H

#include <SoapySDR/Device.h>

#include <sidecomb/capture.h>
#include <sidecomb/devices.h>

struct capture_receiver {
  SoapySDRDevice *device;
  SoapySDRStream *stream;
  char name[192]; /* for messages */
  double rate_hz, centre_hz;
  struct sc_tuning tuned; /* read back */
};

/* The library's own last words, in one clean line. */
void capture_receiver_reason(char *out, size_t size);
/* A message that ends with them. */
enum sc_error capture_receiver_fail(const char *name, const char *what, struct sc_message *message);
/* Silences the library, which logs to standard error. */
void capture_receiver_hush(void);
/* The antennas that it offers, clean. */
void capture_receiver_antennas(const SoapySDRDevice *device, struct sc_device_names *antennas);
/* Whether the receiver can do what the tuning gives, as it is set now; nothing is changed. */
enum sc_error capture_receiver_check(const struct capture_receiver *receiver,
                                     const struct sc_tuning *tuning, struct sc_message *message);
/* What the tuning gives, in an order that drivers can live with; all of them are
 * read back, whether it succeeds or not. */
enum sc_error capture_receiver_apply(struct capture_receiver *receiver,
                                     const struct sc_tuning *tuning, struct sc_message *message);

#endif
