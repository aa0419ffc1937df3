/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Tones that no composite ever held: a discriminator makes them of a second, one-sided carrier.
 *
 * A line of ratio e at the offset d turns the phase of the carrier exp(j p(t)) by
 * e sin(2 pi d t - p(t)), to the first order of e. With c_k the lines of exp(j p) at f_k, that
 * shows on the composite at |d - f_k| as a deviation of e |c_k| |d - f_k|. A real tone that makes
 * lines on both sides of the carrier shows at d with more than twice of that. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include "account/scene.h"
#include "account/words.h"

enum { BEATERS_MAX = 16 };
static const double agree = 1.4;      /* measured and expected deviation, ratio */
static const double predicted_by = 2; /* nearer than this ratio: modulation, no second carrier */
static const double sigmas = 4;

struct beater {
  size_t line;
  double offset_hz, uncertainty_hz, ratio;
};

static bool is_beater(const struct account_scene *scene, const struct sc_line *line)
{
  const struct sc_result *result = scene->result;
  const struct sc_line_list *list = &result->air_lines;
  double reach = account_reach_hz(list, line->offset_hz.uncertainty);
  const struct account_spot *spot =
      account_spot_near(&scene->prediction, line->offset_hz.value, reach);
  if (fabs(line->offset_hz.value) <= reach ||
      (spot != NULL && cabs(spot->amplitude) * predicted_by > account_amplitude(line)))
    return false;
  return account_is_direct_current(result, line) ||
         (line->mirror < 0 && account_mirror_visible(result, line));
}

/* The strongest ones, in no order. */
static size_t find_beaters(const struct account_scene *scene, struct beater beaters[BEATERS_MAX])
{
  const struct sc_line_list *list = &scene->result->air_lines;
  size_t count = 0;
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *line = &list->lines[i];
    struct beater new = {i, line->offset_hz.value, line->offset_hz.uncertainty,
                         account_amplitude(line)};
    if (!is_beater(scene, line))
      continue;
    size_t weakest = 0;
    for (size_t k = 1; k < count; k++)
      weakest = beaters[k].ratio < beaters[weakest].ratio ? k : weakest;
    if (count < BEATERS_MAX)
      beaters[count++] = new;
    else if (beaters[weakest].ratio < new.ratio)
      beaters[weakest] = new;
  }
  return count;
}

/* Deviation in kHz that the beat with the carrier's line at f_k makes at f. */
static double expected_khz(const struct account_scene *scene, const struct beater *beater,
                           double line_hz, double composite_hz, double tolerance_hz)
{
  const struct account_spot *spot = account_spot_near(&scene->prediction, line_hz, tolerance_hz);
  return spot == NULL ? 0 : 1e-3 * beater->ratio * cabs(spot->amplitude) * composite_hz;
}

static bool agrees(const struct sc_line *line, double expected)
{
  double measured = line->deviation_khz.value;
  return expected > 0 && (fabs(measured - expected) <= sigmas * line->deviation_khz.uncertainty ||
                          (measured < agree * expected && expected < agree * measured));
}

static bool explains(const struct account_scene *scene, const struct beater *beater,
                     const struct sc_line *line)
{
  double hz = line->offset_hz.value;
  double spread = hypot(line->offset_hz.uncertainty, beater->uncertainty_hz);
  double tolerance = account_exact_hz(&scene->result->composite_lines, spread);
  double below = expected_khz(scene, beater, beater->offset_hz - hz, hz, tolerance);
  double above = expected_khz(scene, beater, beater->offset_hz + hz, hz, tolerance);
  return agrees(line, below) || agrees(line, above) || agrees(line, below + above);
}

static void name_beat(const struct account_scene *scene, const struct beater *beater,
                      struct sc_line *line)
{
  const struct sc_result *result = scene->result;
  bool own = account_is_direct_current(result, &result->air_lines.lines[beater->line]);
  double distance = fabs(line->offset_hz.value - fabs(beater->offset_hz));
  double spread = hypot(line->offset_hz.uncertainty, beater->uncertainty_hz);
  bool first = distance <= account_exact_hz(&result->composite_lines, spread);
  account_label(line, own ? "beat of direct current" : "beat of %+.2f kHz",
                beater->offset_hz / 1e3);
  account_verdict(line, SC_VERDICT_ARTEFACT,
                  "made in the discriminator by %s at %+.3f kHz%s; no tone of the composite",
                  own ? "the receiver's direct current" : "the carrier", beater->offset_hz / 1e3,
                  first ? "" : " and a side line of the modulation");
}

void account_find_beats(struct account_scene *scene)
{
  struct sc_line_list *list = &scene->result->composite_lines;
  struct beater beaters[BEATERS_MAX];
  size_t count = find_beaters(scene, beaters);
  for (size_t i = 0; i < list->count; i++) {
    struct sc_line *line = &list->lines[i];
    for (size_t k = 0; k < count && line->verdict != SC_VERDICT_ARTEFACT; k++)
      if (line->deviation_khz.why == NULL && explains(scene, &beaters[k], line))
        name_beat(scene, &beaters[k], line);
  }
}
