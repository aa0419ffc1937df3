/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What devices share: a thread that takes samples from the device as they come, and a bounded
 * ring between it and whoever reads the capture. A reader that is too slow loses whole blocks,
 * counted, so that neither delay nor memory grows and the device itself is never kept waiting. */
#ifndef SIDECOMB_CAPTURE_LIVE_H
#define SIDECOMB_CAPTURE_LIVE_H

#include "capture/container.h"

/* A device that has nothing to give lets its thread look around this often. */
enum { CAPTURE_LIVE_WAIT_MS = 100 };

/* Why frames are missing. */
enum capture_loss {
  CAPTURE_LOSS_NONE,
  CAPTURE_LOSS_OVERRUN, /* in the device: its buffer ran over */
  CAPTURE_LOSS_SUSPEND, /* the machine or the device slept */
  CAPTURE_LOSS_SETTING, /* a setting of the device was changed */
  CAPTURE_LOSS_DROP,    /* here: the reader was too slow */
};

/* What one call to a device brought. */
struct capture_taken {
  size_t frames;
  enum capture_loss loss; /* right before these frames; with frames 0 it is kept for the next */
  uint64_t lost;          /* frames of it, by the clock; 0: unknown */
  double centre_hz;       /* under which they were taken; 0: unknown */
};

struct capture_device {
  /* Waits at most about CAPTURE_LIVE_WAIT_MS. Anything but SC_OK ends the capture, and `message`
   * says why. Called by one thread alone. */
  enum sc_error (*take)(void *device, float *samples, size_t frames, struct capture_taken *taken,
                        struct sc_message *message);
  /* After the thread has ended, or when it never started. */
  void (*close)(void *device);
};

/* Takes over `device`, also on failure. `facts` and `name` as for any capture. */
enum sc_error capture_live_open(const struct capture_device *driver, void *device,
                                const struct capture_facts *facts, double centre_hz,
                                const char *name, struct capture **capture,
                                struct sc_message *message);
/* Has `call` called by the device's thread between two takes, and waits for it; what was waiting
 * to be read is dropped. SC_UNSUPPORTED for a capture that is no device of `driver`;
 * SC_READ_FAILED when it has ended. To be called by one thread at a time. */
enum sc_error capture_live_call(struct capture *capture, const struct capture_device *driver,
                                enum sc_error (*call)(void *device, void *context,
                                                      struct sc_message *message),
                                void *context, struct sc_message *message);
/* The same for a call that changes nothing: what is waiting stays, and another thread may read. */
enum sc_error capture_live_ask(struct capture *capture, const struct capture_device *driver,
                               enum sc_error (*call)(void *device, void *context,
                                                     struct sc_message *message),
                               void *context, struct sc_message *message);
/* What was lost so far; from any thread. All zero for a capture that is no device. */
void capture_live_losses(const struct capture *capture, struct sc_losses *losses);

/* Monotonic time. */
double capture_now_s(void);

#endif
