/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Everything that was measured in one capture, in the shape of the report. */
#ifndef SIDECOMB_RESULT_H
#define SIDECOMB_RESULT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/audio.h>
#include <sidecomb/capture.h>
#include <sidecomb/carrier.h>
#include <sidecomb/composite.h>
#include <sidecomb/deviation.h>
#include <sidecomb/injection.h>
#include <sidecomb/lines.h>
#include <sidecomb/mask.h>
#include <sidecomb/noise.h>
#include <sidecomb/occupancy.h>
#include <sidecomb/pilot.h>
#include <sidecomb/preemphasis.h>
#include <sidecomb/quantity.h>
#include <sidecomb/rds.h>
#include <sidecomb/stereo.h>
#include <sidecomb/subcarriers.h>
#include <sidecomb/unwanted.h>

enum sc_verdict {
  SC_VERDICT_UNKNOWN,
  SC_VERDICT_EXPLAINED,
  SC_VERDICT_RESIDUAL,
  SC_VERDICT_SPURIOUS,
  SC_VERDICT_ARTEFACT
};
SC_API const char *sc_verdict_name(enum sc_verdict verdict);

enum { SC_LINE_ORDERS_MAX = 8, SC_LINE_CAUSE_LENGTH = 224, SC_LINE_LABEL_LENGTH = 48 };

/* One line, on air (offset from the carrier, level in dBc) or on the composite (frequency,
 * deviation). dBc refers to the power of the unmodulated carrier, that is the total power of
 * the FM signal in its channel. */
struct sc_line {
  struct sc_tone tone;               /* as measured, in the input's frequencies */
  struct sc_quantity offset_hz;      /* from the carrier; on the composite the frequency */
  struct sc_quantity level_dbc;      /* on air */
  struct sc_quantity level_dbm;      /* on air, where it is known what full scale stands for */
  struct sc_quantity deviation_khz;  /* on the composite with an absolute scale: peak */
  struct sc_quantity level_db75;     /* on the composite: relative to 75 kHz */
  struct sc_quantity level_db_pilot; /* on the composite: relative to the pilot */
  struct sc_quantity level_dbfs; /* on audio, and on a composite without absolute scale: relative
                                    to a sine that reaches full scale */
  bool alongside; /* on air: found in the same records as the lines of the composite, so that their
                     phases compare */
  bool beneath; /* on air: found in what a limiter takes away, where modulation leaves nothing, and
                   not in the spectrum, where it hides the line */
  double rounded; /* share of it that the capture's rounding made, by rounding its signal once more;
                     0: nothing, or nobody had to look */
  ptrdiff_t mirror; /* index of the line at the mirrored offset, -1: none */
  struct sc_quantity mirror_level_dbc;
  struct sc_quantity predicted_dbc; /* what the measured composite makes at this place */
  struct sc_quantity rest_db;       /* measured minus predicted */
  /* What a line on air and its mirror are made of, relative to the unmodulated carrier: from the
   * complex amplitudes u above and l below the carrier, referred to its phase, less what the
   * composite makes there. One-sided is by how much the stronger side exceeds the other; of what
   * both have in common AM is (u + conj l) / 2, and FM, joined by what was predicted, is
   * (u - conj l) / 2 (the level of one line of the pair each; Carson, Proc. IRE 10, 1922, from
   * memory). AM and FM of equal strength and phase are a one-sided line. Absent below
   * parts_limit_dbc. */
  struct sc_quantity fm_part_dbc, am_part_dbc;
  struct sc_quantity one_sided_dbc;   /* of the stronger side */
  struct sc_quantity parts_limit_dbc; /* four standard uncertainties; exact */
  int orders[SC_LINE_ORDERS_MAX];     /* of the components named in the cause */
  size_t order_count;
  enum sc_verdict verdict;
  double am_hz; /* on air: of the spurious amplitude modulation that makes it; 0: none does */
  const struct sc_position *nearest; /* standard position nearest by frequency alone */
  double nearest_distance_hz;
  char label[SC_LINE_LABEL_LENGTH]; /* short; empty when the evidence supports no name */
  char cause[SC_LINE_CAUSE_LENGTH]; /* a sentence: what it is and why */
};

/* Each search lists SC_LINES_MAX at most: the channel's, that of the rest of the capture, and the
 * one beneath the modulation. */
enum { SC_LINE_SEARCHES_MAX = 3, SC_LISTED_MAX = SC_LINE_SEARCHES_MAX * SC_LINES_MAX };

/* One search for lines: the channel's, and that of the rest of the capture. */
struct sc_line_search {
  double reach_hz; /* offsets below this, that no earlier search covers */
  double record_s, threshold_db;
  struct sc_quantity weakest_db; /* tone.level_db of the weakest line that was kept, where the
                                    search found more than it keeps; why: it kept all */
};

