/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the targets of capture formats share: inputs as files, and a whole reading. */
#ifndef SIDECOMB_TESTS_FUZZ_SOURCE_H
#define SIDECOMB_TESTS_FUZZ_SOURCE_H

#include <stddef.h>

#include <sidecomb/capture.h>

/* Writes `size` bytes to a file `name` in this process's own temporary folder, which is
 * removed when the process ends. Returns its path, valid until the process ends. */
const char *fuzz_file(const char *name, const void *data, size_t size);

/* Opens, reads to the end, seeks and closes. Aborts where the contract of
 * <sidecomb/capture.h> is broken: a failure without a clean line, a sample that is not
 * finite, a block that is larger than asked, text with a control character. */
void fuzz_read(const struct sc_source_options *options);

#endif
