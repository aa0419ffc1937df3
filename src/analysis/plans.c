/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#include <sidecomb/plans.h>

#include "dsp/fft.h"

bool sc_plans_take(const char *text)
{
  return dsp_plans_take(text);
}

char *sc_plans_text(void)
{
  return dsp_plans_text();
}