struct sc_line_list {
  struct sc_line *lines; /* by offset */
  size_t count;
  double record_s, threshold_db, coverage, resolution_hz;
  uint64_t records;
  const char *why;               /* not NULL: lines could not be measured, and why */
  bool full;                     /* the search kept the strongest only; weaker lines may be there */
  bool jumped;                   /* the carrier: lines are of one stretch between its jumps ... */
  struct sc_quantity stretch_hz; /* ... in which it was here, from the tuned frequency; offsets of
                                    lines on air are from there */
  bool followed; /* on air: the carrier drifts, and in the channel its lines were followed */
  struct sc_line_search searches[SC_LINE_SEARCHES_MAX]; /* on air, from the carrier outwards: the
                                                           first has the lines `alongside` */
  size_t search_count;
};

/* What the receiver said it was set to when the capture began. */
struct sc_receiver_facts {
  struct sc_quantity gain_db; /* exact, of all stages; as its maker counts it */
  char stages[192];           /* "LNA 20 dB, VGA 12.5 dB"; empty: not known */
  enum sc_truth automatic;    /* its gain moved by itself */
  char antenna[SC_SETTING_LENGTH];
  struct sc_quantity bandwidth_hz, correction_ppm; /* exact */
};

enum { SC_PASSAGES_MAX = 128 };
struct sc_passage {
  double from_s, to_s; /* from the first frame that was fed, by the frames that were */
};
struct sc_passages {
  struct sc_passage at[SC_PASSAGES_MAX]; /* in their order */
  size_t count;
};

struct sc_capture_facts {
  struct sc_source_info info; /* annotations NULL */
  uint64_t frames;            /* measured */
  double duration_s;
  double left_out_s; /* of it, without the carrier; NAN: the samples are no IQ */
  uint64_t clipped, invalid, gaps;
  uint64_t holes; /* short rows of zeros amid the signal: lost samples; left out of what is measured
                     of the channel */
  struct sc_passages carried; /* what `left_out_s` leaves, within a few milliseconds; of more than
                                 SC_PASSAGES_MAX those with the shortest pauses between are joined;
                                 none: nothing is left out */
  double reference_hz; /* of the transmitter's oscillator, as given by the user; 0: not given */
  struct sc_notices notices;
  struct sc_receiver_facts receiver;
};

/* Where the carrier stands against the channel raster and the frequency that it should have. */
struct sc_channel_place {
  struct sc_quantity raster_hz, nearest_hz; /* exact */
  struct sc_quantity nearest_error_hz;      /* carrier less nearest channel */
  struct sc_quantity error_hz, error_ppm;   /* carrier less nominal frequency */
};

struct sc_result {
  struct sc_capture_facts capture;
  const char *unmeasured; /* not NULL: the capture was read but what a report is about (the
                             carrier, the composite, the audio) could not be measured, and why */
  struct sc_carrier carrier;
  struct sc_quantity carrier_level_dbm;    /* where it is known what full scale stands for */
  struct sc_quantity carrier_frequency_hz; /* absolute, where the tuned frequency is known */
  struct sc_channel_place channel;
  struct sc_occupancy occupancy;
  struct sc_mask_result masks[SC_MASKS_MAX];
  size_t mask_count;
  struct sc_quantity composite_rate_hz;
  const char *composite_why;      /* not NULL: no composite, and why */
  bool composite_absolute;        /* deviations are in kHz */
  double composite_full_scale;    /* of the samples, in the unit of the composite's lines; 0: the
                                     samples are no composite */
  bool composite_truncated;       /* by the capture's bandwidth */
  double composite_half_width_hz; /* kept to either side of the channel's middle; 0: not iq */
  double composite_middle_hz;     /* that, from the capture's centre */
  struct sc_channel_edge composite_edge; /* how the channel filter falls there; iq */
  struct sc_deviation deviation;
  struct sc_pilot pilot;
  struct sc_stereo stereo;
  struct sc_rds rds;
  struct sc_rds_listing rds_groups;
  struct sc_noise noise;
  struct sc_audio audio; /* as recorded, or decoded: then 75 kHz, or the composite's full scale, is
                            full scale, and nobody has taken the pre-emphasis off */
  struct sc_preemphasis preemphasis;
  struct sc_injections injections;
  struct sc_line_list air_lines;
  struct sc_unwanted unwanted;
  struct sc_line_list composite_lines; /* kind audio: lines of the first channel */
  bool baseline_refused;               /* it holds a signal in the channel, and excuses nothing */
  char account[512];                   /* what is seen, in one or two sentences */
  struct sc_notices warnings;          /* what limits the measurement, plain sentences */
};

#endif
