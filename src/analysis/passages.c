/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/passages.h"

#include <string.h>

static double pause_after(const struct sc_passages *passages, size_t i)
{
  return passages->at[i + 1].from_s - passages->at[i].to_s;
}

static void join_nearest(struct sc_passages *passages)
{
  struct sc_passage *at = passages->at;
  size_t nearest = 0;
  for (size_t i = 1; i + 1 < passages->count; i++)
    nearest = pause_after(passages, i) < pause_after(passages, nearest) ? i : nearest;
  at[nearest].to_s = at[nearest + 1].to_s;
  memmove(at + nearest + 1, at + nearest + 2, (passages->count - nearest - 2) * sizeof *at);
  passages->count--;
}

void analysis_passages_add(struct sc_passages *passages, double from_s, double to_s)
{
  struct sc_passage *at = passages->at;
  if (passages->count > 0 && from_s <= at[passages->count - 1].to_s) {
    at[passages->count - 1].to_s = to_s;
    return;
  }
  if (passages->count == SC_PASSAGES_MAX)
    join_nearest(passages);
  at[passages->count++] = (struct sc_passage){from_s, to_s};
}
