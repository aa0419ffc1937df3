/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/later.h"

#include <math.h>
#include <stdlib.h>

/* Common practice, no source. A line at zero has nothing beside it, and its place is known to a
 * resolution of the head's spectrum; an FM signal's is not known as well. */
static const double zero_hz = 4e3, line_hz = 8e3;
static const double apart_of_zero_hz = 10e3, apart_hz = 100e3;
static const double stronger_db = 10;
/* A signal that is so much stronger makes the power rise at least so much, even in half of a
 * moment. */
static const double risen = 2;
/* Of the frames that the power is taken of; of the second, moments. */
enum { STRIDE = 16, MOMENTS = 10 };

struct analysis_later {
  double rate_hz;
  struct sc_channel_guess known;
  bool alone; /* a line at zero */
  double reference, energy;
  size_t moment, fed;         /* frames */
  struct analysis_head *head; /* being filled; NULL: the power has not risen */
};

static bool is_alone(const struct sc_channel_guess *guess)
{
  return fabs(guess->offset_hz) <= zero_hz && guess->width_hz <= line_hz;
}

static double energy_of(const float *iq, size_t frames)
{
  double sum = 0;
  for (size_t n = 0; n < frames; n += STRIDE)
    sum += (double)iq[2 * n] * (double)iq[2 * n] + (double)iq[2 * n + 1] * (double)iq[2 * n + 1];
  return STRIDE * sum;
}

static double power_of(const struct analysis_head *head)
{
  const float *iq;
  size_t frames;
  bool discontinuity;
  double sum = 0;
  for (size_t i = 0; analysis_head_run(head, i, &iq, &frames, &discontinuity); i++)
    sum += energy_of(iq, frames);
  return sum / (double)analysis_head_frames(head);
}

enum sc_error analysis_later_create(double rate_hz, struct analysis_head *head,
                                    struct analysis_later **out)
{
  *out = NULL;
  struct analysis_later *later = calloc(1, sizeof *later);
  if (later == NULL)
    return SC_NO_MEMORY;
  *later = (struct analysis_later){.rate_hz = rate_hz,
                                   .known = analysis_head_guess(head),
                                   .reference = power_of(head),
                                   .moment = analysis_head_frames(head) / MOMENTS + 1};
  later->alone = is_alone(&later->known);
  const enum sc_error error = later->alone ? analysis_head_create(rate_hz, &later->head) : SC_OK;
  if (error == SC_OK)
    *out = later;
  else
    free(later);
  return error;
}

static enum sc_error end_moment(struct analysis_later *later)
{
  const double power = later->energy / (double)later->fed;
  const bool has_risen = power > risen * later->reference;
  later->reference = fmax(later->reference, power);
  later->energy = 0;
  later->fed = 0;
  return has_risen ? analysis_head_create(later->rate_hz, &later->head) : SC_OK;
}

enum sc_error analysis_later_feed(struct analysis_later *later, const float *iq, size_t frames,
                                  bool discontinuity, size_t *taken)
{
  if (later->head != NULL) {
    *taken = analysis_head_feed(later->head, iq, frames, discontinuity);
    return SC_OK;
  }
  const size_t left = later->moment - later->fed;
  *taken = frames < left ? frames : left;
  later->energy += energy_of(iq, *taken);
  later->fed += *taken;
  return *taken == left ? end_moment(later) : SC_OK;
}

static bool is_wanted(const struct analysis_later *later, const struct sc_channel_guess *guess)
{
  const double between_hz = fabs(guess->offset_hz - later->known.offset_hz);
  if (guess->present != SC_YES)
    return false;
  if (later->alone)
    return between_hz > apart_of_zero_hz;
  return between_hz > apart_hz && guess->level_dbfs > later->known.level_dbfs + stronger_db;
}

struct analysis_head *analysis_later_found(struct analysis_later *later)
{
  struct analysis_head *head = later->head;
  if (head == NULL || !analysis_head_full(head))
    return NULL;
  const struct sc_channel_guess guess = analysis_head_guess(head);
  if (!is_wanted(later, &guess) && later->alone) {
    analysis_head_reset(head);
    return NULL;
  }
  later->head = NULL;
  if (is_wanted(later, &guess))
    return head;
  analysis_head_destroy(head);
  return NULL;
}

void analysis_later_destroy(struct analysis_later *later)
{
  if (later == NULL)
    return;
  analysis_head_destroy(later->head);
  free(later);
}
