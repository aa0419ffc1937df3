/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Fuzz target: SigMF metadata beside a data file that never changes. */
#include <config.h>

#include "fuzz/source.h"
#include "fuzz/target.h"

enum { DATA_BYTES = 3000 };

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  uint8_t samples[DATA_BYTES];
  for (size_t i = 0; i < DATA_BYTES; i++)
    samples[i] = (uint8_t)(i * i);
  (void)fuzz_file("input.sigmf-data", samples, sizeof samples);
  struct sc_source_options options = {.path = fuzz_file("input.sigmf-meta", data, size)};
  fuzz_read(&options);
  options.as = SC_KIND_IQ;
  fuzz_read(&options);
  return 0;
}
