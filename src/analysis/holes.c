/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/holes.h"

#include <string.h>

#include "common/kernel.h"

enum { HOLE_LEAST = 8, ALONE_MOST = 100 /* one of so many frames */ };

static bool is_zero(const float *frame)
{
  return frame[0] == 0 && frame[1] == 0;
}

/* Nearly all that is fed has no zero, or nothing else. By whole frames, I and Q without their
 * signs: 0.25 ns a frame in place of 0.31 by its two numbers. */
SC_KERNEL
static void look(const float *restrict iq, size_t frames, bool *any, bool *all)
{
  static const uint64_t numbers = UINT64_C(0x7fffffff7fffffff);
  uint64_t some = 0, bits = 0;
  for (size_t n = 0; n < frames; n++) {
    uint64_t frame;
    memcpy(&frame, iq + 2 * n, sizeof frame);
    frame &= numbers;
    bits |= frame;
    some |= frame == 0;
  }
  *any = some != 0;
  *all = bits == 0;
}

static bool is_hole(const struct analysis_holes *holes)
{
  return holes->row >= HOLE_LEAST && holes->alone * ALONE_MOST < holes->frames;
}

/* The length of the hole that ends here, 0: it was none. */
static uint64_t end_row(struct analysis_holes *holes)
{
  const uint64_t length = holes->begun && is_hole(holes) ? holes->row : 0;
  if (holes->row < HOLE_LEAST)
    holes->alone += holes->row;
  holes->row = 0;
  holes->begun = true;
  return length;
}

bool analysis_holes_feed(struct analysis_holes *holes, const float *iq, size_t frames,
                         uint64_t *ended)
{
  bool found = false, any, all;
  *ended = 0;
  holes->frames += frames;
  look(iq, frames, &any, &all);
  if (all) {
    holes->row += frames;
    return is_hole(holes);
  }
  if (!any) {
    *ended = end_row(holes);
    return false;
  }
  for (size_t n = 0; n < frames; n++) {
    const uint64_t length = is_zero(iq + 2 * n) ? 0 : end_row(holes);
    holes->row += is_zero(iq + 2 * n);
    found = found || is_hole(holes);
    *ended = length > 0 ? length : *ended;
  }
  return found;
}

void analysis_holes_break(struct analysis_holes *holes)
{
  end_row(holes);
  holes->begun = false;
}
