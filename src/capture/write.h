/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Writes captures, so that tests and the shipped sample can be made by our own generator.
 *
 * Samples come in as doubles, full scale 1, interleaved, and are rounded to nearest and
 * saturated. Nothing appears under the wanted name before the file is whole: it is written
 * beside it under a name of its own and renamed at the end. Bare samples may go to a pipe or a
 * device too, where there is nothing to rename. A recording (`growing`) is the exception: it is
 * written in place, and after a failed feed, for a full disk, finish still leaves all whole frames
 * as a valid file.
 */
#ifndef SIDECOMB_CAPTURE_WRITE_H
#define SIDECOMB_CAPTURE_WRITE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/capture.h>
#include <sidecomb/error.h>

#include "capture/container.h"

enum capture_write_container {
  CAPTURE_WRITE_RAW,
  CAPTURE_WRITE_SIGMF, /* path: the base name, both halves get their suffix */
  CAPTURE_WRITE_WAV,
  CAPTURE_WRITE_RF64,
  CAPTURE_WRITE_W64,
  CAPTURE_WRITE_FLAC,
  CAPTURE_WRITE_CAF,
  CAPTURE_WRITE_AIFF,
  CAPTURE_WRITE_CONTAINERS
};

/* Where frames do not follow the one before, or their tuned frequency, time or settings are to be
 * said. */
struct capture_mark {
  uint64_t first;
  double centre_hz; /* 0: left out */
  bool indexed;     /* its place in the stream that it is of is known: */
  uint64_t global_index;
  char datetime[SC_DATETIME_LENGTH]; /* empty: left out */
  struct sc_tuning tuned;            /* of a receiver; what is not known is left out */
};

struct capture_write_settings {
  const char *path; /* "-" with CAPTURE_WRITE_RAW: standard output */
  enum capture_write_container container;
  const char *type;        /* raw and SigMF: a name of capture/types.h */
  unsigned bits;           /* sound files: 8, 16, 24 or 32; 0: 32-bit float, 64: 64-bit float */
  unsigned channels;       /* sound files and real types: floats in a frame, 0 counts as 1;
                              complex types: signals, of 2 floats each */
  double rate_hz;          /* sound files: a whole number */
  double centre_hz;        /* SigMF without marks only; 0: left out */
  const char *description; /* SigMF only, as the next; NULL: left out */
  const char *hardware;    /* what they were recorded with */
  const struct sc_annotation *annotations; /* SigMF only */
  size_t annotation_count;
  const struct capture_mark *marks; /* SigMF only; the first one is at frame 0 */
  size_t mark_count;
  bool growing; /* a recording: under its own name from the start, and valid at any moment */
  const struct capture *read; /* a file of this is refused, by whatever name; NULL: none */
  bool keep;                  /* a file that is there already stays, and SC_WRITE_FAILED says so */
  bool dither; /* triangular, 2 steps wide: quantisation noise becomes independent of the signal */
  uint64_t seed;
};

struct capture_writer;
/* The strings and the annotations of `settings` must live until finish.
 * SC_BAD_ARGUMENT: no such type, or a width that the container does not have. */
enum sc_error capture_writer_create(const struct capture_write_settings *settings,
                                    struct capture_writer **writer, struct sc_message *message);
enum sc_error capture_writer_feed(struct capture_writer *writer, const double *samples,
                                  size_t frames, struct sc_message *message);
/* A growing SigMF pair: how many of the settings' annotations and marks there are by now. */
void capture_writer_count(struct capture_writer *writer, size_t annotations, size_t marks);
/* A growing file: brings its header up to date. SC_WRITE_FAILED: it has no longer its name, for its
 * folder was removed. */
enum sc_error capture_writer_settle(struct capture_writer *writer, struct sc_message *message);
/* Completes the file and gives it its name. The writer is gone afterwards, also on failure. */
enum sc_error capture_writer_finish(struct capture_writer *writer, struct sc_message *message);
/* Gives up: nothing stays on the disk, but what a growing file holds. Accepts NULL. */
void capture_writer_destroy(struct capture_writer *writer);

#endif
