/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Extremes over time. */
#include "measure/moments.h"

static void halve(struct measure_moments *m)
{
  for (size_t i = 0; i < MEASURE_MOMENTS / 2; i++) {
    m->at[i] = m->at[2 * i];
    measure_extremes_widen(&m->at[i], &m->at[2 * i + 1]);
  }
  m->count = MEASURE_MOMENTS / 2;
  m->each *= 2;
}

void measure_moments_add(struct measure_moments *moments, const struct measure_extremes *interval)
{
  struct measure_moments *m = moments;
  if (m->each == 0)
    m->each = 1;
  if (m->filled == 0)
    m->begun = measure_extremes_none();
  measure_extremes_widen(&m->begun, interval);
  if (++m->filled < m->each)
    return;
  m->at[m->count++] = m->begun;
  m->filled = 0;
  if (m->count == MEASURE_MOMENTS)
    halve(m);
}
