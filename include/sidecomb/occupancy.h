/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Occupied bandwidth of one channel, from the averaged spectrum of the capture.
 *
 * 99 % bandwidth: the width outside of which 0.5 % of the mean power lies to either side (ITU
 * Radio Regulations 1.153; 47 CFR 2.202(a); Rec. ITU-R SM.443, annex 1, the beta-% method with
 * beta/2 = 0.5 %). The power is integrated over a stated span around the carrier after the
 * noise density times the bandwidth of each point has been taken away, so that a wide capture
 * does not read wider than a narrow one.
 *
 * -26 dB width: between the outermost points of the held maximum that reach 26 dB below its
 * highest point (Rec. ITU-R SM.443, annex 2, the x-dB method), in the trace's own resolution
 * bandwidth, which is therefore stated.
 *
 * Carson's rule: 2 (D + f), D the peak deviation, f the highest frequency that modulates
 * (J. R. Carson, Proc. IRE 10, 1922; the form of Rec. ITU-R SM.1138): for comparison, no
 * measurement of the spectrum.
 *
 * Input: a trace of power over frequency, as sc_spectrum gives it. Cost O(points). No memory.
 */
#ifndef SIDECOMB_OCCUPANCY_H
#define SIDECOMB_OCCUPANCY_H

#include <sidecomb/api.h>
#include <sidecomb/quantity.h>
#include <sidecomb/spectrum.h>

/* Half the span that is integrated where the capture reaches so far: the channel of 175 kHz
 * to either side, which loses less than 0.1 % of a full stereo signal (computed). */
#define SC_OCCUPANCY_HALF_SPAN_HZ 175000.0

struct sc_occupancy {
  struct sc_quantity obw99_hz;
  struct sc_quantity lower_hz, upper_hz; /* its edges, from the carrier */
  struct sc_quantity minus26db_hz;
  struct sc_quantity carson_hz;
  struct sc_quantity span_hz;          /* integrated, exact */
  struct sc_quantity rbw_hz;           /* of the trace, exact */
  struct sc_quantity coverage_percent; /* of the capture, by the trace's records; exact */
};

struct sc_occupancy_settings {
  double carrier_hz;    /* in the trace's frequencies */
  double noise_density; /* power per hertz; NAN: unknown, nothing is taken away */
  double noise_density_relative_uncertainty;
  double deviation_khz; /* peak, NAN: unknown */
  double top_hz;        /* highest frequency that modulates, NAN: unknown */
};

/* A trace without points, or without power above the noise in the span, measures nothing. */
SC_API struct sc_occupancy sc_occupancy_measure(const struct sc_trace *trace,
                                                const struct sc_occupancy_settings *settings);

#endif
