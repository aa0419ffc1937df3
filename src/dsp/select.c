/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Selection by partition (C. A. R. Hoare, Communications of the ACM 4, 1961, algorithm 65), after
 * one count by exponent and leading bits has set aside all but a few of many values: a partition's
 * branches are hard to foresee, a count has none. */
#include "dsp/select.h"

#include <stdint.h>
#include <string.h>

enum { MANY = 128, LEADING_BITS = 12, TRAILING_BITS = 32 - LEADING_BITS };
enum { CLASSES = 1 << LEADING_BITS };

static void swap(float *a, float *b)
{
  float kept = *a;
  *a = *b;
  *b = kept;
}

static float partition(float *values, size_t count, size_t rank)
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

/* IEEE 754 floats in their order, as an unsigned number's leading bits. */
static uint32_t class_of(float value)
{
  uint32_t bits;
  memcpy(&bits, &value, sizeof bits);
  bits ^= bits >> 31 ? UINT32_MAX : (uint32_t)1 << 31;
  return bits >> TRAILING_BITS;
}

/* Moves the class that holds the rank to the front, and returns its size; *rank is then the rank
 * within it. */
static size_t set_aside(float *values, size_t count, size_t *rank)
{
  uint16_t counts[CLASSES] = {0};
  uint32_t lowest = CLASSES;
  for (size_t i = 0; i < count; i++) {
    uint32_t own = class_of(values[i]);
    counts[own]++;
    lowest = own < lowest ? own : lowest;
  }
  uint32_t chosen = lowest;
  for (; *rank >= counts[chosen]; chosen++)
    *rank -= counts[chosen];
  size_t kept = 0;
  for (size_t i = 0; i < count; i++) {
    float value = values[i];
    values[i] = values[kept];
    values[kept] = value;
    kept += class_of(value) == chosen;
  }
  return kept;
}

float dsp_select(float *values, size_t count, size_t rank)
{
  if (count > MANY && count <= UINT16_MAX)
    count = set_aside(values, count, &rank);
  return partition(values, count, rank);
}
