/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A sound card for tests, as an external I/O plugin of ALSA. It plays a file of interleaved
 * samples round and round in real time, or faster: frame i of the file belongs to a moment, so a
 * reader that lost something sees by how much. What goes wrong with cards goes wrong on request.
 *
 *   samples "FILE"   format "S16_LE"   channels 2   rates "48000 96000"
 *   speed 1          how much faster than real time
 *   overrun 9600     at this frame of the run the buffer counts as run over, once
 *   stall 100        so many milliseconds the card hangs before it says that it ran over
 *   suspend 9600     the card falls asleep; resuming it works
 *   unplug 9600      the card is gone
 */
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/timerfd.h>
#include <time.h>
#include <unistd.h>

#include <alsa/asoundlib.h>
#include <alsa/pcm_external.h>

enum { RATES_MAX = 16 };

struct bench_card {
  snd_pcm_ioplug_t io;
  snd_pcm_format_t format;
  unsigned channels, rates[RATES_MAX], rate_count;
  double speed;
  long overrun, suspend, unplug; /* frames of a run; negative: never, or done */
  long stall_ms;
  unsigned char *samples;
  size_t frame_bytes, frames;
  double first_s, start_s; /* of the first run, and of this one */
  int starts;
  unsigned long delivered; /* frames of this run */
};

