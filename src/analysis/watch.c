/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Level windows of 20 ms: long enough that noise moves them by less than 0.1 dB, short enough
 * to say when a jump came. A window is compared with the last but one, since a jump seldom
 * falls between two windows. */
#include <config.h>

#include "analysis/watch.h"

#include <inttypes.h>
#include <math.h>

#include "capture/notice.h"
#include "common/number.h"

void watch_start(struct watch *watch, double rate_hz, bool steady)
{
  *watch = (struct watch){.rate_hz = rate_hz, .steady = steady};
  double frames = ceil(rate_hz * WATCH_WINDOW_S);
  watch->window_frames = frames < 1 ? 1 : frames > 1e9 ? (size_t)1e9 : (size_t)frames;
}

size_t watch_room(const struct watch *watch)
{
  return watch->window_frames - watch->filled;
}

void watch_break(struct watch *watch)
{
  watch->history = 0;
  watch->filled = 0;
  watch->energy = 0;
}

static bool is_jump(double before, double after)
{
  double ratio = pow(10, WATCH_JUMP_DB / 10);
  return after > before * ratio || before > after * ratio;
}

static void note_jump(struct watch *watch, double at_s, double before, double after)
{
  if (watch->jumps++ == 0) {
    watch->jump_at_s = at_s;
    watch->jump_from_db = 10 * log10(before);
    watch->jump_to_db = 10 * log10(after);
  }
}

static void end_window(struct watch *watch, uint64_t end)
{
  double power = watch->energy / (double)watch->filled;
  double window_s = (double)watch->filled / watch->rate_hz;
  double start_s = (double)end / watch->rate_hz - window_s;
  watch->filled = 0;
  watch->energy = 0;
  if (power <= 0) {
    watch->empty_at_s = watch->empty_windows++ == 0 ? start_s : watch->empty_at_s;
    watch->history = 0;
    return;
  }
  if (watch->history == 2 && is_jump(watch->last[1], power)) {
    note_jump(watch, start_s, watch->last[1], power);
    watch->history = 0;
  }
  watch->last[1] = watch->last[0];
  watch->last[0] = power;
  watch->history = watch->history < 2 ? watch->history + 1 : 2;
}

void watch_add(struct watch *watch, uint64_t first, size_t frames, const struct capture_scan *scan)
{
  if (first < watch->seen)
    return;
  watch->seen = first + frames;
  watch->frames += frames;
  watch->total.clipped += scan->clipped;
  watch->total.invalid += scan->invalid;
  watch->total.energy += scan->energy;
  watch->total.peak = fmaxf(watch->total.peak, scan->peak);
  watch->energy += scan->energy;
  watch->filled += frames;
  if (watch->filled >= watch->window_frames)
    end_window(watch, first + frames);
}

static double percent(uint64_t part, uint64_t whole)
{
  return 100 * (double)part / (double)whole;
}

/* Levels are those of mean power re a full-scale sine for real samples, re a full-scale
 * complex exponential for IQ. */
static void note_levels(const struct watch *watch, const struct sc_source_info *info,
                        struct sc_notices *notices)
{
  if (watch->steady && watch->jumps > 0)
    capture_notice(notices,
                   "the level jumps %" PRIu64 " time%s by more than %g dB, first at %.2f s from "
                   "%s to %s dBFS: gain control, switching, or lost samples",
                   watch->jumps, watch->jumps == 1 ? "" : "s", WATCH_JUMP_DB, watch->jump_at_s,
                   common_number(watch->jump_from_db, 1, false).text,
                   common_number(watch->jump_to_db, 1, false).text);
  if (watch->empty_windows > 0)
    capture_notice(
        notices, "%.2f s hold nothing but zeros, first at %.2f s: no input, or lost samples",
        (double)(watch->empty_windows * watch->window_frames) / watch->rate_hz, watch->empty_at_s);
  if (info->bits == 0 && watch->total.peak > 1)
    capture_notice(notices, "samples reach %.4g times full scale: levels in dBFS are relative to 1",
                   (double)watch->total.peak);
}

void watch_notices(const struct watch *watch, const struct sc_source_info *info,
                   struct sc_notices *notices)
{
  if (watch->total.clipped > 0)
    capture_notice(notices,
                   "%.3g %% of the frames (%" PRIu64
                   ") are at an end of the range: clipping adds lines that the transmitter does "
                   "not make; record with less gain",
                   percent(watch->total.clipped, watch->frames), watch->total.clipped);
  if (watch->total.invalid > 0)
    capture_notice(notices,
                   "%" PRIu64 " frames hold NaN, infinity or absurd values and are read as 0: "
                   "damaged, or another sample type",
                   watch->total.invalid);
  note_levels(watch, info, notices);
}
