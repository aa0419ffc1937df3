/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a component makes of each line: a Bessel function of its index. */
#ifndef SIDECOMB_ACCOUNT_BESSEL_H
#define SIDECOMB_ACCOUNT_BESSEL_H

#include "account/predict.h"

/* Of one component, by order. */
struct account_factor {
  double value[ACCOUNT_ORDER_MAX + 1]; /* J_n */
  double slope[ACCOUNT_ORDER_MAX + 1]; /* dJ_n / d index */
  double reach[ACCOUNT_ORDER_MAX + 1]; /* |J_n| with the index's uncertainty */
  int top;                             /* highest order that is kept */
  double index, index_uncertainty;
  double complex turn; /* by the component's phase */
};

struct account_bessel {
  struct account_factor factors[ACCOUNT_COMPONENTS_MAX]; /* in the order of the components */
  size_t order[ACCOUNT_COMPONENTS_MAX];                  /* components by falling index */
  double rest[ACCOUNT_COMPONENTS_MAX + 1]; /* most that the ones from here on can make */
};

/* Of the prediction's components, as far as they reach its floor. SC_UNSUPPORTED: an order above
 * ACCOUNT_ORDER_MAX does. */
enum sc_error account_bessel_fill(struct account_prediction *prediction);

#endif
