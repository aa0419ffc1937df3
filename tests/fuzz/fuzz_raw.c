/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Fuzz target: bare samples. The first line of the input is the name of their type, the
 * rest the samples. */
#include <config.h>

#include <string.h>

#include "fuzz/source.h"
#include "fuzz/target.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  char type[24] = "";
  const uint8_t *end = size > 0 ? memchr(data, '\n', size) : NULL;
  size_t length = end != NULL ? (size_t)(end - data) : 0;
  if (length >= sizeof type)
    return 0;
  if (length > 0)
    memcpy(type, data, length);
  size_t skipped = end != NULL ? length + 1 : 0;
  struct sc_source_options options = {
      .path = fuzz_file("input.raw", data + skipped, size - skipped),
      .type = type,
      .rate_hz = 250000,
  };
  fuzz_read(&options);
  options.as = SC_KIND_IQ;
  fuzz_read(&options);
  return 0;
}
