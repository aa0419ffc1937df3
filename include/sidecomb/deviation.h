/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Frequency deviation: peaks, rms, their distribution, and the power of the composite.
 *
 * Definitions. Deviation: difference between the modulated wave's frequency and the carrier
 * frequency (47 CFR 73.310), here the record's mean frequency, whose distance from the channel's
 * middle is shown apart. Peak: the largest of the record, between samples by a parabola.
 * Distribution: the largest magnitude of each 50 ms, in classes of 1 kHz (Rec. ITU-R SM.1268,
 * annex 2; the 50 ms and the classes from memory). Composite power: over a moving window of 60 s,
 * relative to the power of a sine of 19 kHz peak deviation: 10 log10(2 mean(df^2) / (19 kHz)^2)
 * dBr (Rec. ITU-R BS.412, section 2.5.1); the window moves in steps of 1 s here, and the highest is
 * given. On shorter records it is the power over what there is, and power_complete is SC_NO.
 *
 * Over time: the peaks of equal moments, oldest first (common practice, no source for their
 * length). A moment is 50 ms, and twice as long whenever 512 of them are full, so that a long
 * record has 256 to 512; time that is missing in the capture is not counted.
 *
 * Noise lifts a held peak by several times its rms value. `peak_khz` is raw. `corrected_khz` is
 * held on the composite in those frequencies alone that stand out of the noise, so that most of
 * the noise is not in it (src/measure/occupied.h; our own method), provided that what was left out
 * had no more power than the noise has, else on all of it. From this comes what the noise is
 * expected to add still: the largest of m draws of Gaussian noise, m being the number of
 * independent frames that come near the peak. Its uncertainty is one draw of the noise that stayed,
 * and what a programme too weak to stand out may have hidden in what was left out.
 * It may lie above the raw peak, which has a draw of its own. What stands in less than 10 ms at
 * either end of the record, or stays below the noise everywhere, is not in it. Not given where the
 * noise is unknown, and so near the FM threshold that it makes clicks: more than 0.01 are expected
 * in the record (S. O. Rice, Noise in FM Receivers, 1963, from memory). Rms and power are without
 * the noise where it is known.
 *
 * Cut off: the deviation at which the composite ends above and below, by more of the time than a
 * pilot that is there lets it stand at one place (src/measure/limiter.h; our own method): a limiter
 * behind the stereo coder, or an amplifier without room. Its uncertainty is that of a place within
 * 3 kHz. It takes a pilot, and 1 % of the time.
 *
 * The distribution is raw. How often the limit is passed is not given where clicks, or the noise on
 * a peak that is surely lower, pass it.
 *
 * Input: composite in kHz (real floats), offset left in, any block length. Cost O(frames), memory
 * 1.2 MB, constant; allocates in create only.
 */
#ifndef SIDECOMB_DEVIATION_H
#define SIDECOMB_DEVIATION_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/api.h>
#include <sidecomb/composite.h>
#include <sidecomb/error.h>
#include <sidecomb/quantity.h>

enum { SC_DEVIATION_CLASSES = 150, SC_DEVIATION_MOMENTS = 512 };
#define SC_DEVIATION_LIMIT_KHZ 75.0

/* Peaks above and below the mean frequency, raw, both > 0 where the deviation goes both ways. */
struct sc_deviation_moment {
  float positive_khz, negative_khz;
};

struct sc_deviation {
  struct sc_quantity offset_khz;                 /* mean frequency in the channel */
  struct sc_quantity positive_khz, negative_khz; /* peaks above and below it, raw, both > 0 */
  struct sc_quantity peak_khz;                   /* the larger, raw */
  struct sc_quantity corrected_khz;              /* the larger, without what noise adds */
  struct sc_quantity rms_khz;                    /* without the capture's noise */
  struct sc_quantity power_dbr;                  /* of the composite, highest window */
  struct sc_quantity power_window_s;             /* 60, or what there is */
  struct sc_quantity power_at_least_dbr;         /* over 60 s, of which less was seen, whatever is
                                                    sent in the rest; exact */
  struct sc_quantity cut_off_khz;                /* of sc_deviation_cut_off */
  enum sc_truth power_complete;                  /* 60 s were seen */
  struct sc_quantity exceeded_percent;           /* of the time, magnitude above the limit */
  struct sc_quantity intervals_exceeded_percent; /* of the 50 ms intervals */
  /* The highest class, by its lower end, that so many of the intervals reach or pass; absent where
   * that is the last one, which has no upper end. */
  struct sc_quantity intervals_half_khz, intervals_tenth_khz, intervals_hundredth_khz;
  uint32_t intervals[SC_DEVIATION_CLASSES]; /* those whose peak is in [i, i + 1) kHz; the
                                               last holds all above too */
  uint64_t interval_count;
  struct sc_deviation_moment moments[SC_DEVIATION_MOMENTS];
  size_t moment_count;
  double moment_s; /* length of one; 0: none */
  float
      time_above_percent[SC_DEVIATION_CLASSES]; /* of the time the magnitude is above i kHz, raw */
};

struct sc_deviation_settings {
  double rate_hz;
  bool absolute;    /* input is kHz of deviation; otherwise nothing is measured */
  double limit_khz; /* 0: 75 */
};

struct sc_deviation_meter;
/* SC_BAD_ARGUMENT: a rate below 40 kS/s. */
SC_API SC_MUST_USE enum sc_error sc_deviation_create(const struct sc_deviation_settings *settings,
                                                     struct sc_deviation_meter **meter);
SC_API void sc_deviation_feed(struct sc_deviation_meter *meter, const float *composite,
                              size_t frames, bool discontinuity);
/* Less than 50 ms: not measured. */
SC_API void sc_deviation_result(const struct sc_deviation_meter *meter,
                                const struct sc_composite_noise *noise,
                                struct sc_deviation *deviation);
/* Afterwards, with the pilot as measured, in kHz; NAN: there is none. */
SC_API void sc_deviation_cut_off(const struct sc_deviation_meter *meter, double pilot_khz,
                                 struct sc_deviation *deviation);
SC_API void sc_deviation_reset(struct sc_deviation_meter *meter);
SC_API void sc_deviation_destroy(struct sc_deviation_meter *meter);
/* Everything not measured, for one reason. */
SC_API void sc_deviation_refuse(struct sc_deviation *deviation, const char *why);

#endif
