/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a component makes of each line: a Bessel function of its index. */
#ifndef SIDECOMB_ACCOUNT_BESSEL_H
#define SIDECOMB_ACCOUNT_BESSEL_H

#include "account/predict.h"

struct account_order {
  double value; /* J_n */
  double slope; /* dJ_n / d index */
  double reach; /* |J_n| with the index's uncertainty */
};

/* Of one component. */
struct account_factor {
  struct account_order *orders; /* 0 ... top */
  int top;                      /* highest order that is kept */
  double index, index_uncertainty;
  double complex turn; /* by the component's phase */
};

struct account_bessel {
  struct account_factor factors[ACCOUNT_COMPONENTS_MAX]; /* in the order of the components */
  size_t order[ACCOUNT_COMPONENTS_MAX];                  /* components by falling index */
  double rest[ACCOUNT_COMPONENTS_MAX + 1]; /* most that the ones from here on can make */
};

/* Of the prediction's components, as far as they reach its floor. SC_UNSUPPORTED: an order above
 * ACCOUNT_ORDER_MAX does; SC_NO_MEMORY. */
enum sc_error account_bessel_fill(struct account_prediction *prediction);
void account_bessel_destroy(struct account_bessel *bessel);

#endif
