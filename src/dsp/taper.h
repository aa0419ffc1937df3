/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Means of a stream under tapers that span all of it, however long it gets, in constant memory.
 *
 * A taper (1 - u^2)^p, u from -1 to 1 over the record, needs only the stream's moments in u up to
 * 2 p. They are kept for stretches of the record, each in coordinates of its own, and moved to
 * those of the whole when a mean is asked for: no block sums that would fold a tone onto zero.
 *
 * Of the frequency of a tone in white noise, p = 1 is the best linear estimate (least squares on
 * the phase; S. A. Tretter, IEEE Trans. Inf. Theory IT-31, 1985); higher p lets less of a
 * modulation through: (T f)^-(p + 1). */
#ifndef SIDECOMB_DSP_TAPER_H
#define SIDECOMB_DSP_TAPER_H

#include <stddef.h>
#include <stdint.h>

enum {
  DSP_TAPER_ORDER = 4,
  DSP_TAPER_MOMENTS = 2 * DSP_TAPER_ORDER + 1,
  DSP_TAPER_STRETCHES = 12,
  DSP_TAPER_BLOCK = 1024
};

struct dsp_taper {
  uint64_t frames;
  uint64_t stretch_frames; /* of one stretch: a block times a power of two */
  size_t stretches;        /* complete ones */
  double moment[DSP_TAPER_STRETCHES][DSP_TAPER_MOMENTS];
  double begun[DSP_TAPER_MOMENTS]; /* blocks of the next stretch */
  double block[DSP_TAPER_MOMENTS]; /* frames of the next block */
  double last[DSP_TAPER_MOMENTS];  /* of the last complete block, in its own coordinates */
};

void dsp_taper_reset(struct dsp_taper *taper);
void dsp_taper_feed(struct dsp_taper *taper, const float *in, size_t frames);
/* Adds moments in v to moments in u = scale v + shift. */
void dsp_taper_move(double *to, const double *from, double scale, double shift);
/* Of so many frames, from their moments. */
double dsp_taper_mean_of(const double *moment, int p, double frames);
/* 0 <= p <= DSP_TAPER_ORDER; 0 when nothing was fed. */
double dsp_taper_mean(const struct dsp_taper *taper, int p);
/* Means of the complete stretches by themselves; returns their number. */
size_t dsp_taper_stretch_means(const struct dsp_taper *taper, int p,
                               double means[DSP_TAPER_STRETCHES]);
/* How much the stream grows over a record of unit length: slope of the line that fits best under
 * the weight (1 - u^2)^(p - 1), p = DSP_TAPER_ORDER. Of a modulation it lets (T f)^-p through. 0
 * when nothing was fed. */
double dsp_taper_growth(const struct dsp_taper *taper);
/* For a record of unit length, the variance of that by the difference of a white disturbance of
 * unit density; it goes with T^-5 where the growth is told per second. */
double dsp_taper_growth_square(void);
/* For a record of unit length, the integrals of the taper's square and of its slope's: a white
 * disturbance of two-sided density S gives the mean the variance S * square / T, the difference
 * of a white one S * slope / T^3. */
double dsp_taper_square(int p);
double dsp_taper_slope(int p);

#endif
