/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* SigMF recordings: finds the two halves, reads the metadata, and lets the raw reader read
 * the samples. */
#include <config.h>

#include "capture/sigmf.h"

#include <errno.h>
#include <inttypes.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "capture/notice.h"
#include "capture/open.h"
#include "capture/raw.h"

/* Larger metadata would be larger than any hand or program has reason to write. */
enum { META_BYTES_MAX = 16 << 20 };

static const char meta_suffix[] = ".sigmf-meta";
static const char data_suffix[] = ".sigmf-data";

static bool ends_with(const char *text, const char *end)
{
  size_t length = strlen(text), tail = strlen(end);
  return length > tail && strcmp(text + length - tail, end) == 0;
}

static bool is_file(const char *path)
{
  struct stat status;
  return stat(path, &status) == 0 && S_ISREG(status.st_mode);
}

/* `path` without the suffix of either half, and with `suffix`. */
static bool half(char *out, size_t size, const char *path, const char *suffix)
{
  size_t length = strlen(path);
  if (ends_with(path, meta_suffix))
    length -= strlen(meta_suffix);
  else if (ends_with(path, data_suffix))
    length -= strlen(data_suffix);
  int written = snprintf(out, size, "%.*s%s", (int)length, path, suffix);
  return written > 0 && (size_t)written < size;
}

bool capture_sigmf_named(const char *path)
{
  char meta[PATH_MAX];
  if (ends_with(path, meta_suffix) || ends_with(path, data_suffix) || ends_with(path, ".sigmf") ||
      ends_with(path, ".sigmf-collection"))
    return true;
  return !is_file(path) && half(meta, sizeof meta, path, meta_suffix) && is_file(meta);
}

bool capture_sigmf_data(const char *path)
{
  return ends_with(path, data_suffix);
}

/* The half that is there and the one that is not, and what can be done. */
static enum sc_error refuse_lone(const char *path, const char *other, bool is_data,
                                 struct sc_message *message)
{
  char shown[CAPTURE_SHOWN_LENGTH], lacking[CAPTURE_SHOWN_LENGTH];
  (void)capture_shown(shown, path);
  (void)capture_shown(lacking, other);
  if (is_data)
    return sc_fail(message, SC_CANNOT_OPEN,
                   "%s: its metadata, %s, are not there: to read the samples alone add --type TYPE "
                   "--rate HZ",
                   shown, lacking);
  return sc_fail(message, SC_CANNOT_OPEN,
                 "%s: its samples, %s, are not there: put both files into one folder", shown,
                 lacking);
}

static bool is_lacking(const char *path)
{
  struct stat status;
  return stat(path, &status) != 0 && errno == ENOENT;
}

static enum sc_error load(const char *meta_path, struct capture_sigmf *sigmf,
                          struct sc_message *message)
{
  char shown[CAPTURE_SHOWN_LENGTH];
  char *text = NULL;
  size_t length = 0;
  enum sc_error error = capture_read_whole(meta_path, META_BYTES_MAX, &text, &length, message);
  if (error != SC_OK)
    return error;
  error = capture_sigmf_parse(text, length, capture_shown(shown, meta_path), sigmf, message);
  free(text);
  return error;
}

/* Where the samples are: beside the metadata, under SigMF's name or the one it names. */
static bool data_path(const char *path, const struct capture_sigmf *sigmf, char *out, size_t size)
{
  if (sigmf->dataset[0] == 0)
    return half(out, size, path, data_suffix);
  const char *slash = strrchr(path, '/');
  int folder = slash == NULL ? 0 : (int)(slash - path) + 1;
  int written = snprintf(out, size, "%.*s%s", folder, path, sigmf->dataset);
  return written > 0 && (size_t)written < size;
}

static enum sc_error check_options(const struct sc_source_options *options,
                                   const struct capture_sigmf *sigmf, struct sc_message *message)
{
  char shown[CAPTURE_SHOWN_LENGTH];
  (void)capture_shown(shown, options->path);
  if (sigmf->metadata_only)
    return sc_fail(message, SC_BAD_FORMAT, "%s: is metadata only, without samples", shown);
  if (options->type != NULL && strcmp(options->type, sigmf->type->name) != 0)
    return sc_fail(message, SC_BAD_ARGUMENT,
                   "%s: the metadata says %s, --type says %.40s: leave --type out, or name the "
                   "data file itself to read it as raw samples",
                   shown, sigmf->type->name, options->type);
  return SC_OK;
}

