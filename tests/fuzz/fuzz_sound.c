/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Fuzz target: sound files, header and samples. */
#include <config.h>

#include "fuzz/source.h"
#include "fuzz/target.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  struct sc_source_options options = {.path = fuzz_file("input.wav", data, size)};
  fuzz_read(&options);
  options.as = SC_KIND_AUDIO;
  fuzz_read(&options);
  return 0;
}
