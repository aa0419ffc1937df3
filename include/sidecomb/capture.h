/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Where samples come from: sound files, raw samples, SigMF pairs, standard input, sound cards,
 * receivers.
 *
 * A source yields blocks of frames in the shape that its kind asks for, and knows
 * everything that the container says of them. It streams: memory is a few blocks,
 * whatever the capture's length.
 */
#ifndef SIDECOMB_CAPTURE_H
#define SIDECOMB_CAPTURE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/api.h>
#include <sidecomb/devices.h>
#include <sidecomb/error.h>

/* What the samples are. */
enum sc_kind {
  SC_KIND_UNDECIDED, /* in options: decide by evidence */
  SC_KIND_IQ,        /* complex samples around a tuned frequency: 2 floats a frame, I then Q */
  SC_KIND_COMPOSITE, /* the demodulated composite: 1 float a frame */
  SC_KIND_AUDIO      /* left and right from a receiver: 2 floats a frame (1 for a mono file) */
};

/* "iq", "composite", "audio"; "undecided" otherwise. */
SC_API const char *sc_kind_name(enum sc_kind kind);

enum sc_channel { SC_CHANNEL_AUTO, SC_CHANNEL_LEFT, SC_CHANNEL_RIGHT, SC_CHANNEL_BOTH };

/* How a sound card delivers its samples: 16, 24 or 32 bits, or floats. */
enum sc_sound_format {
  SC_SOUND_FORMAT_ANY, /* in options: the most bits that it offers */
  SC_SOUND_FORMAT_S16,
  SC_SOUND_FORMAT_S24,
  SC_SOUND_FORMAT_S32,
  SC_SOUND_FORMAT_FLOAT
};

/* Settings of a receiver; what is 0 or empty stays as it is. */
enum { SC_GAINS_MAX = 8, SC_SETTING_LENGTH = 32 };
struct sc_gain {
  char name[SC_SETTING_LENGTH]; /* of one stage; empty: of all together */
  double db;
};
struct sc_tuning {
  double tune_hz, bandwidth_hz;
  bool ppm_given;
  double ppm; /* corrects the receiver's own oscillator */
  char antenna[SC_SETTING_LENGTH];
  size_t gain_count;
  struct sc_gain gains[SC_GAINS_MAX];
  bool automatic_gain; /* only said by the receiver: its gain moves by itself */
};

/* What the user said. Zero-initialise, then set `path` or a device in its place. */
struct sc_source_options {
  const char *path;  /* a file, either half of a SigMF pair, or "-": standard input,
                        which is a stream, or a file from where it stands */
  const char *sound; /* a sound card's input, by the name that sc_devices_find gives;
                        rate_hz 0: 192 kHz, or the nearest below that it can do */
  enum sc_sound_format sound_format;
  unsigned sound_channels;      /* 0: two, or what it has */
  const char *receiver;         /* a receiver, by the name that sc_devices_find gives, or any
                                   arguments of SoapySDR; rate_hz 0: 2.4 MS/s */
  struct sc_tuning tuning;      /* of the receiver */
  const char *type;             /* SigMF type name of raw samples, NULL when the container says */
  double rate_hz;               /* raw samples: their rate; 0 when the container says */
  double centre_hz;             /* tuned frequency; 0: as the container says */
  enum sc_kind as;              /* overrides the evidence */
  enum sc_channel channel;      /* of a two-channel file that holds a composite or audio */
  bool swap_iq;                 /* exchange I and Q (mirrors the spectrum) */
  double start_s, duration_s;   /* part of the capture; duration 0: all that follows */
  bool clock_known;             /* the two numbers below were given */
  double clock_ppm;             /* the sample clock runs fast by this */
  double clock_ppm_uncertainty; /* one standard uncertainty of it */
  bool follow;                  /* a file that is still being written: a live capture, which
                                   ends when its writer closes it. Raw samples and SigMF.
                                   A named pipe: goes on when its writer is replaced */
  bool newest;                  /* follow: begin a second before the present end */
  const char *response_path;    /* correction of the input's response, NULL for none */
};

/* A passage that the container names (SigMF annotation or capture). Text is clean UTF-8. */
struct sc_annotation {
  uint64_t first, frames;    /* frames 0: to the end */
  double lower_hz, upper_hz; /* absolute; NAN when not given */
  char text[128];
};

enum { SC_DATETIME_LENGTH = 32 };
struct sc_source_info {
  char name[256];  /* the file's name as the user may see it, cleaned */
  char format[96]; /* container and sample type in words, for example "SigMF, ci8" */
  enum sc_kind kind;
  char kind_reason[256]; /* the evidence for the kind, one sentence */
  unsigned channels;     /* floats in a frame of this source's blocks */
  double sample_rate_hz; /* corrected by clock_ppm */
  double nominal_rate_hz;
  double clock_relative_uncertainty; /* NAN when nobody stated it */
  double centre_hz;                  /* tuned frequency, corrected by clock_ppm; 0 when unknown */
  double nominal_centre_hz;          /* as the container or the user says */
  char datetime[SC_DATETIME_LENGTH]; /* when the first frame was taken (SigMF core:datetime), ISO
                                        8601 in UTC; empty when the container does not say */
  bool indexed;                      /* the container says ... */
  uint64_t global_index;  /* ... that frame's place in the stream it is of (core:global_index) */
  struct sc_tuning tuned; /* what a receiver was set to, as it said itself or as the recording says;
                             what is not known is 0 or empty, all of it where there was none */
  uint64_t frames;        /* in the selected part; 0 when unknown (a pipe) */
  bool live;              /* cannot seek; the newest counts */
  unsigned bits;          /* significant bits of a sample of the container; 0 for floats */
  /* Of complex samples that were stated to be of another type than they look like: that one, by its
   * SigMF name, and by how many dB they are more regular so (measure/regularity.h has the
   * definition); else empty. It is known from some block on. */
  char likely_type[12];
  double likely_db;
  const struct sc_annotation *annotations;
  size_t annotation_count;
};

