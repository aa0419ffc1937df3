/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A configuration of ALSA for one test: the library's own plugins, and the bench's card. */
#ifndef SIDECOMB_TESTS_SOUND_RIG_H
#define SIDECOMB_TESTS_SOUND_RIG_H

#include <sidecomb/capture.h>

/* Makes a folder and points the library to a configuration in it; a checked fixture. */
void rig_setup(void);
void rig_teardown(void);

/* Adds a definition ("pcm.NAME { ... }") to the configuration, which the library reads when it is
 * asked for the first time. */
void rig_define(const char *format, ...) SC_PRINTF(1, 2);
/* Adds the bench's card under that name, which plays `samples`, with these keys; see
 * bench_card.c. */
void rig_card(const char *name, const char *samples, const char *format, ...) SC_PRINTF(3, 4);

/* A file of frames whose value says which frame it is: 16-bit, both channels; it holds
 * RIG_FRAMES of them. Returns its path. */
enum { RIG_FRAMES = 60000 };
const char *rig_ramp(void);
/* The frame that such a sample names. */
long rig_frame(float sample);

/* Opens a sound card; must succeed. */
struct sc_source *rig_open(const struct sc_source_options *options);

#endif
