/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Samples of a receiver in its own format where that is of integers, so that clipping is seen at
 * the very end of the converter's range. */
#include <config.h>

#include "capture/receiver.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <SoapySDR/Constants.h>
#include <SoapySDR/Errors.h>
#include <SoapySDR/Formats.h>

#include "capture/live.h"
#include "capture/notice.h"
#include "capture/receiver_device.h"
#include "capture/types.h"

enum { BOUNCE_FRAMES = 1 << 13 };
static const double usual_rate_hz = 2.4e6;
/* After a change of its settings a receiver settles; common practice, no source. */
static const double settle_s = 0.05;
/* A receiver without samples for so long was pulled out, or hangs. */
static const double patience_s = 5;

struct tuner {
  struct capture_receiver receiver;
  const struct capture_type *type;
  double full_scale; /* code of it; 0 for floats */
  size_t frame_bytes;
  unsigned char *bounce;
  double read_s;     /* monotonic time of the last read that brought something */
  double settled_s;  /* what comes before that time is dropped */
  long long time_ns; /* of the frame behind the last one; by the receiver's clock */
  bool time_known;
  enum capture_loss loss; /* since the last frame */
};

/* ---- samples */

/* By the receiver's own clock where it stamps what it sends. */
static uint64_t frames_lost(const struct tuner *tuner, size_t got, bool stamped, long long time_ns,
                            double at_s)
{
  double seconds = stamped && tuner->time_known
                       ? 1e-9 * (double)(time_ns - tuner->time_ns)
                       : at_s - tuner->read_s - (double)got / tuner->receiver.rate_hz;
  return seconds > 0 ? (uint64_t)llrint(seconds * tuner->receiver.rate_hz) : 0;
}

static void take_frames(struct tuner *tuner, float *samples, size_t got, int flags,
                        long long time_ns, struct capture_taken *taken)
{
  double at_s = capture_now_s();
  bool stamped = flags & SOAPY_SDR_HAS_TIME;
  taken->frames = got;
  taken->centre_hz = tuner->receiver.centre_hz;
  taken->loss = tuner->loss;
  if (tuner->loss != CAPTURE_LOSS_NONE)
    taken->lost = frames_lost(tuner, got, stamped, time_ns, at_s);
  tuner->loss = flags & SOAPY_SDR_END_ABRUPT ? CAPTURE_LOSS_OVERRUN : CAPTURE_LOSS_NONE;
  tuner->read_s = at_s;
  tuner->time_known = stamped;
  tuner->time_ns = time_ns + llrint(1e9 * (double)got / tuner->receiver.rate_hz);
  tuner->type->decode(tuner->bounce, samples, 2 * got);
  float scale =
      tuner->full_scale > 0 ? (float)(ldexp(1, (int)tuner->type->bits - 1) / tuner->full_scale) : 1;
  if (scale != 1)
    for (size_t i = 0; i < 2 * got; i++)
      samples[i] *= scale;
}

static enum sc_error stumble(struct tuner *tuner, int status, struct sc_message *message)
{
  if (status == SOAPY_SDR_OVERFLOW || status == SOAPY_SDR_CORRUPTION) {
    tuner->loss = CAPTURE_LOSS_OVERRUN;
    return SC_OK;
  }
  if (status == SOAPY_SDR_TIMEOUT) {
    if (capture_now_s() - tuner->read_s < patience_s)
      return SC_OK;
    return sc_fail(message, SC_READ_FAILED, "%s: the receiver gives no more samples",
                   tuner->receiver.name);
  }
  return sc_fail(message, SC_READ_FAILED, "%s: the receiver is gone, or no longer answers: %s",
                 tuner->receiver.name, SoapySDR_errToStr(status));
}

