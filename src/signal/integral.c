/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Eight-point integration over the middle interval. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <string.h>

#include "signal/clones.h"
#include "signal/integral.h"

SIGNAL_CLONES
static void middle(const double *restrict x, double *restrict step, size_t count)
{
  for (size_t i = 0; i < count; i++)
    step[i] = (68323.0 / 120960) * (x[i + 3] + x[i + 4]) -
              (9531.0 / 120960) * (x[i + 2] + x[i + 5]) +
              (1879.0 / 120960) * (x[i + 1] + x[i + 6]) - (191.0 / 120960) * (x[i] + x[i + 7]);
}

void signal_integral_run(struct signal_integral *integral, const double *in, double *step,
                         size_t count)
{
  memcpy(integral->past + SIGNAL_INTEGRAL_POINTS - 1, in, count * sizeof *in);
  middle(integral->past, step, count);
  memmove(integral->past, integral->past + count,
          (SIGNAL_INTEGRAL_POINTS - 1) * sizeof *integral->past);
}
