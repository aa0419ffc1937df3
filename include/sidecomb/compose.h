/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A scenario played into a file: bare samples, a SigMF pair with annotations of what is in it,
 * or a sound file.
 */
#ifndef SIDECOMB_COMPOSE_H
#define SIDECOMB_COMPOSE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/api.h>
#include <sidecomb/capture.h>
#include <sidecomb/error.h>
#include <sidecomb/scenario.h>

struct sc_compose_settings {
  const char *path; /* its ending chooses the container: .sigmf, .sigmf-data or .sigmf-meta a SigMF
                       pair; .wav, .rf64, .w64, .flac, .caf, .aiff a sound file; anything else,
                       and "-" for standard output, bare samples */
  const char *type; /* of bare samples and SigMF, as SigMF names it; NULL: 16-bit integers */
  unsigned bits;    /* of sound files: 16, 24, 32 (32-bit float: 0 with `floats`); 0: 16 */
  bool floats;      /* sound files: 32-bit floats */
  bool keep;        /* a file that is there already stays, and SC_WRITE_FAILED says so */
  bool dither;      /* triangular, before rounding */
};

struct sc_compose_result {
  uint64_t frames;
  uint64_t clipped; /* samples that did not fit and were held at full scale */
  char format[96];  /* what was written, in words */
  struct sc_generator_info info;
};

/* Called now and then with the share that is done; false: give up, nothing is left behind. */
typedef bool sc_compose_progress(void *context, double share);

/* Nothing appears under the wanted name before it is whole. SC_BAD_ARGUMENT: the scenario, or a
 * type, width or rate that the container does not have; SC_CANNOT_OPEN: a sound file of the
 * scenario; SC_WRITE_FAILED: the disk; SC_UNSUPPORTED: given up by `progress`. */
SC_API SC_MUST_USE enum sc_error sc_compose(const struct sc_scenario *scenario,
                                            const struct sc_compose_settings *settings,
                                            sc_compose_progress *progress, void *context,
                                            struct sc_compose_result *result,
                                            struct sc_message *message);

enum { SC_TRUTH_MAX = 160 };
/* What the scenario's capture holds, part by part: at most SC_TRUTH_MAX annotations over its whole
 * length, with the edges on air where the capture's frequency is known. Returns their number. */
SC_API size_t sc_scenario_truth(const struct sc_scenario *scenario, struct sc_annotation *truth);
/* What the scenario asks for and a composite, or audio, cannot hold: what happens on the air and in
 * a receiver, but for its clock, and of audio the subcarriers. At most SC_TRUTH_MAX. */
SC_API size_t sc_scenario_left_out(const struct sc_scenario *scenario,
                                   struct sc_annotation *left_out);

#endif
