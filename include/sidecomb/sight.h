/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* One spectrum of a whole capture, for a picture: on air, of the composite, or of the audio.
 *
 * The capture is read once more for it, so that middle, span and resolution can be chosen with
 * the result at hand. Definition of the trace: spectrum.h. The composite of IQ is that of
 * composite.h, in kHz; a captured composite and audio are in full scale, first channel.
 *
 * Cost: one pass. Memory: that of a spectrum, and of a demodulator for the composite of IQ;
 * constant whatever the capture's length. */
#ifndef SIDECOMB_SIGHT_H
#define SIDECOMB_SIGHT_H

#include <stdbool.h>

#include <sidecomb/api.h>
#include <sidecomb/capture.h>
#include <sidecomb/error.h>
#include <sidecomb/result.h>
#include <sidecomb/spectrum.h>

enum sc_sight_of { SC_SIGHT_AIR, SC_SIGHT_COMPOSITE, SC_SIGHT_AUDIO, SC_SIGHT_COUNT };
/* "on air", "composite", "audio". */
SC_API const char *sc_sight_name(enum sc_sight_of of);
/* Whether a capture of this kind shows it at all. */
SC_API bool sc_sight_offered(enum sc_sight_of of, enum sc_kind kind);

struct sc_sight_settings {
  enum sc_sight_of of;
  double centre_hz, span_hz; /* as in sc_spectrum_settings; both 0: everything */
  double rbw_hz;             /* 0: the span's 800th part */
  enum sc_window window;
  double window_parameter;
  double channel_hz;    /* of the transmitter from the capture's centre, for the composite of IQ */
  bool expected;        /* on air: also what the composite makes (expected.h), by channel_hz ... */
  double noise_dbfs_hz; /* ... with noise of this density; NAN: not known */
  /* What of the capture is read, as a result has it (`carried`); NULL or none: all of it. */
  const struct sc_passages *passages;
};

/* Levels of a trace are 10 log10(power) + offset_db in `unit`. */
struct sc_sight_scale {
  double offset_db;
  const char *unit;    /* "dBc", "dB75", ... */
  const char *meaning; /* what it is relative to, in words for the axis */
};
/* `result` may be NULL: nothing is measured yet. full_scale_khz: of a captured composite; 0:
 * unknown. */
SC_API struct sc_sight_scale sc_sight_scale(enum sc_sight_of of, enum sc_kind kind,
                                            double full_scale_khz, const struct sc_result *result);
/* What a line reads on that scale. */
SC_API double sc_sight_line_level(enum sc_sight_of of, struct sc_sight_scale scale,
                                  const struct sc_line *line);

struct sc_sight;
/* Reads `source`, or its passages, from the start to the end. SC_UNSUPPORTED: a live source, which
 * cannot be read again, or one that has no such spectrum. `progress` may be NULL; false stops the
 * reading, and the trace is of what was read. */
SC_API SC_MUST_USE enum sc_error sc_sight_read(struct sc_source *source,
                                               const struct sc_sight_settings *settings,
                                               bool (*progress)(void *context, double share),
                                               void *context, struct sc_sight **sight,
                                               struct sc_message *message);
/* Density of the receiver's noise for what is expected: the smaller of two estimates, since each
 * may count as noise what is none. NAN: not known. */
SC_API double sc_sight_noise_dbfs_hz(const struct sc_result *result);

/* Both valid until the sight is destroyed. No points: it was not asked for, or the channel cannot
 * be demodulated. */
SC_API void sc_sight_expected(struct sc_sight *sight, struct sc_trace *expected);
SC_API void sc_sight_trace(struct sc_sight *sight, struct sc_trace *trace);
/* Accepts NULL. */
SC_API void sc_sight_destroy(struct sc_sight *sight);

#endif
