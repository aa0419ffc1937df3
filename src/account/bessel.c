/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "account/bessel.h"

#include <math.h>

static const double most_doubt = 0.05; /* of an index, that lines are kept for */

static enum sc_error fill_factor(const struct account_component *component, double floor,
                                 struct account_factor *factor)
{
  factor->index = 1e3 * component->deviation_khz / component->frequency_hz;
  factor->turn = cexp(I * component->phase_rad);
  factor->index_uncertainty = 1e3 * component->deviation_uncertainty_khz / component->frequency_hz;
  double before = -jn(1, factor->index), now = jn(0, factor->index);
  for (int n = 0; n <= ACCOUNT_ORDER_MAX; n++) {
    double after = jn(n + 1, factor->index);
    factor->value[n] = now;
    factor->slope[n] = (before - after) / 2;
    factor->reach[n] = hypot(now, factor->slope[n] * fmin(factor->index_uncertainty, most_doubt));
    factor->top = n;
    if (n >= factor->index && factor->reach[n] < floor)
      return SC_OK;
    before = now;
    now = after;
  }
  return SC_UNSUPPORTED;
}

static void sort_components(struct account_bessel *bessel, size_t count)
{
  for (size_t i = 0; i < count; i++) {
    size_t at = i;
    double index = bessel->factors[i].index;
    for (; at > 0 && bessel->factors[bessel->order[at - 1]].index < index; at--)
      bessel->order[at] = bessel->order[at - 1];
    bessel->order[at] = i;
  }
}

static double most_of(const struct account_factor *factor)
{
  double most = 0;
  for (int n = 0; n <= factor->top; n++)
    most = fmax(most, factor->reach[n]);
  return most;
}

enum sc_error account_bessel_fill(struct account_prediction *prediction)
{
  struct account_bessel *bessel = prediction->bessel;
  size_t count = prediction->component_count;
  for (size_t i = 0; i < count; i++) {
    enum sc_error error =
        fill_factor(&prediction->components[i], prediction->floor, &bessel->factors[i]);
    if (error != SC_OK)
      return error;
  }
  sort_components(bessel, count);
  bessel->rest[count] = 1;
  for (size_t i = count; i > 0; i--)
    bessel->rest[i - 1] = bessel->rest[i] * most_of(&bessel->factors[bessel->order[i - 1]]);
  return SC_OK;
}
