/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Fuzz target: clean text. Cleaning twice changes nothing, and no control byte survives. */
#include <config.h>

#include <stdlib.h>
#include <string.h>

#include "common/text.h"
#include "fuzz/target.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  char once[256], twice[256];
  size_t first = common_clean(once, sizeof once, (const char *)data, size);
  size_t second = common_clean(twice, sizeof twice, once, first);
  if (first > size || first != second || memcmp(once, twice, first + 1) != 0)
    abort();
  for (size_t i = 0; i < first; i++)
    if ((unsigned char)once[i] < 0x20 || once[i] == 0x7f)
      abort();
  return 0;
}
