/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "account/bessel.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

static const double most_doubt = 0.05; /* of an index, that lines are kept for */

/* J_(n + 1). Up to the index by recurrence, which is stable there (Abramowitz and Stegun 9.1.27 and
 * 9.12), as each order by itself takes as many steps as it is high. */
static double next_order(int n, double index, double before, double now)
{
  return n > 0 && n < index ? 2 * n / index * now - before : jn(n + 1, index);
}

/* Room for one more. */
static bool make_room(struct account_factor *factor, size_t count, size_t *room)
{
  enum { LEAST = 16 };
  if (count < *room)
    return true;
  const size_t more = *room > 0 ? 2 * *room : LEAST;
  struct account_order *orders = realloc(factor->orders, more * sizeof *orders);
  if (orders == NULL)
    return false;
  factor->orders = orders;
  *room = more;
  return true;
}

static enum sc_error fill_orders(struct account_factor *factor, double floor)
{
  const double index = factor->index, doubt = fmin(factor->index_uncertainty, most_doubt);
  double before = -jn(1, index), now = jn(0, index);
  size_t room = 0;
  for (int n = 0; n <= ACCOUNT_ORDER_MAX; n++) {
    if (!make_room(factor, (size_t)n, &room))
      return SC_NO_MEMORY;
    const double after = next_order(n, index, before, now), slope = (before - after) / 2;
    factor->orders[n] = (struct account_order){now, slope, hypot(now, slope * doubt)};
    factor->top = n;
    if (n >= index && factor->orders[n].reach < floor)
      return SC_OK;
    before = now;
    now = after;
  }
  return SC_UNSUPPORTED;
}

static enum sc_error fill_factor(const struct account_component *component, double floor,
                                 struct account_factor *factor)
{
  factor->index = account_component_index(component);
  factor->turn = cexp(I * component->phase_rad);
  factor->index_uncertainty = 1e3 * component->deviation_uncertainty_khz / component->frequency_hz;
  return factor->index < ACCOUNT_ORDER_MAX ? fill_orders(factor, floor) : SC_UNSUPPORTED;
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
    most = fmax(most, factor->orders[n].reach);
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

void account_bessel_destroy(struct account_bessel *bessel)
{
  for (size_t i = 0; bessel != NULL && i < ACCOUNT_COMPONENTS_MAX; i++)
    free(bessel->factors[i].orders);
  free(bessel);
}
