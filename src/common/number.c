/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#include "common/number.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

struct common_number common_number(double value, int decimals, bool sign)
{
  struct common_number out;
  const int length = snprintf(out.text, sizeof out.text, sign ? "%+.*f" : "%.*f", decimals, value);
  if (!isfinite(value) || length < 0 || (size_t)length >= sizeof out.text)
    (void)snprintf(out.text, sizeof out.text, "%g", value);
  else if ((out.text[0] == '-' || out.text[0] == '+') && strpbrk(out.text, "123456789") == NULL)
    memmove(out.text, out.text + 1, (size_t)length);
  return out;
}
