/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The library is asked for the card's own rate and format: a conversion on the way would put
 * its own filter into what is measured. Its own messages go nowhere; ours name the device. */
#include <config.h>

#include "capture/sound.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "capture/live.h"
#include "capture/notice.h"
#include "capture/sound_card.h"
#include "capture/sound_format.h"

/* Short periods keep the delay small, a long buffer bridges a busy machine. */
static const unsigned period_us = 10000, buffer_us = 500000;

struct sound {
  struct capture_sound_card card;
  char name[CAPTURE_SHOWN_LENGTH];
  double rate_hz;
  unsigned channels;
  size_t frame_bytes, bounce_frames;
  unsigned char *bounce;
  double read_s;      /* monotonic time of the last read, or of the start */
  uint64_t left;      /* frames that the card held then */
  enum capture_loss loss; /* being mended, or just mended */
  bool mending;
};

/* ---- samples */

static enum sc_error gone(const struct sound *sound, int error, struct sc_message *message)
{
  return sc_fail(message, SC_READ_FAILED, "%s: the sound card is gone, or no longer answers: %s",
                 sound->name, snd_strerror(error));
}

/* An orderly start after something went wrong. */
static int restart(struct sound *sound)
{
  int error = snd_pcm_prepare(sound->card.pcm);
  return error < 0 ? error : snd_pcm_start(sound->card.pcm);
}

/* A suspended card is tried again at each call until it wakes; one that cannot resume by itself
 * is started anew. */
static enum sc_error mend(struct sound *sound, struct sc_message *message)
{
  int error = sound->loss == CAPTURE_LOSS_SUSPEND ? snd_pcm_resume(sound->card.pcm) : -ENOSYS;
  if (error == -EAGAIN) {
    struct timespec pause = {.tv_nsec = CAPTURE_LIVE_WAIT_MS * 1000000L};
    (void)nanosleep(&pause, NULL);
    return SC_OK;
  }
  if (error < 0 || snd_pcm_state(sound->card.pcm) != SND_PCM_STATE_RUNNING)
    error = restart(sound);
  if (error < 0)
    return gone(sound, error, message);
  sound->mending = false;
  return SC_OK;
}

static enum sc_error stumble(struct sound *sound, int error, struct sc_message *message)
{
  if (error == -EAGAIN || error == -EINTR)
    return SC_OK;
  if (error != -EPIPE && error != -ESTRPIPE)
    return gone(sound, error, message);
  sound->loss = error == -EPIPE ? CAPTURE_LOSS_OVERRUN : CAPTURE_LOSS_SUSPEND;
  sound->mending = true;
  return mend(sound, message);
}

/* What the time since the last read was worth, less what has come by now. */
static void state_loss(struct sound *sound, struct capture_taken *taken, double at_s,
                       uint64_t held)
{
  if (sound->loss == CAPTURE_LOSS_NONE)
    return;
  double frames = (at_s - sound->read_s) * sound->rate_hz + (double)sound->left - (double)held;
  taken->loss = sound->loss;
  taken->lost = frames > 0 ? (uint64_t)frames : 0;
  sound->loss = CAPTURE_LOSS_NONE;
}

static uint64_t frames_held(const struct sound *sound)
{
  snd_pcm_sframes_t held = snd_pcm_avail_update(sound->card.pcm);
  return held > 0 ? (uint64_t)held : 0;
}

static enum sc_error take(void *device, float *samples, size_t frames,
                          struct capture_taken *taken, struct sc_message *message)
{
  struct sound *sound = device;
  if (sound->mending)
    return mend(sound, message);
  int ready = snd_pcm_wait(sound->card.pcm, CAPTURE_LIVE_WAIT_MS);
  if (ready <= 0)
    return ready == 0 ? SC_OK : stumble(sound, ready, message);
  size_t wanted = frames < sound->bounce_frames ? frames : sound->bounce_frames;
  snd_pcm_sframes_t got = snd_pcm_readi(sound->card.pcm, sound->bounce, wanted);
  if (got < 0)
    return stumble(sound, (int)got, message);
  if (got == 0) /* no card does that; the library's file plugin at the end of its file */
    return sc_fail(message, SC_READ_FAILED, "%s: gives no more samples", sound->name);
  uint64_t held = frames_held(sound);
  double at_s = capture_now_s();
  taken->frames = (size_t)got;
  state_loss(sound, taken, at_s, held + (uint64_t)got);
  sound->read_s = at_s;
  sound->left = held;
  sound->card.format->decode(sound->bounce, samples, taken->frames * sound->channels);
  return SC_OK;
}

static void close_sound(void *device)
{
  struct sound *sound = device;
  capture_sound_card_close(&sound->card);
  free(sound->bounce);
  free(sound);
}

static const struct capture_device driver = {take, close_sound};

/* ---- opening */

static enum sc_error refuse(const struct sound *sound, const char *what,
                            struct sc_message *message)
{
  return sc_fail(message, SC_BAD_ARGUMENT, "%s: %s; 'sidecomb devices' says what it can do",
                 sound->name, what);
}

