/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Sound files through libsndfile. Its own words about damaged headers are taken from its log,
 * since it repairs many of them in silence. */
#include <config.h>

#include <inttypes.h>
#include <math.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "capture/notice.h"
#include "capture/open.h"

enum { CHANNELS_MAX = 64 };

struct sound {
  struct capture base;
  SNDFILE *file;
  SF_INFO info;
};

struct container_name {
  int format;
  const char *name;
};
static const struct container_name container_names[] = {
    {SF_FORMAT_WAV, "WAV"},   {SF_FORMAT_WAVEX, "WAV"}, {SF_FORMAT_RF64, "RF64"},
    {SF_FORMAT_W64, "W64"},   {SF_FORMAT_FLAC, "FLAC"}, {SF_FORMAT_CAF, "CAF"},
    {SF_FORMAT_AIFF, "AIFF"}, {SF_FORMAT_AU, "AU"},     {SF_FORMAT_OGG, "Ogg"},
};

/* How libsndfile's subtypes are stored; what is not listed loses data by design. */
struct coding {
  int subtype;
  unsigned bits; /* 0: floats */
  const char *words;
};
static const struct coding codings[] = {
    {SF_FORMAT_PCM_S8, 8, "8-bit"},
    {SF_FORMAT_PCM_U8, 8, "8-bit unsigned"},
    {SF_FORMAT_PCM_16, 16, "16-bit"},
    {SF_FORMAT_PCM_24, 24, "24-bit"},
    {SF_FORMAT_PCM_32, 32, "32-bit"},
    {SF_FORMAT_FLOAT, 0, "32-bit float"},
    {SF_FORMAT_DOUBLE, 0, "64-bit float"},
    {SF_FORMAT_ALAC_16, 16, "16-bit lossless"},
    {SF_FORMAT_ALAC_20, 20, "20-bit lossless"},
    {SF_FORMAT_ALAC_24, 24, "24-bit lossless"},
    {SF_FORMAT_ALAC_32, 32, "32-bit lossless"},
};

static const struct coding *find_coding(int format)
{
  for (size_t i = 0; i < sizeof codings / sizeof codings[0]; i++)
    if (codings[i].subtype == (format & SF_FORMAT_SUBMASK))
      return &codings[i];
  return NULL;
}

static const char *find_container(int format)
{
  for (size_t i = 0; i < sizeof container_names / sizeof container_names[0]; i++)
    if (container_names[i].format == (format & SF_FORMAT_TYPEMASK))
      return container_names[i].name;
  return "sound file";
}

static void ended_early(struct capture *capture)
{
  capture_notice(&capture->notices,
                 "the header promises %" PRIu64 " frames, the data end after %" PRIu64
                 ": cut short or damaged",
                 capture->facts.frames, capture->position);
  capture->facts.frames = capture->position;
}

static enum sc_error read_frames(struct capture *capture, float *samples, size_t frames,
                                 size_t *got, struct sc_message *message)
{
  struct sound *sound = (struct sound *)capture;
  (void)message;
  *got = 0;
  bool counted = capture->facts.frames > 0;
  if (counted && frames > capture->facts.frames - capture->position)
    frames = (size_t)(capture->facts.frames - capture->position);
  if (frames == 0)
    return SC_OK;
  sf_count_t count = sf_readf_float(sound->file, samples, (sf_count_t)frames);
  *got = count > 0 ? (size_t)count : 0;
  capture->position += *got;
  if (*got < frames && counted && capture->position < capture->facts.frames)
    ended_early(capture);
  return SC_OK;
}

static enum sc_error seek(struct capture *capture, uint64_t frame)
{
  struct sound *sound = (struct sound *)capture;
  if (frame == capture->position)
    return SC_OK;
  if (sf_seek(sound->file, (sf_count_t)frame, SF_SEEK_SET) < 0)
    return SC_READ_FAILED;
  capture->position = frame;
  return SC_OK;
}

static void destroy(struct capture *capture)
{
  struct sound *sound = (struct sound *)capture;
  if (sound->file != NULL)
    (void)sf_close(sound->file);
  free(sound);
}

static const struct capture_driver driver = {read_frames, seek, NULL, destroy, NULL};

