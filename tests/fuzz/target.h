/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What every fuzz target defines, under the name that libFuzzer asks for. */
#ifndef SIDECOMB_TESTS_FUZZ_TARGET_H
#define SIDECOMB_TESTS_FUZZ_TARGET_H

#include <stddef.h>
#include <stdint.h>

/* Feeds one input to the code under test. Returns 0; a defect ends the program. */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

#endif
