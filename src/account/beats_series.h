/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a discriminator makes of one-sided lines beside a modulated carrier.
 *
 * exp(j p) + sum e_i exp(j w_i t) has a phase of p and, with z_i = e_i exp(j w_i t - j p), the
 * imaginary part of log(1 + sum z_i) = sum z - (sum z)^2 / 2 + (sum z)^3 / 3 ..., as long as that
 * converges (Abramowitz and Stegun 4.1.24). So a product of n such lines beats with the lines of
 * exp(j n p), which are those of n times the deviation. A discriminator that works on samples sees
 * them all, also what is beyond half their rate, at the frequencies that sampling makes of them. */
#ifndef SIDECOMB_ACCOUNT_BEATS_SERIES_H
#define SIDECOMB_ACCOUNT_BEATS_SERIES_H

#include <complex.h>
#include <stddef.h>

#include <sidecomb/error.h>

#include "account/predict.h"
#include "account/scene.h"

enum { ACCOUNT_MAKERS_MAX = 4, ACCOUNT_BEAT_ORDER_MAX = 12, ACCOUNT_TERMS_MAX = 96 };

struct account_maker {
  const struct sc_line *line;
  double complex amplitude; /* re the carrier */
  double doubt;             /* of it, relative */
};

/* One product of makers. */
struct account_term {
  int order;
  double offset_hz, uncertainty_hz;
  double complex amplitude;
  double doubt;                 /* relative */
  const struct sc_line *leader; /* the strongest of its makers */
};

struct account_series {
  struct account_maker makers[ACCOUNT_MAKERS_MAX]; /* the strongest first */
  size_t maker_count;
  struct account_term terms[ACCOUNT_TERMS_MAX];
  size_t term_count;
  double least;                                                 /* of a term */
  struct account_prediction powers[ACCOUNT_BEAT_ORDER_MAX + 1]; /* of exp(j n p), by n */
  int order;                                                    /* the highest there is one of */
};

/* At one place of the composite. */
struct account_beat {
  double complex sum; /* a modulation index, with the phase of its sine */
  double sizes;       /* sum of the sizes of all */
  double doubt;       /* standard uncertainty of the sum */
  double strongest;
  const struct account_term *leader; /* that makes most of it; NULL: there is none */
};

/* From the makers, all terms that may show on the composite, and what they beat with. Where a tone
 * turns the carrier too far for an order, those below remain. Errors of account_predict. */
enum sc_error account_series_find(struct account_scene *scene, struct account_series *series);
struct account_beat account_series_beat(const struct account_scene *scene,
                                        const struct account_series *series,
                                        const struct sc_line *line);
void account_series_destroy(struct account_series *series);

#endif