static double now_s(void)
{
  struct timespec time;
  clock_gettime(CLOCK_MONOTONIC, &time);
  return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static double frames_since(const struct bench_card *card, double start_s)
{
  return (now_s() - start_s) * card->io.rate * card->speed;
}

static int start(snd_pcm_ioplug_t *io)
{
  struct bench_card *card = io->private_data;
  card->start_s = now_s();
  if (card->starts++ == 0)
    card->first_s = card->start_s;
  card->delivered = 0;
  long period_ns = lrint(1e9 * (double)io->period_size / (io->rate * card->speed));
  struct itimerspec every = {.it_interval = {period_ns / 1000000000, period_ns % 1000000000}};
  every.it_value = every.it_interval;
  return timerfd_settime(io->poll_fd, 0, &every, NULL) == 0 ? 0 : -errno;
}

static int stop(snd_pcm_ioplug_t *io)
{
  struct itimerspec never = {.it_value = {0, 0}};
  return timerfd_settime(io->poll_fd, 0, &never, NULL) == 0 ? 0 : -errno;
}

static snd_pcm_sframes_t pointer(snd_pcm_ioplug_t *io)
{
  struct bench_card *card = io->private_data;
  if (io->state != SND_PCM_STATE_RUNNING)
    return (snd_pcm_sframes_t)(card->delivered % io->buffer_size);
  double position = frames_since(card, card->start_s);
  if (card->overrun >= 0 && position >= (double)card->overrun) {
    struct timespec stall = {.tv_nsec = card->stall_ms * 1000000};
    card->overrun = -1;
    (void)nanosleep(&stall, NULL);
    return -EPIPE;
  }
  if (position - (double)card->delivered > (double)io->buffer_size)
    return -EPIPE; /* the reader was too slow indeed */
  return (snd_pcm_sframes_t)((unsigned long)position % io->buffer_size);
}

static snd_pcm_sframes_t transfer(snd_pcm_ioplug_t *io, const snd_pcm_channel_area_t *areas,
                                  snd_pcm_uframes_t offset, snd_pcm_uframes_t size)
{
  struct bench_card *card = io->private_data;
  unsigned char *to = (unsigned char *)areas[0].addr + areas[0].first / 8;
  size_t earlier = (size_t)((card->start_s - card->first_s) * io->rate * card->speed);
  to += offset * card->frame_bytes;
  for (snd_pcm_uframes_t i = 0; i < size; i++) {
    size_t frame = (earlier + card->delivered++) % card->frames;
    memcpy(to + i * card->frame_bytes, card->samples + frame * card->frame_bytes,
           card->frame_bytes);
  }
  return (snd_pcm_sframes_t)size;
}

/* Where the card changes its state, as a driver does behind the reader's back. */
static int revents(snd_pcm_ioplug_t *io, struct pollfd *fds, unsigned count, unsigned short *out)
{
  struct bench_card *card = io->private_data;
  unsigned long ticks;
  (void)count;
  *out = 0;
  if (fds[0].revents == 0 || read(io->poll_fd, &ticks, sizeof ticks) < 0)
    return 0;
  double position = frames_since(card, card->start_s);
  *out = POLLIN;
  if (card->unplug >= 0 && position >= (double)card->unplug) {
    (void)snd_pcm_ioplug_set_state(io, SND_PCM_STATE_DISCONNECTED);
    *out = POLLERR;
  } else if (card->suspend >= 0 && position >= (double)card->suspend) {
    card->suspend = -1;
    (void)snd_pcm_ioplug_set_state(io, SND_PCM_STATE_SUSPENDED);
    *out = POLLERR;
  }
  return 0;
}

static int resume(snd_pcm_ioplug_t *io)
{
  (void)io; /* the card cannot: the reader has to start it anew */
  return 0;
}

static int close_card(snd_pcm_ioplug_t *io)
{
  struct bench_card *card = io->private_data;
  if (io->poll_fd >= 0)
    (void)close(io->poll_fd);
  free(card->samples);
  free(card);
  return 0;
}

static const snd_pcm_ioplug_callback_t callbacks = {.start = start,
                                                    .stop = stop,
                                                    .pointer = pointer,
                                                    .transfer = transfer,
                                                    .close = close_card,
                                                    .resume = resume,
                                                    .poll_revents = revents};

/* ---- the configuration */

static int read_samples(struct bench_card *card, const char *path)
{
  FILE *file = fopen(path, "rb");
  if (file == NULL)
    return -errno;
  (void)fseek(file, 0, SEEK_END);
  long bytes = ftell(file);
  rewind(file);
  card->samples = bytes > 0 ? malloc((size_t)bytes) : NULL;
  size_t got = card->samples == NULL ? 0 : fread(card->samples, 1, (size_t)bytes, file);
  (void)fclose(file);
  card->frame_bytes = (size_t)snd_pcm_format_physical_width(card->format) / 8 * card->channels;
  card->frames = got / card->frame_bytes;
  return card->frames > 0 ? 0 : -EINVAL;
}

static void read_rates(struct bench_card *card, const char *text)
{
  char *end;
  for (unsigned long rate; (rate = strtoul(text, &end, 10)) > 0 && card->rate_count < RATES_MAX;
       text = end)
    card->rates[card->rate_count++] = (unsigned)rate;
}

static int read_number(snd_config_t *node, const char *id, struct bench_card *card)
{
  long value;
  if (snd_config_get_integer(node, &value) < 0)
    return -EINVAL;
  if (strcmp(id, "channels") == 0)
    card->channels = (unsigned)value;
  else if (strcmp(id, "speed") == 0)
    card->speed = (double)value;
  else if (strcmp(id, "overrun") == 0)
    card->overrun = value;
  else if (strcmp(id, "stall") == 0 && value < 1000)
    card->stall_ms = value;
  else if (strcmp(id, "suspend") == 0)
    card->suspend = value;
  else if (strcmp(id, "unplug") == 0)
    card->unplug = value;
  else
    return -EINVAL;
  return 0;
}

static int read_key(snd_config_t *node, const char *id, struct bench_card *card,
                    const char **samples)
{
  const char *text;
  if (strcmp(id, "type") == 0 || strcmp(id, "hint") == 0 || strcmp(id, "comment") == 0)
    return 0;
  if (snd_config_get_string(node, &text) < 0)
    return read_number(node, id, card);
  if (strcmp(id, "samples") == 0)
    *samples = text;
  else if (strcmp(id, "format") == 0)
    card->format = snd_pcm_format_value(text);
  else if (strcmp(id, "rates") == 0)
    read_rates(card, text);
  else
    return -EINVAL;
  return 0;
}

static int read_config(struct bench_card *card, snd_config_t *config)
{
  const char *samples = "";
  snd_config_iterator_t place, next;
  snd_config_for_each(place, next, config)
  {
    snd_config_t *node = snd_config_iterator_entry(place);
    const char *id;
    int error = snd_config_get_id(node, &id);
    if (error >= 0)
      error = read_key(node, id, card, &samples);
    if (error < 0)
      return error;
  }
  return read_samples(card, samples);
}

/* What the card can do. */
static int constrain(struct bench_card *card)
{
  snd_pcm_ioplug_t *io = &card->io;
  unsigned access = SND_PCM_ACCESS_RW_INTERLEAVED, format = (unsigned)card->format;
  int error = snd_pcm_ioplug_set_param_list(io, SND_PCM_IOPLUG_HW_ACCESS, 1, &access);
  if (error >= 0)
    error = snd_pcm_ioplug_set_param_list(io, SND_PCM_IOPLUG_HW_FORMAT, 1, &format);
  if (error >= 0)
    error = snd_pcm_ioplug_set_param_list(io, SND_PCM_IOPLUG_HW_CHANNELS, 1, &card->channels);
  if (error >= 0)
    error = snd_pcm_ioplug_set_param_list(io, SND_PCM_IOPLUG_HW_RATE, card->rate_count,
                                          card->rates);
  return error;
}

static int open_card(struct bench_card *card, snd_config_t *config, const char *name,
                     snd_pcm_stream_t stream, int mode)
{
  int error = read_config(card, config);
  if (error < 0)
    return error;
  card->io.version = SND_PCM_IOPLUG_VERSION;
  card->io.name = "a sound card on the test bench";
  card->io.callback = &callbacks;
  card->io.private_data = card;
  card->io.poll_events = POLLIN;
  card->io.poll_fd = timerfd_create(CLOCK_MONOTONIC, TFD_NONBLOCK | TFD_CLOEXEC);
  if (card->io.poll_fd < 0)
    return -errno;
  error = snd_pcm_ioplug_create(&card->io, name, stream, mode);
  if (error < 0)
    (void)close(card->io.poll_fd);
  return error;
}

SND_PCM_PLUGIN_DEFINE_FUNC(bench_card);
SND_PCM_PLUGIN_DEFINE_FUNC(bench_card)
{
  (void)root;
  if (stream != SND_PCM_STREAM_CAPTURE)
    return -EINVAL;
  struct bench_card *card = calloc(1, sizeof *card);
  if (card == NULL)
    return -ENOMEM;
  card->format = SND_PCM_FORMAT_S16_LE;
  card->channels = 2;
  card->speed = 1;
  card->overrun = card->suspend = card->unplug = -1;
  card->io.poll_fd = -1;
  int error = open_card(card, conf, name, stream, mode);
  if (error < 0) {
    free(card->samples);
    free(card);
    return error;
  }
  *pcmp = card->io.pcm;
  error = constrain(card);
  if (error < 0)
    (void)snd_pcm_ioplug_delete(&card->io);
  return error;
}

SND_PCM_PLUGIN_SYMBOL(bench_card);
