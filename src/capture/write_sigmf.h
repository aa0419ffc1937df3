/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The metadata half that the writer puts beside its samples. */
#ifndef SIDECOMB_CAPTURE_WRITE_SIGMF_H
#define SIDECOMB_CAPTURE_WRITE_SIGMF_H

#include "capture/write.h"

/* Writes SigMF metadata for `settings` to `path`; 0 on success, else -1. */
int capture_write_meta(const struct capture_write_settings *settings, const char *path);

/* The same for a file that grows: room is taken now, so that the final text finds it on a full
 * disk too. The text in between is valid. */
int capture_reserve_meta(const struct capture_write_settings *settings, const char *path);
int capture_complete_meta(const struct capture_write_settings *settings, const char *path);

#endif
