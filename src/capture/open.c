/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Decides which container reads a path, and holds what all of them need. */
#include <config.h>

#include "capture/open.h"

#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <math.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "capture/notice.h"
#include "capture/raw.h"
#include "capture/receiver.h"
#include "capture/sound.h"
#include "common/text.h"

static const char standard_name[] = "standard input";

static bool is_standard(const char *path)
{
  return strcmp(path, "-") == 0;
}

const char *capture_input_shown(char *out, const char *path)
{
  return capture_shown(out, is_standard(path) ? standard_name : path);
}

void capture_name(struct capture *capture, const char *path)
{
  path = is_standard(path) ? standard_name : path;
  const char *slash = strrchr(path, '/');
  const char *name = slash == NULL ? path : slash + 1;
  (void)common_clean(capture->name, sizeof capture->name, name, strlen(name));
}

static enum sc_error cannot_open(const char *path, int reason, struct sc_message *message)
{
  char shown[CAPTURE_SHOWN_LENGTH];
  return sc_fail(message, SC_CANNOT_OPEN, "%s: cannot be opened: %s", capture_shown(shown, path),
                 strerror(reason));
}

static int open_descriptor(const char *path, int access)
{
  int descriptor;
  do
    descriptor = open(path, access | O_CLOEXEC | O_NOCTTY);
  while (descriptor < 0 && errno == EINTR);
  return descriptor;
}

enum sc_error capture_open_file(const char *path, int *descriptor, uint64_t *size,
                                struct sc_message *message)
{
  char shown[CAPTURE_SHOWN_LENGTH];
  struct stat status;
  /* Asked before opening: a FIFO without a writer would block. */
  if (stat(path, &status) != 0)
    return cannot_open(path, errno, message);
  if (!S_ISREG(status.st_mode))
    return sc_fail(message, SC_CANNOT_OPEN, "%s: is %s, not a file", capture_shown(shown, path),
                   S_ISDIR(status.st_mode) ? "a directory" : "a pipe or a device");
  *descriptor = open_descriptor(path, O_RDONLY);
  if (*descriptor < 0)
    return cannot_open(path, errno, message);
  if (fstat(*descriptor, &status) != 0) {
    enum sc_error error = cannot_open(path, errno, message);
    (void)close(*descriptor);
    *descriptor = -1;
    return error;
  }
  *size = (uint64_t)status.st_size;
  return SC_OK;
}

enum sc_error capture_open_input(const char *path, int *descriptor, uint64_t *start, uint64_t *size,
                                 struct sc_message *message)
{
  struct stat status;
  *start = 0;
  if (!is_standard(path))
    return capture_open_file(path, descriptor, size, message);
  *descriptor = fcntl(STDIN_FILENO, F_DUPFD_CLOEXEC, STDERR_FILENO + 1);
  const off_t at = *descriptor < 0 ? -1 : lseek(*descriptor, 0, SEEK_CUR);
  if (at < 0 || fstat(*descriptor, &status) != 0) {
    enum sc_error error = cannot_open(standard_name, errno, message);
    if (*descriptor >= 0)
      (void)close(*descriptor);
    *descriptor = -1;
    return error;
  }
  *start = (uint64_t)at;
  *size = status.st_size > at ? (uint64_t)(status.st_size - at) : 0;
  return SC_OK;
}

/* False on failure, with errno set. Fewer bytes than `size` come when the file shrinks. */
static bool read_up_to(int descriptor, char *bytes, size_t size, size_t *filled)
{
  *filled = 0;
  while (*filled < size) {
    ssize_t got = read(descriptor, bytes + *filled, size - *filled);
    if (got < 0 && errno != EINTR)
      return false;
    if (got == 0)
      break;
    *filled += got > 0 ? (size_t)got : 0;
  }
  return true;
}