/* A recording whose archive or collection is named instead of itself. */
static enum sc_error refuse_bundle(const char *path, struct sc_message *message)
{
  char shown[CAPTURE_SHOWN_LENGTH];
  (void)capture_shown(shown, path);
  if (ends_with(path, ".sigmf"))
    return sc_fail(message, SC_BAD_FORMAT,
                   "%s: is a SigMF archive: unpack it with tar, then name "
                   "the .sigmf-meta file in it",
                   shown);
  if (ends_with(path, ".sigmf-collection"))
    return sc_fail(message, SC_BAD_FORMAT, "%s: is a SigMF collection: name one of its recordings",
                   shown);
  return SC_OK;
}

/* Levels before and behind a change are not comparable. */
static void tell_changes(struct capture *capture, const struct capture_sigmf *sigmf)
{
  size_t changes = 0;
  for (size_t i = 1; i < capture->segment_count; i++)
    changes += capture->segments[i].tuning != capture->segments[i - 1].tuning;
  if (changes > 0)
    capture_notice(&capture->notices,
                   "the receiver's settings (gain, antenna, bandwidth, correction) change %zu "
                   "time%s in this recording; those of its beginning are shown",
                   changes, changes == 1 ? "" : "s");
  if (sigmf->tunings_dropped > 0)
    capture_notice(&capture->notices,
                   "%zu settings of the receiver are left out: unusable, or of more than %d "
                   "capture segments",
                   sigmf->tunings_dropped, CAPTURE_TUNINGS_MAX);
}

static void describe(struct capture *capture, struct capture_sigmf *sigmf)
{
  struct capture_facts *facts = &capture->facts;
  (void)snprintf(facts->format, sizeof facts->format, "SigMF, %s", sigmf->type->name);
  capture->annotations = sigmf->annotations;
  capture->annotation_count = sigmf->annotation_count;
  capture->tunings = sigmf->tunings;
  tell_changes(capture, sigmf);
  if (sigmf->annotations_dropped > 0)
    capture_notice(&capture->notices, "%zu annotations are left out: unusable, or more than %d",
                   sigmf->annotations_dropped, CAPTURE_ANNOTATIONS_MAX);
}

static enum sc_error open_data(const struct sc_source_options *options, struct capture_sigmf *sigmf,
                               struct capture **capture, struct sc_message *message)
{
  char path[PATH_MAX];
  enum sc_error error = check_options(options, sigmf, message);
  if (error == SC_OK && !data_path(options->path, sigmf, path, sizeof path))
    error = sc_fail(message, SC_BAD_ARGUMENT, "the path of the capture is too long");
  if (error == SC_OK && is_lacking(path))
    error = refuse_lone(options->path, path, false, message);
  if (error != SC_OK)
    return error;
  struct capture_raw_layout layout = {
      .path = path,
      .type = sigmf->type,
      .channels = sigmf->channels,
      .rate_hz = sigmf->rate_hz,
      .segments = sigmf->segments,
      .segment_count = sigmf->segment_count,
      .trailing_bytes = sigmf->trailing_bytes,
      .follow = options->follow,
      .newest = options->newest,
  };
  error = capture_raw_open(&layout, capture, message);
  if (error == SC_OK)
    describe(*capture, sigmf);
  return error;
}

enum sc_error capture_sigmf_open(const struct sc_source_options *options, struct capture **capture,
                                 struct sc_message *message)
{
  char path[PATH_MAX];
  struct capture_sigmf sigmf;
  enum sc_error error = refuse_bundle(options->path, message);
  if (error == SC_OK && !half(path, sizeof path, options->path, meta_suffix))
    error = sc_fail(message, SC_BAD_ARGUMENT, "the path of the capture is too long");
  if (error == SC_OK && ends_with(options->path, data_suffix) && is_file(options->path) &&
      is_lacking(path))
    error = refuse_lone(options->path, path, true, message);
  if (error == SC_OK)
    error = load(path, &sigmf, message);
  if (error != SC_OK)
    return error;
  error = open_data(options, &sigmf, capture, message);
  if (error != SC_OK)
    capture_sigmf_clear(&sigmf);
  else
    capture_note_file(*capture, path, -1);
  return error;
}
