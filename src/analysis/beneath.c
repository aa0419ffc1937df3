/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/beneath.h"

#include <math.h>
#include <stdlib.h>

#include "account/beneath.h"
#include "analysis/linelist.h"
#include "measure/remainder.h"

/* Short records, many of them: nothing strong is left that they would have to part, and as many
 * samples find as much in an eighth of the memory. */
enum { RECORD = 1 << 17, RECORDS = 16 };

/* A carrier stands so far beside the channel's middle, perhaps. */
static const double overhang_hz = 5e3;

struct analysis_beneath {
  struct analysis_beneath_settings settings;
  struct measure_remainder *remainder;
  struct sc_lines *lines;
  size_t cell; /* frames that the remainder is worked out for at once */
  float *made;
  bool resumes;                 /* after frames that were skipped */
  struct sc_line_search search; /* of the last result */
};

static enum sc_error create_search(struct analysis_beneath *beneath)
{
  const struct analysis_beneath_settings *settings = &beneath->settings;
  const struct sc_lines_settings wanted = {.sample_rate_hz = settings->rate_hz,
                                           .complex_input = true,
                                           .single_precision = true,
                                           .lower_hz = -settings->half_width_hz,
                                           .upper_hz = settings->half_width_hz,
                                           .record_max = RECORD,
                                           .records = RECORDS,
                                           .false_alarm = settings->false_alarm,
                                           .expected_frames = settings->expected_frames};
  enum sc_error error = sc_lines_create(&wanted, &beneath->lines);
  if (error == SC_OK)
    measure_lines_apart(beneath->lines, settings->apart);
  return error;
}

static enum sc_error create_parts(struct analysis_beneath *beneath)
{
  enum sc_error error = measure_remainder_create(beneath->settings.rate_hz, &beneath->remainder);
  if (error != SC_OK)
    return error;
  beneath->cell = measure_remainder_left(beneath->remainder);
  const size_t room = measure_remainder_room(beneath->remainder, beneath->cell);
  beneath->made = malloc(2 * room * sizeof *beneath->made);
  return beneath->made != NULL ? create_search(beneath) : SC_NO_MEMORY;
}

enum sc_error analysis_beneath_create(const struct analysis_beneath_settings *settings,
                                      struct analysis_beneath **out)
{
  *out = NULL;
  struct analysis_beneath *beneath = calloc(1, sizeof *beneath);
  if (beneath == NULL)
    return SC_NO_MEMORY;
  beneath->settings = *settings;
  enum sc_error error = create_parts(beneath);
  if (error != SC_OK) {
    analysis_beneath_destroy(beneath);
    return error;
  }
  *out = beneath;
  return SC_OK;
}

/* Between records nothing is worked out; 0: it is the turn of a record. */
static size_t skip(struct analysis_beneath *beneath, size_t frames)
{
  const uint64_t idle = measure_lines_idle(beneath->lines);
  const size_t skipped = idle < frames ? (size_t)idle : frames;
  if (skipped == 0)
    return 0;
  measure_lines_skip(beneath->lines, skipped);
  beneath->resumes = true;
  return skipped;
}

/* Where a record begins must not depend on where the blocks end: cell by cell. */
static size_t next_run(const struct analysis_beneath *beneath, size_t frames)
{
  const size_t left = beneath->resumes ? beneath->cell : measure_remainder_left(beneath->remainder);
  return frames < left ? frames : left;
}

uint64_t analysis_beneath_idle(const struct analysis_beneath *beneath)
{
  return measure_lines_idle(beneath->lines);
}

void analysis_beneath_break(struct analysis_beneath *beneath)
{
  sc_lines_feed(beneath->lines, beneath->made, 0, true);
  beneath->resumes = true;
}

/* The remainder comes a cell later than its frequency, which drift does not move by so much. */
void analysis_beneath_feed(struct analysis_beneath *beneath, const float *channel, const float *khz,
                           size_t frames)
{
  while (frames > 0) {
    const size_t idle = skip(beneath, frames);
    const size_t run = idle > 0 ? idle : next_run(beneath, frames);
    if (idle == 0) {
      const size_t made =
          measure_remainder_feed(beneath->remainder, channel, run, beneath->resumes, beneath->made);
      measure_lines_carrier(beneath->lines, khz, run);
      sc_lines_feed(beneath->lines, beneath->made, made, false);
      beneath->resumes = false;
    }
    frames -= run;
    channel += 2 * run;
    khz += run;
  }
}

void analysis_beneath_leave_out(struct analysis_beneath *beneath, size_t frames)
{
  sc_lines_leave_out(beneath->lines, frames);
}

void analysis_beneath_rest(struct analysis_beneath *beneath)
{
  measure_lines_rest(beneath->lines);
}

enum sc_error analysis_beneath_lines(struct analysis_beneath *beneath,
                                     const struct sc_carrier *carrier, struct sc_line_list *list)
{
  struct sc_lines_result found;
  *list = (struct sc_line_list){.count = 0};
  sc_lines_result(beneath->lines, &found);
  beneath->search = (struct sc_line_search){.reach_hz = ACCOUNT_BENEATH_FROM_HZ,
                                            .record_s = found.record_s,
                                            .threshold_db = found.threshold_db};
  if (found.records == 0)
    return SC_OK;
  const double channel_hz = beneath->settings.channel_hz;
  struct sc_carrier own = *carrier;
  const struct analysis_followed followed = {&own, channel_hz};
  enum sc_error error = analysis_lines_add(list, &found, channel_hz, &followed);
  if (error != SC_OK)
    return error;
  for (size_t i = 0; i < list->count; i++)
    list->lines[i].alongside = false;
  analysis_lines_on_air(list, &own, beneath->settings.clock_relative_uncertainty);
  return SC_OK;
}

double analysis_beneath_rate_hz(const struct analysis_beneath *beneath)
{
  return beneath->settings.rate_hz;
}

double analysis_beneath_mean_s(const struct analysis_beneath *beneath)
{
  return measure_remainder_mean_s(beneath->settings.rate_hz);
}

bool analysis_beneath_search(const struct analysis_beneath *beneath, struct sc_line_search *search)
{
  if (beneath == NULL || !(beneath->search.record_s > 0))
    return false;
  *search = beneath->search;
  return true;
}

double analysis_beneath_floor(const struct analysis_beneath *beneath, double lower_hz,
                              double upper_hz)
{
  const struct analysis_beneath_settings *settings = &beneath->settings;
  const double half_hz = settings->half_width_hz;
  const double lower = lower_hz - settings->channel_hz, upper = upper_hz - settings->channel_hz;
  if (lower < -half_hz - overhang_hz || upper > half_hz + overhang_hz)
    return (double)NAN;
  return sc_lines_floor(beneath->lines, fmax(lower, -half_hz), fmin(upper, half_hz));
}

void analysis_beneath_destroy(struct analysis_beneath *beneath)
{
  if (beneath == NULL)
    return;
  measure_remainder_destroy(beneath->remainder);
  sc_lines_destroy(beneath->lines);
  free(beneath->made);
  free(beneath);
}