/* "NAME : CLAIMED (should be REAL)", a line of the library's log: whether it claims too much. */
static bool claims_too_much(const char *line)
{
  static const char *const sizes[] = {"RIFF", "riff", "Riff size", "FORM", "data", "DATA", "SSND"};
  line += strspn(line, " \t*");
  for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
    size_t length = strlen(sizes[i]);
    uint64_t claimed, real;
    if (strncmp(line, sizes[i], length) == 0 &&
        sscanf(line + length, " : %" SCNu64 " (should be %" SCNu64 ")", &claimed, &real) == 2)
      return claimed > real;
  }
  return false;
}

/* The library mends sizes in silence, except for its log. */
static bool size_repaired(SNDFILE *file)
{
  char log[16384] = "";
  (void)sf_command(file, SFC_GET_LOG_INFO, log, sizeof log);
  for (char *line = log, *next; line != NULL; line = next) {
    next = strchr(line, '\n');
    if (next != NULL)
      *next++ = 0;
    if (claims_too_much(line))
      return true;
  }
  return false;
}

/* Data behind what the header counts: a size field of 32 bits that ran over, mostly. */
static void check_rest(struct sound *sound, uint64_t size)
{
  struct capture *base = &sound->base;
  const struct coding *coding = find_coding(sound->info.format);
  int major = sound->info.format & SF_FORMAT_TYPEMASK;
  if (coding == NULL || strstr(coding->words, "lossless") != NULL || major == SF_FORMAT_FLAC)
    return;
  unsigned bits = coding->subtype == SF_FORMAT_DOUBLE ? 64 : coding->bits == 0 ? 32 : coding->bits;
  uint64_t counted = base->facts.frames * base->facts.channels * (bits / 8);
  uint64_t beside = size > counted ? size - counted : 0;
  if (beside > counted / 100 + (1u << 20))
    capture_notice(&base->notices,
                   "the header counts %" PRIu64 " bytes of samples, the file has %" PRIu64
                   " more: if those are samples too, read the file again with its header mended",
                   counted, beside);
}

static void note_oddities(struct sound *sound, uint64_t size)
{
  struct capture *base = &sound->base;
  if (find_coding(sound->info.format) == NULL)
    capture_notice(&base->notices, "the file is coded with loss: what the code leaves out or adds "
                                   "is measured as if the transmitter had done it");
  if (size_repaired(sound->file))
    capture_notice(&base->notices,
                   "the header's size of the samples does not fit the file: read %" PRIu64
                   " frames, as far as the file goes",
                   base->facts.frames);
  check_rest(sound, size);
}

static void fill_facts(struct sound *sound)
{
  struct capture_facts *facts = &sound->base.facts;
  const SF_INFO *info = &sound->info;
  const struct coding *coding = find_coding(info->format);
  (void)snprintf(facts->format, sizeof facts->format, "%s, %s, %d channel%s",
                 find_container(info->format), coding == NULL ? "coded with loss" : coding->words,
                 info->channels, info->channels == 1 ? "" : "s");
  facts->rate_hz = info->samplerate;
  facts->channels = (unsigned)info->channels;
  facts->bits = coding == NULL ? 0 : coding->bits;
  facts->frames = info->frames > 0 && info->frames < SF_COUNT_MAX ? (uint64_t)info->frames : 0;
  facts->low = -1;
  facts->high = facts->bits == 0 ? 1 : (float)(1 - ldexp(1, 1 - (int)facts->bits));
}

/* Whether a RIFF header says a rate of 0 (fmt chunk, bytes 4 to 7 of its body): libsndfile
 * refuses that without saying why. */
static bool says_no_rate(const unsigned char *head, size_t length)
{
  static const unsigned char zero[4];
  if (length < 12 || (memcmp(head, "RIFF", 4) != 0 && memcmp(head, "RF64", 4) != 0))
    return false;
  for (size_t at = 12; at + 16 <= length; at++)
    if (memcmp(head + at, "fmt ", 4) == 0)
      return memcmp(head + at + 12, zero, sizeof zero) == 0;
  return false;
}

const char *capture_sound_mark(const unsigned char *head, size_t length)
{
  static const char *const marks[] = {"RIFF", "RF64", "fLaC", "FORM", "caff", "riff"};
  for (size_t i = 0; i < sizeof marks / sizeof marks[0]; i++)
    if (length >= 4 && memcmp(head, marks[i], 4) == 0)
      return marks[i];
  return NULL;
}