static enum sc_error take(void *device, float *samples, size_t frames, struct capture_taken *taken,
                          struct sc_message *message)
{
  struct tuner *tuner = device;
  void *const buffers[1] = {tuner->bounce};
  int flags = 0;
  long long time_ns = 0;
  size_t wanted = frames < BOUNCE_FRAMES ? frames : BOUNCE_FRAMES;
  int got = SoapySDRDevice_readStream(tuner->receiver.device, tuner->receiver.stream, buffers,
                                      wanted, &flags, &time_ns, CAPTURE_LIVE_WAIT_MS * 1000L);
  if (got < 0)
    return stumble(tuner, got, message);
  if (got == 0)
    return SC_OK;
  if (capture_now_s() < tuner->settled_s)
    tuner->read_s = capture_now_s();
  else
    take_frames(tuner, samples, (size_t)got, flags, time_ns, taken);
  return SC_OK;
}

static void close_tuner(void *device)
{
  struct tuner *tuner = device;
  struct capture_receiver *receiver = &tuner->receiver;
  if (receiver->stream != NULL) {
    (void)SoapySDRDevice_deactivateStream(receiver->device, receiver->stream, 0, 0);
    (void)SoapySDRDevice_closeStream(receiver->device, receiver->stream);
  }
  if (receiver->device != NULL)
    (void)SoapySDRDevice_unmake(receiver->device);
  free(tuner->bounce);
  free(tuner);
}

static const struct capture_device driver = {take, close_tuner};

/* ---- changes while it runs */

struct change {
  const struct sc_tuning *tuning;
  struct sc_tuning tuned;
};

static enum sc_error change(void *device, void *context, struct sc_message *message)
{
  struct tuner *tuner = device;
  struct change *wanted = context;
  enum sc_error error = capture_receiver_apply(&tuner->receiver, wanted->tuning, message);
  wanted->tuned = tuner->receiver.tuned;
  tuner->loss = CAPTURE_LOSS_SETTING;
  tuner->settled_s = capture_now_s() + settle_s;
  return error;
}

static enum sc_error look(void *device, void *context, struct sc_message *message)
{
  const struct tuner *tuner = device;
  return capture_receiver_check(&tuner->receiver, context, message);
}

enum sc_error capture_receiver_can_tune(struct capture *capture, const struct sc_tuning *tuning,
                                        struct sc_message *message)
{
  struct sc_tuning wanted = *tuning;
  return capture_live_ask(capture, &driver, look, &wanted, message);
}

enum sc_error capture_receiver_tune(struct capture *capture, const struct sc_tuning *tuning,
                                    double *centre_hz, struct sc_message *message)
{
  struct change wanted = {.tuning = tuning};
  enum sc_error error = capture_live_call(capture, &driver, change, &wanted, message);
  if (wanted.tuned.tune_hz > 0) {
    *centre_hz = wanted.tuned.tune_hz;
    capture->tuned = wanted.tuned;
  }
  return error;
}

/* ---- opening */

static enum sc_error make(struct tuner *tuner, const char *arguments, struct sc_message *message)
{
  capture_receiver_hush();
  tuner->receiver.device = SoapySDRDevice_makeStrArgs(arguments);
  if (tuner->receiver.device == NULL)
    return capture_receiver_fail(tuner->receiver.name,
                                 "the receiver cannot be opened ('sidecomb devices' lists those "
                                 "that are there)",
                                 message);
  if (SoapySDRDevice_getNumChannels(tuner->receiver.device, SOAPY_SDR_RX) == 0)
    return sc_fail(message, SC_UNSUPPORTED, "%s: does not receive", tuner->receiver.name);
  return SC_OK;
}

static enum sc_error set_rate(struct tuner *tuner, double asked_hz, struct sc_message *message)
{
  struct capture_receiver *receiver = &tuner->receiver;
  double rate_hz = asked_hz > 0 ? asked_hz : usual_rate_hz;
  if (SoapySDRDevice_setSampleRate(receiver->device, SOAPY_SDR_RX, 0, rate_hz) != 0)
    return capture_receiver_fail(receiver->name, "its rate cannot be set", message);
  receiver->rate_hz = SoapySDRDevice_getSampleRate(receiver->device, SOAPY_SDR_RX, 0);
  /* Dividers give most rates to a few parts per million; another rate is none that was asked. */
  if (asked_hz > 0 && fabs(receiver->rate_hz - asked_hz) > 1e-3 * asked_hz)
    return sc_fail(message, SC_BAD_ARGUMENT,
                   "%s: does not do %.10g samples a second, but %.10g; 'sidecomb devices' says "
                   "what it can do",
                   receiver->name, asked_hz, receiver->rate_hz);
  return SC_OK;
}