static enum sc_error choose_rate(struct sound *sound, snd_pcm_hw_params_t *params,
                                 double asked_hz, struct sc_message *message)
{
  char what[80];
  double rate_hz = asked_hz > 0 ? asked_hz : capture_sound_card_rate(&sound->card, params);
  (void)snprintf(what, sizeof what, "does not do %.10g samples a second", rate_hz);
  if (rate_hz != rint(rate_hz) || rate_hz < 1 || rate_hz > 1e6 ||
      snd_pcm_hw_params_set_rate(sound->card.pcm, params, (unsigned)rate_hz, 0) < 0)
    return refuse(sound, what, message);
  sound->rate_hz = rate_hz;
  return SC_OK;
}

static enum sc_error choose_format(struct sound *sound, snd_pcm_hw_params_t *params,
                                   enum sc_sound_format asked, struct sc_message *message)
{
  sound->card.format = capture_sound_card_format(&sound->card, params, asked);
  if (sound->card.format == NULL)
    return refuse(sound, "does not offer that sample format", message);
  return SC_OK;
}

static enum sc_error choose_channels(struct sound *sound, snd_pcm_hw_params_t *params,
                                     unsigned asked, struct sc_message *message)
{
  char what[80];
  unsigned channels = asked > 0 ? asked : capture_sound_card_channels(params);
  (void)snprintf(what, sizeof what, "does not have %u channels", channels);
  if (snd_pcm_hw_params_set_channels(sound->card.pcm, params, channels) < 0)
    return refuse(sound, what, message);
  sound->channels = channels;
  return SC_OK;
}

static int settle(struct sound *sound, snd_pcm_hw_params_t *params)
{
  snd_pcm_t *pcm = sound->card.pcm;
  unsigned buffer = buffer_us, period = period_us;
  int error = snd_pcm_hw_params_set_buffer_time_near(pcm, params, &buffer, NULL);
  if (error >= 0)
    error = snd_pcm_hw_params_set_period_time_near(pcm, params, &period, NULL);
  if (error >= 0)
    error = snd_pcm_hw_params(pcm, params);
  if (error < 0)
    return error;
  sound->card.bits = capture_sound_card_bits(&sound->card, params);
  return snd_pcm_start(pcm);
}

static enum sc_error configure(struct sound *sound, const struct sc_source_options *options,
                               struct sc_message *message)
{
  snd_pcm_hw_params_t *params;
  if (snd_pcm_hw_params_malloc(&params) < 0)
    return sc_fail(message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  enum sc_error error = SC_OK;
  int failure = capture_sound_card_ask(&sound->card, params);
  if (failure >= 0) {
    error = choose_format(sound, params, options->sound_format, message);
    if (error == SC_OK)
      error = choose_channels(sound, params, options->sound_channels, message);
    if (error == SC_OK)
      error = choose_rate(sound, params, options->rate_hz, message);
    if (error == SC_OK)
      failure = settle(sound, params);
  }
  snd_pcm_hw_params_free(params);
  if (error == SC_OK && failure < 0)
    return sc_fail(message, SC_CANNOT_OPEN, "%s: cannot be set up: %s", sound->name,
                   snd_strerror(failure));
  return error;
}

/* The value of a sample at the upper end of the range, of so many significant bits. */
static float highest(unsigned bits)
{
  return bits == 0 ? 1 : (float)(1 - ldexp(1, 1 - (int)bits));
}

static struct capture_facts facts_of(const struct sound *sound)
{
  struct capture_facts facts = {.rate_hz = sound->rate_hz,
                                .channels = sound->channels,
                                .bits = sound->card.bits,
                                .low = -1,
                                .high = highest(sound->card.bits)};
  (void)snprintf(facts.format, sizeof facts.format, "sound card, %s, %u channel%s",
                 sound->card.format->name, sound->channels, sound->channels == 1 ? "" : "s");
  return facts;
}

static enum sc_error make_bounce(struct sound *sound, struct sc_message *message)
{
  double frames = sound->rate_hz * buffer_us * 1e-6;
  sound->bounce_frames = frames < 1 ? 1 : (size_t)frames;
  sound->frame_bytes = (size_t)sound->channels * sound->card.format->bytes;
  sound->bounce = malloc(sound->bounce_frames * sound->frame_bytes);
  sound->read_s = capture_now_s();
  return sound->bounce != NULL ? SC_OK
                               : sc_fail(message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
}

enum sc_error capture_sound_open(const struct sc_source_options *options, struct capture **capture,
                                 struct sc_message *message)
{
  struct sound *sound = calloc(1, sizeof *sound);
  if (sound == NULL)
    return sc_fail(message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  (void)capture_shown(sound->name, options->sound);
  int failure = capture_sound_card_open(&sound->card, options->sound);
  enum sc_error error = SC_OK;
  if (failure < 0)
    error = sc_fail(message, SC_CANNOT_OPEN,
                    "%s: the sound card cannot be opened: %s; 'sidecomb devices' lists those that "
                    "are there",
                    sound->name, snd_strerror(failure));
  if (error == SC_OK)
    error = configure(sound, options, message);
  if (error == SC_OK)
    error = make_bounce(sound, message);
  if (error != SC_OK) {
    close_sound(sound);
    return error;
  }
  struct capture_facts facts = facts_of(sound);
  return capture_live_open(&driver, sound, &facts, 0, sound->name, capture, message);
}