/* A run of consecutive frames. `samples` holds `frames * channels` floats, interleaved,
 * nominal range -1 to 1 (full scale). It stays valid until the next call on the source.
 * NaN and infinity never occur: they are replaced by 0 and counted as `invalid`. */
struct sc_block {
  uint64_t first; /* index of the first frame in the selected part */
  size_t frames;
  unsigned channels;
  const float *samples;
  bool discontinuity;                /* frames were lost, or a setting changed, before this block */
  uint64_t lost;                     /* of a device: so many, by the clock; 0: unknown, or none */
  uint64_t clipped;                  /* frames with a sample at either end of the range */
  uint64_t invalid;                  /* frames that held NaN or infinity */
  const struct sc_source_info *info; /* the settings under which it was taken; time and index are
                                        of the first frame under them */
};

enum { SC_NOTICE_LENGTH = 256, SC_NOTICES_MAX = 32 };
/* Plain sentences about the capture (clipping, a header that lies, level jumps). */
struct sc_notices {
  size_t count;
  char text[SC_NOTICES_MAX][SC_NOTICE_LENGTH];
};

struct sc_source;

/* Opens a capture and decides its kind. On failure *source is NULL and `message` holds
 * one line that names the file and what to do. SC_UNDECIDED: the kind stays open, the
 * message asks for --as. SC_CANNOT_OPEN: no such file. SC_BAD_FORMAT: zero rate, odd
 * byte count in a type that forbids it, broken metadata. SC_BAD_ARGUMENT: options that
 * contradict each other or the file, for example a type name that SigMF does not have.
 * May read up to one second of samples to gather evidence; the first block is frame 0
 * all the same, also from a pipe. */
SC_API SC_MUST_USE enum sc_error sc_source_open(const struct sc_source_options *options,
                                                struct sc_source **source,
                                                struct sc_message *message);
/* Whether opening will wait for another program: a named pipe for its writer, standard input for
 * samples, which are given two seconds. From then on a person wants to know. */
SC_API bool sc_source_waits(const struct sc_source_options *options);
SC_API const struct sc_source_info *sc_source_info(const struct sc_source *source);

/* Reads at most `max_frames` (1 to 2^20) frames. block->frames == 0 means the end. A pipe
 * blocks until at least one frame is there. Truncated data ends the capture with a notice,
 * not with an error. */
SC_API SC_MUST_USE enum sc_error sc_source_read(struct sc_source *source, size_t max_frames,
                                                struct sc_block *block, struct sc_message *message);
/* Moves to a frame of the selected part; the next block then has `discontinuity` set
 * unless it follows the last one. SC_UNSUPPORTED on live sources. */
SC_API SC_MUST_USE enum sc_error sc_source_seek(struct sc_source *source, uint64_t frame);
/* File descriptor to wait on for a live source, -1 for files. Readable does not mean that a read
 * returns at once: ask sc_source_ready. */
SC_API int sc_source_descriptor(const struct sc_source *source);
/* Of a live source whose descriptor is readable: whether a read returns at once. False: what is
 * there is less than a frame, and was taken; wait again. */
SC_API bool sc_source_ready(struct sc_source *source);
/* Frames before the next one that a read gives. */
SC_API uint64_t sc_source_position(const struct sc_source *source);
/* What is to be said about the capture so far. */
SC_API void sc_source_notices(const struct sc_source *source, struct sc_notices *notices);

/* Changes settings of a receiver while it runs; samples from before are dropped, and the info's
 * centre_hz follows. No other call on the source may go on meanwhile. SC_UNSUPPORTED: it is no
 * receiver; SC_BAD_ARGUMENT: the receiver cannot do that; what was given before it holds. */
SC_API SC_MUST_USE enum sc_error sc_source_tune(struct sc_source *source,
                                                const struct sc_tuning *tuning,
                                                struct sc_message *message);
/* Whether a receiver can do that, with the errors of sc_source_tune, or SC_READ_FAILED where it has
 * ended. Nothing is changed, and other threads may read the source meanwhile. */
SC_API SC_MUST_USE enum sc_error sc_source_can_tune(const struct sc_source *source,
                                                    const struct sc_tuning *tuning,
                                                    struct sc_message *message);
/* What a receiver says that it is set to, after the last change: the gains are that of all stages
 * together (no name) and then each stage's. What it does not say, and of other sources everything,
 * is 0 or empty. */
SC_API void sc_source_tuned(const struct sc_source *source, struct sc_tuning *tuned);
/* The antennas that a receiver offers, by its names; none of other sources. */
SC_API void sc_source_antennas(const struct sc_source *source, struct sc_device_names *antennas);
/* What a device lost so far. Frames of an overrun are estimated by the clock. */
struct sc_losses {
  uint64_t overruns, overrun_frames; /* in the device: its buffer ran over */
  uint64_t drops, dropped_frames;    /* the reader was too slow: runs of whole blocks */
  uint64_t suspends;                 /* the device slept */
};
/* May be asked from any thread while another one reads. All zero where nothing can be lost. */
SC_API void sc_source_losses(const struct sc_source *source, struct sc_losses *losses);
/* Accepts NULL. */
SC_API void sc_source_close(struct sc_source *source);

/* The names that --type takes, NULL-terminated. */
SC_API const char *const *sc_source_type_names(void);

#endif
