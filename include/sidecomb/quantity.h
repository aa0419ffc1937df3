/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A measured number with its uncertainty, or the reason why there is none. */
#ifndef SIDECOMB_QUANTITY_H
#define SIDECOMB_QUANTITY_H

#include <math.h>
#include <stddef.h>

/* The member that holds a quantity carries the unit in its name (`offset_hz`), and
 * `uncertainty` is one standard uncertainty (k = 1) in that unit.
 *
 * why == NULL: measured; `value` is finite, `uncertainty` is finite where the quantity
 * is an estimate, and NAN where it is exact or a plain count.
 * why != NULL: not measurable here; both numbers are NAN and `why` is a sentence
 * without full stop, a string that lives as long as the program. */
struct sc_quantity {
  double value;
  double uncertainty;
  const char *why;
};

static inline struct sc_quantity sc_measured(double value, double uncertainty)
{
  return (struct sc_quantity){value, uncertainty, NULL};
}

static inline struct sc_quantity sc_not_measured(const char *why)
{
  return (struct sc_quantity){(double)NAN, (double)NAN, why};
}

/* Yes or no with evidence, or the reason why it cannot be told. */
enum sc_truth { SC_UNKNOWN, SC_NO, SC_YES };

#endif
