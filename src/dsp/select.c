/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Selection by partition (C. A. R. Hoare, Communications of the ACM 4, 1961, algorithm 65). */
#include "dsp/select.h"

static void swap(float *a, float *b)
{
  float kept = *a;
  *a = *b;
  *b = kept;
}

float dsp_select(float *values, size_t count, size_t rank)
{
  ptrdiff_t low = 0, high = (ptrdiff_t)count - 1, wanted = (ptrdiff_t)rank;
  while (low < high) {
    float pivot = values[(low + high) / 2];
    ptrdiff_t i = low, j = high;
    while (i <= j) {
      while (values[i] < pivot)
        i++;
      while (pivot < values[j])
        j--;
      if (i <= j)
        swap(&values[i++], &values[j--]);
    }
    if (wanted <= j)
      high = j;
    else if (wanted >= i)
      low = i;
    else
      break;
  }
  return values[rank];
}
