/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The numbers on which the kind of a capture is decided. */
#ifndef SIDECOMB_MEASURE_KIND_EVIDENCE_H
#define SIDECOMB_MEASURE_KIND_EVIDENCE_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/error.h>

/* Below, S are averaged spectra of the channels a (left, I) and b (right, Q) without their
 * means, and sums run over all positive frequencies. Common practice, no source, except for
 * properness: F. D. Neeser and J. L. Massey, IEEE Trans. Inf. Theory 39, 1993. */
struct kind_channel {
  double power;      /* mean square without the mean */
  double high_share; /* of the power: above 20.5 kHz, beyond any audio */
  bool has_line;     /* a narrow line within 20 Hz of 19 kHz */
  double line_hz;
  double line_over_db;  /* over the level around it, in the resolution used */
  double line_under_db; /* below the channel's power, positive */
};

struct kind_evidence {
  struct kind_channel channel[2];
  double constant_share; /* of the whole power: the mean of a + jb */
  double coherence;      /* |sum Re Sab| / sqrt(sum Saa sum Sbb): 1 for a copy */
  double imbalance;      /* sum |Saa - Sbb| / sum (Saa + Sbb): 0 for I and Q */
  double in_phase;       /* sum |Re Sab| / sum sqrt(Saa Sbb): 0 for I and Q */
  double quadrature;     /* sum |Im Sab| / sum sqrt(Saa Sbb): 1 when the spectrum of a + jb
                            has power only on one side of each frequency */
  double bias;           /* what the last three read for independent noise, about */
  double high_share;     /* of both channels: above 20.5 kHz */
  double top_share; /* of the power: in the strongest line, main lobe of the coarse resolution */
  double envelope;  /* variance of |a + jb|^2 over the square of its mean: 0 when
                       constant, 1 for noise */
  double envelope_alone; /* the smaller one of a^2 and of b^2 alone, means kept */
};

/* frames * channels floats, at least 2048 frames. Fails with SC_NO_MEMORY only. */
enum sc_error kind_gather(const float *samples, size_t frames, unsigned channels, double rate_hz,
                          struct kind_evidence *evidence);

#endif
