/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A file that is still being written: waits for more of it, and tells when no more will come. */
#ifndef SIDECOMB_CAPTURE_GROWTH_H
#define SIDECOMB_CAPTURE_GROWTH_H

#include <stdbool.h>
#include <stdint.h>

#include <sidecomb/error.h>

struct capture_growth;

/* `file` is open for reading at `path` and stays the caller's. */
enum sc_error capture_growth_open(const char *path, int file, struct capture_growth **growth,
                                  struct sc_message *message);
/* Readable while more may be there than capture_growth_read was told, or the file has ended. */
int capture_growth_descriptor(const struct capture_growth *growth);
/* Why no more will come. */
enum capture_growth_end {
  CAPTURE_GROWTH_GOES_ON,
  CAPTURE_GROWTH_CLOSED,  /* by its last writer */
  CAPTURE_GROWTH_REMOVED, /* nobody can find it to write to it, though nobody closed it */
};
/* The file's size once it is at least `wanted` bytes, or less than the `read` that were read
 * already, or the file has ended. */
uint64_t capture_growth_wait(struct capture_growth *growth, uint64_t read, uint64_t wanted,
                             enum capture_growth_end *end);
/* Whether capture_growth_wait would return at once; else the descriptor waits for another write. */
bool capture_growth_ready(struct capture_growth *growth, uint64_t read, uint64_t wanted);
/* Says how many bytes were read, and how many the next read needs to be there. */
void capture_growth_read(struct capture_growth *growth, uint64_t wanted);
/* Accepts NULL. */
void capture_growth_close(struct capture_growth *growth);

#endif
