/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A capture kept on the disk as it comes in: SigMF, or WAV (RF64 beyond 4 GB).
 *
 * The file has its name from the start and is valid at any moment: a full disk or a killed
 * program leave what was written by then. Whether it still has its name is looked at every second,
 * so that a folder that was removed does not swallow what comes. Samples keep their bits: 16 where
 * the source has up to 16, else 24 (WAV) or 32, floats where it gives floats. SigMF keeps the
 * tuned frequency, the time and the place in its stream of every capture of the source, what a
 * receiver was set to (man/sidecomb.sigmf-ext.md), and its annotations. Rate and frequency are the
 * nominal ones, not corrected by clock_ppm, which a reader states again. Where a device lost frames
 * it begins a new capture and says in an annotation how many, or that settings were changed. WAV
 * has no place for any of that.
 */
#ifndef SIDECOMB_RECORD_H
#define SIDECOMB_RECORD_H

#include <sidecomb/api.h>
#include <sidecomb/capture.h>

enum { SC_RECORD_CAPTURES = 512 };
struct sc_record_settings {
  const char *path; /* ends in .sigmf, .sigmf-meta, .sigmf-data or .wav */
  bool replace;     /* a file of that name may be there already */
  double before_s;  /* the first frame is so much older than the moment of sc_record_create */
};

struct sc_record_summary {
  uint64_t frames, gaps;
  double seconds;
  uint64_t untold; /* captures of the source whose frequency, time or settings the file does not
                      hold: WAV, or more than SC_RECORD_CAPTURES */
};

struct sc_recorder;
/* SC_BAD_ARGUMENT: another ending, or a rate that WAV cannot state; SC_WRITE_FAILED. */
SC_API SC_MUST_USE enum sc_error sc_record_create(const struct sc_source_info *info,
                                                  const struct sc_record_settings *settings,
                                                  struct sc_recorder **recorder,
                                                  struct sc_message *message);
/* After SC_WRITE_FAILED nothing more is written; finish keeps what was. */
SC_API SC_MUST_USE enum sc_error sc_record_feed(struct sc_recorder *recorder,
                                                const struct sc_block *block,
                                                struct sc_message *message);
/* Completes the file, or takes it away where no frame came; the recorder is gone afterwards, also
 * on failure. `summary` may be NULL. */
SC_API SC_MUST_USE enum sc_error sc_record_finish(struct sc_recorder *recorder,
                                                  struct sc_record_summary *summary,
                                                  struct sc_message *message);

/* Reads a source to its end into a recording. `progress` as for sc_analyse_source. What came
 * before a failure is kept, and counted in `summary`; without a frame no file is made. */
SC_API SC_MUST_USE enum sc_error sc_record_source(struct sc_source *source,
                                                  const struct sc_record_settings *settings,
                                                  bool (*progress)(void *context, double share),
                                                  void *context, struct sc_record_summary *summary,
                                                  struct sc_message *message);

#endif
