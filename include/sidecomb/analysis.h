/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The whole chain: blocks of a capture in, one result out.
 *
 * Report and viewer both use it, so a number on the screen is the number in the report.
 * One pass, constant memory. The channel is found in the first second (or given).
 */
#ifndef SIDECOMB_ANALYSIS_H
#define SIDECOMB_ANALYSIS_H

#include <sidecomb/api.h>
#include <sidecomb/baseline.h>
#include <sidecomb/capture.h>
#include <sidecomb/error.h>
#include <sidecomb/result.h>
#include <sidecomb/spectrum.h>

struct sc_analysis_settings {
  double channel_hz;             /* offset of the transmitter from the centre; NAN: find it */
  double full_scale_khz;         /* composite captures: deviation of full scale; 0: unknown */
  double deemphasis_us;          /* of hum and noise and of decoded audio; 0: none */
  const char *audio_path;        /* decoded left and right go here: .wav or .flac; NULL: nowhere */
  bool audio_keep;               /* a file that is there already stays */
  double line_false_alarm;       /* 0: 1e-3 in a whole result */
  enum sc_rds_region rds_region; /* SC_RDS_REGION_OPEN: by evidence */
  size_t rds_groups;             /* the latest groups of RDS to list; 0: none */
  bool lines;                    /* look for lines (costs most); off for a quick look */
  const struct sc_mask *masks;   /* to judge the emission by; copied by sc_analysis_create */
  size_t mask_count;             /* at most SC_MASKS_MAX */
  double nominal_hz;             /* frequency that the transmitter should have; 0: not given */
  double raster_hz;              /* of the channels; 0: 100 kHz */
  double reference_hz;           /* crystal or comparison frequency of the transmitter's
                                    oscillator, whose lines are named; 0: not given */
  unsigned threads;              /* 1: all in the caller's; 0: as many as there are processors. More
                                    than four are of no use. The result is the same to the last bit */
  bool full_scale_dbm_given;
  double full_scale_dbm; /* power at the receiver's input that makes a full-scale complex line */
  const struct sc_baseline *baseline; /* the receiver without the transmitter; must outlive the
                                         analysis; NULL: none */
};

struct sc_analysis;
/* `info` is copied. */
SC_API SC_MUST_USE enum sc_error sc_analysis_create(const struct sc_source_info *info,
                                                    const struct sc_analysis_settings *settings,
                                                    struct sc_analysis **analysis,
                                                    struct sc_message *message);
SC_API SC_MUST_USE enum sc_error sc_analysis_feed(struct sc_analysis *analysis,
                                                  const struct sc_block *block);
/* May be asked at any time, also before the end. Free with sc_result_clear. */
SC_API SC_MUST_USE enum sc_error sc_analysis_result(struct sc_analysis *analysis,
                                                    struct sc_result *result);
/* Completes the file of decoded audio, when all was fed; at once SC_OK when none was wanted.
 * sc_analyse_source does it by itself. */
SC_API SC_MUST_USE enum sc_error sc_analysis_save_audio(struct sc_analysis *analysis,
                                                        struct sc_message *message);
/* Spectra over all that was fed: on air (kind iq), of the composite (iq, composite), of the
 * audio. SC_UNSUPPORTED where there is none. Valid until the next call on the analysis. */
SC_API SC_MUST_USE enum sc_error sc_analysis_air(struct sc_analysis *analysis,
                                                 struct sc_trace *trace);
SC_API SC_MUST_USE enum sc_error sc_analysis_composite(struct sc_analysis *analysis,
                                                       struct sc_trace *trace);
SC_API void sc_analysis_destroy(struct sc_analysis *analysis);
SC_API void sc_result_clear(struct sc_result *result);

/* In place of a share: the source is live, and nothing has come from it since the call before. */
#define SC_NOTHING_CAME (-1.0)

/* Reads `source` to its end through an analysis. `progress` (may be NULL) is called now and
 * then, several times a second while a live source is waited for, and stops the reading by
 * returning false: what came by then is measured. Of a capture that is not live no decoded audio
 * is written then, as a part of it would pass for all. `share`: of the whole, NAN where that is
 * not known, or SC_NOTHING_CAME. */
SC_API SC_MUST_USE enum sc_error sc_analyse_source(struct sc_source *source,
                                                   const struct sc_analysis_settings *settings,
                                                   bool (*progress)(void *context, double share),
                                                   void *context, struct sc_result *result,
                                                   struct sc_message *message);

/* Repeated measurement: the source in intervals that follow each other without a gap, each
 * measured by an analysis of its own. The last one may be shorter. */
struct sc_intervals {
  double length_s;
  /* As for sc_analyse_source; what came of the interval by then is still taken. May be NULL. */
  bool (*progress)(void *context, double share);
  /* The result of the interval that began `start_s` after the source's first frame. It is cleared
   * afterwards. False ends the reading. */
  bool (*take)(void *context, double start_s, const struct sc_result *result);
  void *context;
};
/* SC_BAD_ARGUMENT: a length below one frame, or audio is to be written. */
SC_API SC_MUST_USE enum sc_error sc_analyse_intervals(struct sc_source *source,
                                                      const struct sc_analysis_settings *settings,
                                                      const struct sc_intervals *intervals,
                                                      struct sc_message *message);

#endif
