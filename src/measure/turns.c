/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/turns.h"

static size_t least(size_t frames, uint64_t left)
{
  return left < frames ? (size_t)left : frames;
}

struct measure_turn measure_turns_next(struct measure_turns *turns, size_t frames)
{
  const uint64_t at = turns->at;
  if (at < turns->whole) {
    const size_t run = least(frames, turns->whole - at);
    turns->at += run;
    return (struct measure_turn){run, true, false};
  }
  /* the last of four is on, so that the first pause comes at once */
  const uint64_t cycle = MEASURE_TURNS_OF * turns->each, into = (at - turns->whole) % cycle;
  const uint64_t off = cycle - turns->each;
  const bool on = into >= off;
  const size_t run = least(frames, (on ? cycle : off) - into);
  turns->at += run;
  return (struct measure_turn){run, on, into == off};
}