enum sc_error capture_read_whole(const char *path, size_t most, char **text, size_t *length,
                                 struct sc_message *message)
{
  char shown[CAPTURE_SHOWN_LENGTH];
  int descriptor = -1;
  uint64_t size = 0;
  enum sc_error error = capture_open_file(path, &descriptor, &size, message);
  if (error != SC_OK)
    return error;
  (void)capture_shown(shown, path);
  char *bytes = size <= most ? malloc((size_t)size + 1) : NULL;
  if (size > most)
    error = sc_fail(message, SC_BAD_FORMAT, "%s: %" PRIu64 " bytes of text: at most %zu are read",
                    shown, size, most);
  else if (bytes == NULL)
    error = sc_fail(message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  else if (!read_up_to(descriptor, bytes, (size_t)size, length))
    error = sc_fail(message, SC_READ_FAILED, "%s: reading failed: %s", shown, strerror(errno));
  (void)close(descriptor);
  if (error != SC_OK) {
    free(bytes);
    return error;
  }
  bytes[*length] = 0;
  *text = bytes;
  return SC_OK;
}

/* The two things that raw samples cannot say of themselves. */
static enum sc_error raw_type(const struct sc_source_options *options,
                              const struct capture_type **type, struct sc_message *message)
{
  char shown[CAPTURE_SHOWN_LENGTH];
  *type = capture_type_find(options->type);
  if (*type == NULL)
    return capture_type_refuse("--type", options->type, message);
  if (!isfinite(options->rate_hz) || options->rate_hz <= 0)
    return sc_fail(message, SC_BAD_ARGUMENT,
                   "%s: raw samples do not say their rate: add --rate HZ, for example "
                   "--rate 2400000",
                   capture_input_shown(shown, options->path));
  return SC_OK;
}

/* A sound file read as raw samples would yield its header as noise and the wrong type. */
static enum sc_error refuse_sound(const char *path, struct sc_message *message)
{
  unsigned char head[4];
  int descriptor = -1;
  uint64_t start, size;
  enum sc_error error = capture_open_input(path, &descriptor, &start, &size, message);
  if (error != SC_OK)
    return error;
  ssize_t got = pread(descriptor, head, sizeof head, (off_t)start);
  (void)close(descriptor);
  const char *mark = capture_sound_mark(head, got > 0 ? (size_t)got : 0);
  char shown[CAPTURE_SHOWN_LENGTH];
  if (mark == NULL)
    return SC_OK;
  return sc_fail(message, SC_BAD_ARGUMENT,
                 "%s: is a sound file (it begins with %s): leave --type out",
                 capture_input_shown(shown, path), mark);
}

static enum sc_error open_raw(const struct sc_source_options *options, struct capture **capture,
                              struct sc_message *message)
{
  struct capture_raw_layout layout = {.path = options->path, .channels = 1};
  enum sc_error error = raw_type(options, &layout.type, message);
  if (error == SC_OK)
    error = refuse_sound(options->path, message);
  if (error != SC_OK)
    return error;
  layout.rate_hz = options->rate_hz;
  layout.follow = options->follow;
  layout.newest = options->newest;
  return capture_raw_open(&layout, capture, message);
}

/* Nothing will come of it; what may still come is not waited for. */
static bool is_empty(int descriptor)
{
  struct pollfd ready = {.fd = descriptor, .events = POLLIN};
  char byte;
  return poll(&ready, 1, 0) == 1 && read(descriptor, &byte, 1) == 0;
}

static enum sc_error open_stream(const struct sc_source_options *options, struct capture **capture,
                                 struct sc_message *message)
{
  char shown[CAPTURE_SHOWN_LENGTH];
  bool standard = is_standard(options->path);
  const char *name = capture_input_shown(shown, options->path);
  if (options->type == NULL && standard && !isatty(STDIN_FILENO) && is_empty(STDIN_FILENO))
    return sc_fail(message, SC_BAD_FORMAT, "%s: is empty: pipe samples into it", name);
  if (options->type == NULL)
    return sc_fail(
        message, SC_BAD_ARGUMENT,
        "%s: a stream does not say what it holds: add --type TYPE --rate HZ, or give a sound "
        "file by its name",
        name);
  const struct capture_type *type;
  enum sc_error error = raw_type(options, &type, message);
  if (error != SC_OK)
    return error;
  if (standard && isatty(STDIN_FILENO))
    return sc_fail(message, SC_CANNOT_OPEN,
                   "standard input is the terminal: pipe samples into it, or name a file");
  bool follow = options->follow && !standard;
  int descriptor =
      standard ? STDIN_FILENO : open_descriptor(options->path, follow ? O_RDWR : O_RDONLY);
  if (descriptor < 0)
    return cannot_open(options->path, errno, message);
  error = capture_pipe_open(descriptor, standard ? name : options->path, type, options->rate_hz,
                            capture, message);
  if (error == SC_OK && follow)
    error = capture_pipe_follow(*capture, options->path, message);
  if (error != SC_OK && *capture != NULL) {
    capture_close(*capture);
    *capture = NULL;
  }
  return error;
}

/* A device takes the place of a file. */
static enum sc_error check_device(const struct sc_source_options *options,
                                  struct sc_message *message)
{
  if (options->path != NULL || (options->sound != NULL && options->receiver != NULL))
    return sc_fail(message, SC_BAD_ARGUMENT,
                   "--sound or --receiver takes the place of a capture: name one");
  if (options->type != NULL)
    return sc_fail(message, SC_BAD_ARGUMENT,
                   options->sound != NULL
                       ? "--type is of files and pipes; of a sound card choose the --sound-format"
                       : "--type is of files and pipes; a receiver has a format of its own");
  if (options->receiver != NULL && options->centre_hz != 0) /* exact: not given */
    return sc_fail(message, SC_BAD_ARGUMENT, "--centre is of files; --tune tunes the receiver");
  return SC_OK;
}

static enum sc_error open_device(const struct sc_source_options *options, struct capture **capture,
                                 struct sc_message *message)
{
  enum sc_error error = check_device(options, message);
  if (error != SC_OK)
    return error;
  return options->sound != NULL ? capture_sound_open(options, capture, message)
                                : capture_receiver_open(options, capture, message);
}

static enum sc_error refuse_follow(const char *path, struct sc_message *message)
{
  char shown[CAPTURE_SHOWN_LENGTH];
  return sc_fail(message, SC_BAD_ARGUMENT,
                 "%s: --follow is for SigMF and raw samples (--type, --rate): the length of "
                 "a sound file stands in its header",
                 capture_shown(shown, path));
}

/* A file, from where it stands: what is known of it, and seeking in it, is as by its name. */
static enum sc_error open_standard(const struct sc_source_options *options,
                                   struct capture **capture, struct sc_message *message)
{
  struct stat status;
  if (fstat(STDIN_FILENO, &status) != 0 || !S_ISREG(status.st_mode))
    return open_stream(options, capture, message);
  if (options->follow)
    return sc_fail(message, SC_BAD_ARGUMENT,
                   "standard input is a file: to --follow it, give its name");
  return options->type != NULL ? open_raw(options, capture, message)
                               : capture_soundfile_open(options, capture, message);
}

static enum sc_error open_any(const struct sc_source_options *options, struct capture **capture,
                              struct sc_message *message)
{
  if (options->sound != NULL || options->receiver != NULL)
    return open_device(options, capture, message);
  if (is_standard(options->path))
    return open_standard(options, capture, message);
  struct stat status;
  bool found = stat(options->path, &status) == 0;
  int reason = errno;
  bool is_data = options->type != NULL && capture_sigmf_data(options->path);
  if (!is_data && capture_sigmf_named(options->path))
    return capture_sigmf_open(options, capture, message);
  if (!found)
    return cannot_open(options->path, reason, message);
  if (!S_ISREG(status.st_mode) && !S_ISDIR(status.st_mode))
    return open_stream(options, capture, message);
  if (options->type != NULL)
    return open_raw(options, capture, message);
  if (options->follow)
    return refuse_follow(options->path, message);
  return capture_soundfile_open(options, capture, message);
}

/* As long as a program before a pipe may take to begin without a word of it. */
static const int patience_ms = 2000;

/* A pipe that has a name cannot be tried without disturbing its writer. */
bool sc_source_waits(const struct sc_source_options *options)
{
  struct stat status;
  if (options->path == NULL || options->type == NULL)
    return false;
  if (options->follow && options->as != SC_KIND_UNDECIDED)
    return false; /* it has a writer, ourselves, and needs no samples */
  if (!is_standard(options->path))
    return stat(options->path, &status) == 0 && S_ISFIFO(status.st_mode);
  return fstat(STDIN_FILENO, &status) == 0 && S_ISFIFO(status.st_mode) &&
         !capture_wait(STDIN_FILENO, patience_ms);
}

/* A rate that the user gives wins over the container's, and is said so. */
static enum sc_error settle_rate(struct capture *capture, double asked_hz,
                                 struct sc_message *message)
{
  struct capture_facts *facts = &capture->facts;
  if (facts->live && facts->rate_hz > 0)
    asked_hz = facts->rate_hz; /* a device says what it really does; a pipe was told */
  if (asked_hz > 0 && facts->rate_hz > 0 && asked_hz != facts->rate_hz) {
    capture_notice(&capture->notices,
                   "the file says %.10g samples a second, --rate says %.10g: "
                   "--rate holds",
                   facts->rate_hz, asked_hz);
    facts->said_rate_hz = facts->rate_hz;
  }
  if (asked_hz > 0)
    facts->rate_hz = asked_hz;
  if (!isfinite(facts->rate_hz) || facts->rate_hz <= 0)
    return sc_fail(message, SC_BAD_FORMAT, "%s: says no usable sample rate: add --rate HZ",
                   capture->name);
  return SC_OK;
}

enum sc_error capture_open(const struct sc_source_options *options, struct capture **capture,
                           struct sc_message *message)
{
  *capture = NULL;
  bool named = options->sound != NULL || options->receiver != NULL ||
               (options->path != NULL && options->path[0] != 0);
  if (!named)
    return sc_fail(message, SC_BAD_ARGUMENT,
                   "no capture is named: give a file, or - for "
                   "standard input");
  if (isnan(options->rate_hz) || options->rate_hz < 0 || isinf(options->rate_hz))
    return sc_fail(message, SC_BAD_ARGUMENT,
                   "--rate %g: a rate is a number of samples a second "
                   "above 0",
                   options->rate_hz);
  enum sc_error error = open_any(options, capture, message);
  if (error != SC_OK)
    return error;
  error = settle_rate(*capture, options->rate_hz, message);
  if (error != SC_OK) {
    capture_close(*capture);
    *capture = NULL;
  }
  return error;
}

enum sc_error capture_read(struct capture *capture, float *samples, size_t frames, size_t *got,
                           struct sc_message *message)
{
  return capture->driver->read(capture, samples, frames, got, message);
}

bool capture_ready(struct capture *capture)
{
  return capture->driver->ready == NULL || capture->driver->ready(capture);
}

enum sc_error capture_seek(struct capture *capture, uint64_t frame)
{
  if (capture->driver->seek == NULL)
    return SC_UNSUPPORTED;
  return capture->driver->seek(capture, frame);
}

void capture_note_file(struct capture *capture, const char *path, int descriptor)
{
  struct stat status;
  const size_t most = sizeof capture->files / sizeof capture->files[0];
  const int failed = path != NULL ? stat(path, &status) : fstat(descriptor, &status);
  if (failed == 0 && capture->file_count < most)
    capture->files[capture->file_count++] = (struct capture_file){status.st_dev, status.st_ino};
}

bool capture_reads(const struct capture *capture, const struct stat *status)
{
  for (size_t i = 0; i < capture->file_count; i++)
    if (capture->files[i].device == status->st_dev && capture->files[i].inode == status->st_ino)
      return true;
  return false;
}

size_t capture_segment_at(const struct capture *capture, uint64_t frame)
{
  size_t low = 0, high = capture->segment_count;
  while (high - low > 1) {
    size_t middle = low + (high - low) / 2;
    if (capture->segments[middle].first <= frame)
      low = middle;
    else
      high = middle;
  }
  return low;
}

void capture_close(struct capture *capture)
{
  if (capture == NULL)
    return;
  free(capture->segments);
  free(capture->annotations);
  free(capture->tunings);
  capture->driver->destroy(capture);
}