/* The library's words for what is wrong name the place in the header, and end with a stop. */
static enum sc_error refuse_damaged(const char *shown, const char *mark, int code,
                                    struct sc_message *message)
{
  const char *words = sf_error_number(code);
  size_t length = strlen(words);
  length -= length > 0 && words[length - 1] == '.';
  if (mark == NULL)
    return sc_fail(message, SC_BAD_FORMAT, "%s: the sound file cannot be read: %.*s", shown,
                   (int)length, words);
  return sc_fail(
      message, SC_BAD_FORMAT,
      "%s: begins like a sound file (%s), but its header is damaged or cut short (%.*s): "
      "mend it, or cut it off and read the samples with --type and --rate",
      shown, mark, (int)length, words);
}

static enum sc_error refuse(const char *path, const char *mark, bool no_rate,
                            struct sc_message *message)
{
  char shown[CAPTURE_SHOWN_LENGTH];
  int code = sf_error(NULL);
  (void)capture_input_shown(shown, path);
  if (no_rate)
    return sc_fail(message, SC_BAD_FORMAT,
                   "%s: its header says a sample rate of 0: mend the header, or cut it off and "
                   "read the samples with --type and --rate",
                   shown);
  if (mark == NULL && code == SF_ERR_UNRECOGNISED_FORMAT)
    return sc_fail(message, SC_BAD_FORMAT,
                   "%s: is neither a sound file nor a SigMF recording: for raw samples add "
                   "--type TYPE --rate HZ, for example --type cu8 --rate 2400000",
                   shown);
  return refuse_damaged(shown, mark, code, message);
}

static enum sc_error check(struct sound *sound, struct sc_message *message)
{
  const char *name = sound->base.name;
  if ((sound->info.format & SF_FORMAT_TYPEMASK) == SF_FORMAT_MPEG)
    return sc_fail(message, SC_BAD_FORMAT,
                   "%s: looks like MPEG audio, whose coding hides what is to be measured: record "
                   "WAV or FLAC; for raw samples add --type TYPE --rate HZ",
                   name);
  if (sound->info.channels < 1 || sound->info.channels > CHANNELS_MAX)
    return sc_fail(message, SC_BAD_FORMAT, "%s: says %d channels: 1 to %d can be read", name,
                   sound->info.channels, CHANNELS_MAX);
  if (sound->info.frames == 0 && (sound->info.format & SF_FORMAT_TYPEMASK) != SF_FORMAT_FLAC)
    return sc_fail(message, SC_BAD_FORMAT, "%s: holds no sample", name);
  return SC_OK;
}

static enum sc_error open_sound(struct sound *sound, const char *path, struct sc_message *message)
{
  int descriptor = -1;
  uint64_t start = 0, size = 0;
  enum sc_error error = capture_open_input(path, &descriptor, &start, &size, message);
  if (error != SC_OK)
    return error;
  capture_note_file(&sound->base, NULL, descriptor);
  unsigned char head[512];
  ssize_t got = pread(descriptor, head, sizeof head, (off_t)start);
  bool no_rate = got > 0 && says_no_rate(head, (size_t)got);
  /* It closes the descriptor, also on failure, whatever its last argument says. */
  sound->file = sf_open_fd(descriptor, SFM_READ, &sound->info, SF_TRUE);
  if (size == 0)
    return sc_fail(message, SC_BAD_FORMAT, "%s: the file is empty", sound->base.name);
  if (sound->file == NULL)
    return refuse(path, capture_sound_mark(head, got > 0 ? (size_t)got : 0), no_rate, message);
  error = check(sound, message);
  if (error != SC_OK)
    return error;
  fill_facts(sound);
  note_oddities(sound, size);
  return SC_OK;
}

enum sc_error capture_soundfile_open(const struct sc_source_options *options,
                                     struct capture **capture, struct sc_message *message)
{
  struct sound *sound = calloc(1, sizeof *sound);
  struct capture_segment *segment = calloc(1, sizeof *segment);
  if (sound == NULL || segment == NULL) {
    free(sound);
    free(segment);
    return sc_fail(message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  }
  sound->base = (struct capture){.driver = &driver, .segments = segment, .segment_count = 1};
  capture_name(&sound->base, options->path);
  enum sc_error error = open_sound(sound, options->path, message);
  if (error != SC_OK) {
    capture_close(&sound->base);
    return error;
  }
  *capture = &sound->base;
  return SC_OK;
}
