/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* One capture as its container tells it: floats, frame by frame, and the facts about them.
 *
 * Nothing here looks at what the samples mean; it only delivers them. Each kind of container
 * is one file with one table of functions (struct capture_driver). A container streams:
 * memory is one bounce buffer, whatever its length.
 */
#ifndef SIDECOMB_CAPTURE_CONTAINER_H
#define SIDECOMB_CAPTURE_CONTAINER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/stat.h>

#include <sidecomb/capture.h>
#include <sidecomb/error.h>

#include "capture/types.h"

/* A run of frames taken under one setting. The first one starts at frame 0. */
struct capture_segment {
  uint64_t first;
  uint64_t offset_bytes; /* of its first frame in the data file */
  double centre_hz;      /* 0 when unknown */
  bool follows;          /* the container shows that no frame is missing before it */
  bool indexed;          /* its first frame's place in the stream is known: */
  uint64_t global_index;
  char datetime[SC_DATETIME_LENGTH]; /* of its first frame; empty: unknown */
  size_t tuning; /* number in the capture's `tunings`, from 1; 0: the capture's own, `tuned` */
};

struct capture_facts {
  char format[96];                 /* container and sample type in words */
  double rate_hz;                  /* 0 when the container does not say */
  double said_rate_hz;             /* what the container says where the user overrides it; else 0 */
  unsigned channels;               /* floats in a frame as read; 2 and more for complex samples */
  bool is_complex;                 /* the container says: I, then Q */
  bool is_real;                    /* the container says: no I and Q */
  const struct capture_type *type; /* of bare samples; NULL: a library or a device knows it */
  uint64_t frames;                 /* 0 when unknown */
  unsigned bits;                   /* of a component; 0 for floats */
  float low, high;                 /* value of a sample at either end of the range */
  bool live;                       /* cannot seek */
};

/* Which file it is, whatever its names. */
struct capture_file {
  dev_t device;
  ino_t inode;
};

struct capture;

struct capture_driver {
  /* Reads 1 to `frames` frames; fewer only at the end of a segment, at the end of the
   * capture (*got == 0 says that nothing follows), or where a pipe holds no more now. */
  enum sc_error (*read)(struct capture *capture, float *samples, size_t frames, size_t *got,
                        struct sc_message *message);
  /* `frame` is at most facts.frames. NULL where the container cannot seek. */
  enum sc_error (*seek)(struct capture *capture, uint64_t frame);
  /* NULL where there is nothing to wait on. */
  int (*descriptor)(const struct capture *capture);
  void (*destroy)(struct capture *capture);
  /* Once the descriptor is readable: whether a read returns at once; otherwise what is there was
   * taken. NULL where it always does. */
  bool (*ready)(struct capture *capture);
};

/* Head of each driver's own state. */
struct capture {
  const struct capture_driver *driver;
  struct capture_facts facts;
  struct capture_segment *segments; /* at least one; freed with the capture */
  size_t segment_count;
  struct sc_tuning *tunings;         /* that segments name; freed with the capture */
  struct sc_annotation *annotations; /* freed with the capture */
  size_t annotation_count;
  uint64_t position;      /* of the next frame */
  bool gap;               /* devices: something is missing before the frames read last; the reader
                             clears both */
  uint64_t lost;          /* so many frames, by the clock; 0: unknown */
  struct sc_tuning tuned; /* of a receiver: what it says it is set to */
  struct sc_device_names antennas; /* that it offers */
  struct sc_notices notices;
  char name[256];               /* the file's name, clean */
  struct capture_file files[2]; /* that it reads: samples, metadata */
  size_t file_count;
};

/* Opens what options->path, type and rate_hz name; the other options do not matter here. */
enum sc_error capture_open(const struct sc_source_options *options, struct capture **capture,
                           struct sc_message *message);
enum sc_error capture_read(struct capture *capture, float *samples, size_t frames, size_t *got,
                           struct sc_message *message);
enum sc_error capture_seek(struct capture *capture, uint64_t frame);
bool capture_ready(struct capture *capture);
/* Notes a file that the capture reads: of that path, or open under that descriptor (path NULL). */
void capture_note_file(struct capture *capture, const char *path, int descriptor);
/* Whether it reads that file, by whatever name. */
bool capture_reads(const struct capture *capture, const struct stat *status);
/* Index of the segment that holds `frame`. */
size_t capture_segment_at(const struct capture *capture, uint64_t frame);
/* Accepts NULL. */
void capture_close(struct capture *capture);

#endif
