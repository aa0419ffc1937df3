/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/rounded.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "account/account.h"
#include "measure/rounded.h"

/* Beyond, a pilot, data and a kilohertz have no lines that stand out of the noise of few bits; and
 * a stretch that is cut short by a gap is enough from an eighth on. */
static const double half_width_hz = 120e3;
static const double surely_db = 6; /* as the noise may be less in the end */
enum { BITS_MAX = 16, ENOUGH = MEASURE_ROUNDED_FRAMES / 8 };
static const float on_grid = 0.01F; /* of a step: floats are exact */

struct analysis_rounded {
  unsigned bits;
  double rate_hz;
  size_t room, frames;
  bool ended; /* a gap came after enough */
  struct measure_rounded *made;
  size_t made_of; /* frames */
  float scale, offset; /* sample = (code + offset) / scale */
  int16_t *codes;      /* NULL: they are of no use */
};

enum sc_error analysis_rounded_create(const struct sc_source_info *info,
                                      struct analysis_rounded **out)
{
  *out = NULL;
  if (info->bits < 1 || info->bits > BITS_MAX)
    return SC_OK;
  const size_t most = MEASURE_ROUNDED_FRAMES;
  const size_t room = info->frames > 0 && info->frames < most ? (size_t)info->frames : most;
  struct analysis_rounded *rounded = malloc(sizeof *rounded);
  int16_t *codes = malloc(2 * room * sizeof *codes);
  if (rounded == NULL || codes == NULL) {
    free(rounded);
    free(codes);
    return SC_NO_MEMORY;
  }
  *rounded = (struct analysis_rounded){.bits = info->bits,
                                       .rate_hz = info->sample_rate_hz,
                                       .room = room,
                                       .scale = ldexpf(1, (int)info->bits - 1),
                                       .codes = codes};
  *out = rounded;
  return SC_OK;
}

static void forget(struct analysis_rounded *rounded)
{
  measure_rounded_destroy(rounded->made);
  rounded->made = NULL;
  rounded->made_of = 0;
}

/* Samples that are in no steps of the container were not left as they were read. */
static void let_go(struct analysis_rounded *rounded)
{
  free(rounded->codes);
  rounded->codes = NULL;
}

/* False: they are in no such steps. */
static bool take_codes(const struct analysis_rounded *rounded, const float *samples, size_t count,
                       int16_t *codes)
{
  int off = 0;
  for (size_t i = 0; i < count; i++) {
    const float steps = samples[i] * rounded->scale - rounded->offset, code = rintf(steps);
    off |= !(fabsf(steps - code) <= on_grid) | !(code >= INT16_MIN && code <= INT16_MAX);
    codes[i] = (int16_t)(off != 0 ? 0 : lrintf(code));
  }
  return off == 0;
}

bool analysis_rounded_feed(struct analysis_rounded *rounded, const float *iq, size_t frames,
                           bool discontinuity)
{
  if (rounded == NULL || rounded->codes == NULL || rounded->ended ||
      rounded->frames == rounded->room)
    return false;
  if (discontinuity && rounded->frames >= ENOUGH) {
    rounded->ended = true;
    return false;
  }
  if (discontinuity)
    rounded->frames = 0;
  const size_t left = rounded->room - rounded->frames, taken = frames < left ? frames : left;
  if (rounded->frames == 0 && taken > 0) /* some count from the middle of the range */
    rounded->offset = iq[0] * rounded->scale - floorf(iq[0] * rounded->scale);
  if (!take_codes(rounded, iq, 2 * taken, rounded->codes + 2 * rounded->frames)) {
    let_go(rounded);
    return false;
  }
  rounded->frames += taken;
  return rounded->frames == rounded->room;
}

void analysis_rounded_reset(struct analysis_rounded *rounded)
{
  if (rounded == NULL)
    return;
  forget(rounded);
  rounded->frames = 0;
  rounded->ended = false;
}

/* Something that rounding may have made is left over. */
static bool is_called_for(const struct sc_result *result)
{
  const struct sc_line_list *list = &result->air_lines;
  if (result->carrier.offset_hz.why != NULL || result->carrier.noise_density_dbfs_hz.why != NULL)
    return false;
  for (size_t i = 0; i < list->count; i++)
    if (list->lines[i].verdict != SC_VERDICT_EXPLAINED &&
        list->lines[i].verdict != SC_VERDICT_ARTEFACT &&
        account_below_converter(result, list->lines[i].tone.level_db.value))
      return true;
  return false;
}

/* Not again for the same samples. */
static enum sc_error make(struct analysis_rounded *rounded, const struct sc_result *result)
{
  if (rounded->made_of == rounded->frames)
    return SC_OK;
  forget(rounded);
  const struct measure_rounded_settings settings = {
      .rate_hz = rounded->rate_hz,
      .bits = rounded->bits,
      .offset = (double)rounded->offset,
      .carrier_hz = result->carrier.offset_hz.value,
      .half_width_hz = half_width_hz,
      .noise_density = pow(10, result->carrier.noise_density_dbfs_hz.value / 10),
      .strongest = account_converter_line(result)};
  const enum sc_error error =
      measure_rounded_create(&settings, rounded->codes, rounded->frames, &rounded->made);
  if (error == SC_NO_MEMORY)
    return error;
  rounded->made_of = rounded->frames;
  return SC_OK;
}

void analysis_rounded_consider(struct analysis_rounded *rounded, double noise_dbfs_hz)
{
  if (!account_covers_steps(rounded->bits, rounded->rate_hz, noise_dbfs_hz - surely_db))
    return;
  let_go(rounded);
}

enum sc_error analysis_rounded_mark(struct analysis_rounded *rounded, struct sc_result *result,
                                    bool *marked)
{
  struct sc_line_list *air = &result->air_lines, *composite = &result->composite_lines;
  *marked = false;
  if (rounded == NULL || rounded->codes == NULL || !is_called_for(result))
    return SC_OK;
  const enum sc_error error = make(rounded, result);
  if (error != SC_OK || rounded->made == NULL)
    return error;
  for (size_t i = 0; i < air->count; i++) {
    struct sc_line *line = &air->lines[i];
    line->rounded = measure_rounded_share(rounded->made, line->tone.frequency_hz.value);
    *marked = *marked || line->rounded > 0;
  }
  for (size_t i = 0; i < composite->count; i++)
    composite->lines[i].rounded =
        measure_rounded_share_of_tone(rounded->made, composite->lines[i].tone.frequency_hz.value);
  return SC_OK;
}

void analysis_rounded_destroy(struct analysis_rounded *rounded)
{
  if (rounded == NULL)
    return;
  forget(rounded);
  free(rounded->codes);
  free(rounded);
}
