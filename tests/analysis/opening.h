/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Sources opened, read and refused by tests that expect the one or the other. */
#ifndef SIDECOMB_TESTS_ANALYSIS_OPENING_H
#define SIDECOMB_TESTS_ANALYSIS_OPENING_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/capture.h>

#include "capture/write.h"

struct sc_source *open_source(const struct sc_source_options *options);
/* Opening fails with `code` and one clean line that has `part` in it. */
void refused(const struct sc_source_options *options, enum sc_error code, const char *part);
struct sc_block read_block(struct sc_source *source, size_t frames);
/* Reads to the end; returns the frames. */
uint64_t drain(struct sc_source *source);
/* A notice has `part` in it. */
bool noticed(const struct sc_source *source, const char *part);
void write_samples(const struct capture_write_settings *settings, const double *samples,
                   size_t frames);

#endif