/* Its own format where we read that; else floats, which every driver knows. */
static void choose_format(struct tuner *tuner, const char **name)
{
  static const char *const ours[][2] = {{SOAPY_SDR_CS16, "ci16_le"}, {SOAPY_SDR_CS8, "ci8"}};
  char *native = SoapySDRDevice_getNativeStreamFormat(tuner->receiver.device, SOAPY_SDR_RX, 0,
                                                      &tuner->full_scale);
  *name = SOAPY_SDR_CF32;
  tuner->type = capture_type_find("cf32_le");
  for (size_t i = 0; native != NULL && i < sizeof ours / sizeof ours[0]; i++)
    if (strcmp(native, ours[i][0]) == 0) {
      *name = ours[i][0];
      tuner->type = capture_type_find(ours[i][1]);
    }
  if (tuner->type->bits == 0 || !(tuner->full_scale >= 1))
    tuner->full_scale = tuner->type->bits == 0 ? 0 : ldexp(1, (int)tuner->type->bits - 1);
  SoapySDR_free(native);
}

static enum sc_error start(struct tuner *tuner, struct sc_message *message)
{
  struct capture_receiver *receiver = &tuner->receiver;
  const char *format;
  choose_format(tuner, &format);
  tuner->frame_bytes = (size_t)2 * tuner->type->bytes;
  tuner->bounce = malloc(BOUNCE_FRAMES * tuner->frame_bytes);
  if (tuner->bounce == NULL)
    return sc_fail(message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  receiver->stream =
      SoapySDRDevice_setupStream(receiver->device, SOAPY_SDR_RX, format, NULL, 0, NULL);
  if (receiver->stream == NULL ||
      SoapySDRDevice_activateStream(receiver->device, receiver->stream, 0, 0, 0) != 0)
    return capture_receiver_fail(receiver->name, "gives no stream of samples", message);
  tuner->read_s = capture_now_s();
  tuner->settled_s = tuner->read_s + settle_s;
  return SC_OK;
}

static struct capture_facts facts_of(const struct tuner *tuner)
{
  struct capture_facts facts = {
      .rate_hz = tuner->receiver.rate_hz, .channels = 2, .is_complex = true, .low = -1, .high = 1};
  if (tuner->full_scale > 0) {
    facts.high = (float)((tuner->full_scale - 1) / tuner->full_scale);
    facts.bits = (unsigned)lrint(log2(tuner->full_scale)) + 1;
  }
  (void)snprintf(facts.format, sizeof facts.format, "receiver, %s", tuner->type->name);
  return facts;
}

enum sc_error capture_receiver_open(const struct sc_source_options *options,
                                    struct capture **capture, struct sc_message *message)
{
  struct tuner *tuner = calloc(1, sizeof *tuner);
  if (tuner == NULL)
    return sc_fail(message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  (void)capture_shown(tuner->receiver.name, options->receiver);
  enum sc_error error = make(tuner, options->receiver, message);
  if (error == SC_OK)
    error = set_rate(tuner, options->rate_hz, message);
  if (error == SC_OK)
    error = capture_receiver_apply(&tuner->receiver, &options->tuning, message);
  if (error == SC_OK)
    error = start(tuner, message);
  if (error != SC_OK) {
    close_tuner(tuner);
    return error;
  }
  struct capture_facts facts = facts_of(tuner);
  const struct sc_tuning tuned = tuner->receiver.tuned; /* the tuner is the other thread's then */
  struct sc_device_names antennas = {.count = 0};
  capture_receiver_antennas(tuner->receiver.device, &antennas);
  error = capture_live_open(&driver, tuner, &facts, tuned.tune_hz, tuner->receiver.name, capture,
                            message);
  if (error == SC_OK) {
    (*capture)->tuned = tuned;
    (*capture)->antennas = antennas;
  }
  return error;
}
