/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Decoded audio, written to a sound file. */
#ifndef SIDECOMB_ANALYSIS_AUDIOFILE_H
#define SIDECOMB_ANALYSIS_AUDIOFILE_H

#include <stdbool.h>

#include <sidecomb/error.h>
#include <sidecomb/stereo.h>

struct analysis_audiofile_settings {
  double rate_hz;
  double scale;     /* of full scale: 1 / 75 kHz, or 1 */
  const char *path; /* .wav or .flac; must live as long as the handle */
  bool keep;        /* a file that is there already stays */
};

struct analysis_audiofile;
enum sc_error analysis_audiofile_create(const struct analysis_audiofile_settings *settings,
                                        struct analysis_audiofile **file);
void analysis_audiofile_feed(struct analysis_audiofile *file, const struct sc_stereo_audio *audio);
/* Completes the file. SC_UNSUPPORTED: nothing was decoded. */
enum sc_error analysis_audiofile_save(struct analysis_audiofile *file, struct sc_message *message);
void analysis_audiofile_destroy(struct analysis_audiofile *file);

#endif
