/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The receiver of the bench: its I numbers the samples, so what is missing is known without the
 * reader; its Q is steady, so level and shift are. */
#ifndef SIDECOMB_TESTS_RECEIVER_RIG_H
#define SIDECOMB_TESTS_RECEIVER_RIG_H

#include <sidecomb/capture.h>

enum { RIG_FRAMES = 60000 };
extern const double rig_rate_hz, rig_home_hz;

/* The two halves of a checked fixture. */
void rig_setup(void);
void rig_teardown(void);
/* Files that the bench plays: numbered samples, or one that stands still. */
const char *rig_numbered(void);
const char *rig_steady(void);
/* The bench on that file, with further keys (bench_receiver.cpp). */
struct sc_source_options rig_bench(const char *samples, const char *keys);
struct sc_source *rig_open(const struct sc_source_options *options);

#endif
