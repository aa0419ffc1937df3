/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/lines_cut.h"

#include <math.h>
#include <stdlib.h>

#include "measure/lines_search.h"

void lines_forget_partial(struct sc_lines *lines)
{
  free(lines->best.values);
  lines->best = (struct lines_kept){.values = NULL};
}

bool lines_copy_piece(const struct sc_lines *lines, const struct lines_piece *piece,
                      struct lines_kept *kept)
{
  const size_t count = piece->frames * lines->channels;
  double *values = malloc(count * sizeof *values);
  if (values == NULL)
    return false;
  lines_frames_read64(&lines->frames, piece->first * lines->channels, count, values);
  *kept = (struct lines_kept){values, piece->frames, lines->fed - lines->filled + piece->first,
                              piece->carrier_hz};
  return true;
}

void lines_keep_piece(struct sc_lines *lines, const struct lines_piece *piece)
{
  if (lines->records > 0 || piece->frames <= lines->best.frames)
    return;
  lines_forget_partial(lines);
  if (!lines_copy_piece(lines, piece, &lines->best))
    lines_forget_partial(lines);
}

/* The carrier is told in frames of its own rate, in whole hops. */
static struct sc_quantity carrier_in(const struct dsp_hops *khz, double from, double to,
                                     double uncertainty_hz)
{
  const size_t first = (size_t)ceil(from / DSP_TAPER_BLOCK);
  const size_t end = (size_t)fmin(floor(to / DSP_TAPER_BLOCK), (double)khz->count);
  if (first >= end)
    return sc_not_measured("nobody told where the carrier is");
  return sc_measured(1e3 * dsp_hops_mean(khz, first, end - first), uncertainty_hz);
}

static struct measure_steps steps_of(const struct sc_lines *lines)
{
  return lines_course_steps(&lines->course, (double)lines->filled / lines->settings.sample_rate_hz);
}

/* Frames of the search for each of the carrier's. */
static double per_frame(const struct sc_lines *lines)
{
  return (double)lines->filled / (double)lines->course.now.frames;
}

/* What is left of what is gathered: the piece before the first jump that has as much of the capture
 * before it, back to the last one, as behind it; or all behind the last jump. Nearly as much is
 * enough: no tie shall be where people put jumps, in the middle. */
static struct lines_piece piece_of(const struct sc_lines *lines, const struct measure_steps *steps,
                                   uint64_t all)
{
  static const double as_much = 0.96;
  const double scale = per_frame(lines), start = (double)(lines->fed - lines->filled);
  double from = 0, stretch = (double)lines->stretch_start;
  size_t i = 0;
  for (; i < steps->count; i++) {
    const double at = start + scale * (steps->from[i] + steps->to[i]) / 2;
    if (all > 0 && at - stretch >= as_much * ((double)all - at))
      break;
    from = steps->to[i];
    stretch = at;
  }
  const bool enough = i < steps->count;
  const double to = enough ? steps->from[i] : (double)lines->course.now.frames;
  const double first = ceil(scale * from), end = fmin(scale * to, (double)lines->filled);
  return (struct lines_piece){.first = (size_t)first,
                              .frames = end > first ? (size_t)(end - first) : 0,
                              .stretch_start = stretch,
                              .enough = enough,
                              .goes_on = enough && i == 0,
                              .carrier_hz =
                                  carrier_in(&lines->course.now_hops, from, to, steps->rest_hz)};
}

struct lines_piece lines_whole(const struct sc_lines *lines)
{
  return (struct lines_piece){.frames = lines->filled,
                              .goes_on = true,
                              .carrier_hz = sc_not_measured("nobody told where the carrier is")};
}

bool lines_find_jumps(const struct sc_lines *lines, struct lines_piece *piece)
{
  const struct measure_steps steps = steps_of(lines);
  const uint64_t all = lines_expected(lines);
  *piece = lines_whole(lines);
  if (steps.count > 0)
    *piece = piece_of(lines, &steps, all > 0 ? all : lines->fed);
  return steps.count > 0;
}

/* Only a half of a whole record that has no jump is of use for the next one. */
static void begin_after(struct sc_lines *lines, size_t last)
{
  const size_t n = lines_record_length(lines->record);
  const bool half = lines->filled == n && last <= n / 2;
  if (half)
    lines_frames_keep_half(&lines->frames, n * lines->channels);
  lines_begin(lines, half);
  lines->carried = 0;
  lines->skip = 0;
}

static void stop(struct sc_lines *lines)
{
  lines->stopped = true;
  lines->skip = UINT64_MAX / 2;
  lines_begin(lines, false);
}

bool lines_cut_at_jumps(struct sc_lines *lines)
{
  const struct measure_steps steps = steps_of(lines);
  if (steps.count == 0)
    return false;
  const struct lines_piece piece = piece_of(lines, &steps, lines_expected(lines));
  lines_settle(lines);
  lines->jumped = true;
  lines->stretch_start = piece.stretch_start;
  if (!piece.goes_on) {
    lines_forget(lines);
    lines_forget_partial(lines);
  }
  lines_keep_piece(lines, &piece);
  if (piece.enough)
    stop(lines);
  else
    begin_after(lines, piece.first);
  lines->fresh = true;
  return true;
}
