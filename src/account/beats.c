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

#include "account/changing.h"
#include "account/scene.h"
#include "account/words.h"

enum { BEATERS_MAX = 16 };
/* Half the width of the channel filter (sidecomb/composite.h): the discriminator sees no more. */
static const double seen_hz = 175e3;
static const double sigmas = 5;
/* Of a line: where its phase is in doubt, nearly any sum would do. */
static const double most_of_it = 0.5;
/* Of a search: a line that moves by less is not told from one that stays. */
static const double told_bins = 1;
static const double off_share = 0.3; /* of the beats, whose makers' levels are not exact */

struct beater {
  const char *what;                            /* NULL: a carrier */
  const struct account_prediction *prediction; /* what it beats with */
  double offset_hz, uncertainty_hz, ratio;
  double complex phasor; /* relative to the carrier; 0: its phase is not known */
  double per_drift;      /* how far it moves from the carrier for each hertz that this drifts */
};

/* Nothing at the mirrored place but a line of the modulation, which would be there anyway. */
static bool is_one_sided(const struct account_scene *scene, const struct sc_line *line)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  return line->mirror < 0 ? account_mirror_visible(scene->result, line)
                          : account_mostly_predicted(scene, &list->lines[line->mirror]);
}

bool account_is_beater(const struct account_scene *scene, const struct sc_line *line)
{
  const struct sc_result *result = scene->result;
  double reach = account_reach_hz(&result->air_lines, line->offset_hz.uncertainty);
  if (fabs(line->offset_hz.value) <= reach || fabs(line->offset_hz.value) > seen_hz ||
      account_mostly_predicted(scene, line))
    return false;
  return account_is_direct_current(result, line) || line->tone.still ||
         (is_one_sided(scene, line) && !account_is_unsteady(&result->air_lines, line));
}

static struct beater beater_of(const struct account_scene *scene, const struct sc_line *line)
{
  const bool own = account_is_direct_current(scene->result, line);
  const bool follows = scene->result->air_lines.followed;
  struct beater beater = {.what = own ? "direct current" : NULL,
                          .prediction = &scene->prediction,
                          .offset_hz = line->offset_hz.value,
                          .uncertainty_hz = line->offset_hz.uncertainty,
                          .ratio = account_amplitude(line),
                          .per_drift = follows && (own || line->tone.still) ? -1 : 0};
  if (!account_phasor(scene, line, &beater.phasor))
    beater.phasor = 0;
  return beater;
}

/* The image of the whole signal, whose phase runs against the carrier's: twice of it. */
static struct beater image_beater(const struct account_scene *scene)
{
  const struct sc_quantity *carrier = &scene->result->carrier.offset_hz;
  const bool follows = scene->result->air_lines.followed;
  return (struct beater){"mirror image",           &scene->doubled, -2 * carrier->value,
                         2 * carrier->uncertainty, scene->image,    scene->image_phasor,
                         follows ? -2 : 0};
}

/* The strongest ones, in no order. */
static size_t find_beaters(const struct account_scene *scene, struct beater beaters[BEATERS_MAX])
{
  const struct sc_line_list *list = &scene->result->air_lines;
  size_t count = 0;
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *line = &list->lines[i];
    if (!account_is_beater(scene, line))
      continue;
    struct beater new = beater_of(scene, line);
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

/* Deviation in kHz that the beat with the line at f_k makes at f. */
static double expected_khz(const struct beater *beater, double line_hz, double composite_hz,
                           double tolerance_hz)
{
  const struct account_spot *spot = account_spot_near(beater->prediction, line_hz, tolerance_hz);
  return spot == NULL ? 0 : 1e-3 * beater->ratio * cabs(spot->amplitude) * composite_hz;
}

static bool agrees(const struct sc_line *line, double expected)
{
  return account_agrees(line->deviation_khz.value, line->deviation_khz.uncertainty, expected);
}

/* On either side, of a line that seems to go with a carrier: where that drifts by so little, it may
 * stay. */
static double in_doubt_hz(const struct account_scene *scene, const struct beater *beater)
{
  const struct sc_result *result = scene->result;
  const double drift_hz = fabs(result->carrier.drift_hz_s.value) * result->capture.duration_s / 2;
  return result->air_lines.followed && beater->per_drift == 0 &&
                 drift_hz * result->air_lines.record_s < told_bins
             ? drift_hz
             : 0;
}

static double tolerance_of(const struct account_scene *scene, const struct beater *beater,
                           const struct sc_line *line)
{
  double spread = hypot(line->offset_hz.uncertainty, beater->uncertainty_hz);
  return account_exact_hz(&scene->result->composite_lines, spread) + in_doubt_hz(scene, beater);
}

static bool explains(const struct account_scene *scene, const struct beater *beater,
                     const struct sc_line *line)
{
  double hz = line->offset_hz.value, tolerance = tolerance_of(scene, beater, line);
  double below = expected_khz(beater, beater->offset_hz - hz, hz, tolerance);
  double above = expected_khz(beater, beater->offset_hz + hz, hz, tolerance);
  return agrees(line, below) || agrees(line, above) || agrees(line, below + above);
}

/* Of a programme that changes the line's average tells no level, and its frequency little; a beat
 * comes and goes with it, and is at most what the whole carrier would make. */
static bool may_explain(const struct account_scene *scene, const struct beater *beater,
                        const struct sc_line *line)
{
  const struct sc_line_list *list = &scene->result->composite_lines;
  const double hz = line->offset_hz.value;
  const double tolerance = account_reach_hz(list, tolerance_of(scene, beater, line));
  return account_is_unsteady(list, line) &&
         line->deviation_khz.value <= 1e-3 * (1 + off_share) * beater->ratio * hz &&
         (account_spot_near(beater->prediction, beater->offset_hz - hz, tolerance) != NULL ||
          account_spot_near(beater->prediction, beater->offset_hz + hz, tolerance) != NULL);
}

/* How far the carrier had drifted from its mean when a line of the composite was seen, which its
 * moments tell where nothing of the capture was left out. */
static double drifted_hz(const struct sc_result *result, const struct sc_line *line)
{
  double at_s = 0;
  for (size_t i = 0; i < line->tone.moment_count; i++)
    at_s += line->tone.moments[i].middle_s / (double)line->tone.moment_count;
  return result->carrier.drift_hz_s.value * (at_s - result->capture.duration_s / 2);
}

/* The beat with what does not go with the carrier goes through the composite as that drifts, and is
 * seen there where it was in some records, at most as strong as if it stood still. */
static bool explains_moving(const struct account_scene *scene, const struct beater *beater,
                            const struct sc_line *line)
{
  const struct sc_result *result = scene->result;
  const struct sc_line_list *list = &result->composite_lines;
  if (beater->per_drift == 0 || result->capture.left_out_s != 0 || account_is_steady(list, line))
    return false;
  const double moves = beater->per_drift * result->carrier.drift_hz_s.value * list->record_s / 2;
  const double tolerance = account_reach_hz(list, tolerance_of(scene, beater, line)) + fabs(moves);
  const double from = beater->offset_hz + beater->per_drift * drifted_hz(result, line);
  const double hz = line->offset_hz.value;
  const double most_khz = expected_khz(beater, from - hz, hz, tolerance) +
                          expected_khz(beater, from + hz, hz, tolerance);
  return line->deviation_khz.value - 2 * line->deviation_khz.uncertainty <=
         (1 + off_share) * most_khz;
}

/* ---- all of them together, where phases are known */

/* exp(j p) + e exp(j 2 pi d t) has a phase of p + Im(e exp(j 2 pi d t - j p)): its part at f is
 * the sine of the complex amplitude e conj(c(d - f)) - conj(e) c(d + f). */
static double complex beat_at(const struct beater *beater, double hz, double tolerance_hz)
{
  const struct account_spot *below =
      account_spot_near(beater->prediction, beater->offset_hz - hz, tolerance_hz);
  const struct account_spot *above =
      account_spot_near(beater->prediction, beater->offset_hz + hz, tolerance_hz);
  return (below == NULL ? 0 : beater->phasor * conj(below->amplitude)) -
         (above == NULL ? 0 : conj(beater->phasor) * above->amplitude);
}

/* The beater that does most of it, where all together make just the line; NULL: they do not. */
static const struct beater *explained_together(const struct account_scene *scene,
                                               const struct beater *beaters, size_t count,
                                               const struct sc_line *line)
{
  const struct beater *most = NULL;
  double phase = account_phase(scene, &scene->result->composite_lines, line);
  double index = 1e3 * line->deviation_khz.value / line->offset_hz.value, strongest = 0;
  double doubt = hypot(line->deviation_khz.uncertainty / line->deviation_khz.value,
                       line->tone.phase_uncertainty_rad / 2);
  double complex sum = 0;
  for (size_t k = 0; k < count; k++) {
    double complex beat =
        beat_at(&beaters[k], line->offset_hz.value, tolerance_of(scene, &beaters[k], line));
    sum += beat;
    if (cabs(beat) > strongest)
      most = &beaters[k];
    strongest = fmax(strongest, cabs(beat));
  }
  double left = cabs(index * cexp(I * phase) - sum);
  const bool enough = cabs(sum) >= most_of_it * index;
  return enough && left <= fmax(sigmas * doubt * index, off_share * cabs(sum)) ? most : NULL;
}

static bool is_first(const struct account_scene *scene, const struct beater *beater,
                     const struct sc_line *line)
{
  double away = fabs(line->offset_hz.value - fabs(beater->offset_hz));
  return away <= tolerance_of(scene, beater, line);
}

static void name_beat(const struct account_scene *scene, const struct beater *beater,
                      struct sc_line *line)
{
  const char *side = is_first(scene, beater, line) ? "the carrier" : "a side line of it";
  double khz = beater->offset_hz / 1e3;
  if (beater->what != NULL) {
    account_label(line, "beat of %s", beater->what);
    account_verdict(line, SC_VERDICT_ARTEFACT,
                    "no tone: made in the discriminator by the receiver's %s at %+.3f kHz and %s",
                    beater->what, khz, side);
  } else {
    account_label(line, "beat with %+.2f kHz", khz);
    account_verdict(line, SC_VERDICT_ARTEFACT,
                    "no tone: made in the discriminator by the one-sided line at %+.3f kHz and %s",
                    khz, side);
  }
}

static void find_beats_of_all(struct account_scene *scene, const struct beater *beaters,
                              size_t count)
{
  struct sc_line_list *list = &scene->result->composite_lines;
  for (size_t i = 0; i < list->count; i++) {
    struct sc_line *line = &list->lines[i];
    if (line->deviation_khz.why != NULL)
      continue;
    const struct beater *beater = explained_together(scene, beaters, count, line);
    if (beater != NULL)
      name_beat(scene, beater, line);
  }
}

static void find_beats_with(struct account_scene *scene, const struct beater *beater)
{
  struct sc_line_list *list = &scene->result->composite_lines;
  const bool changes = account_programme_changes(scene);
  for (size_t i = 0; i < list->count; i++) {
    struct sc_line *line = &list->lines[i];
    if (line->verdict == SC_VERDICT_ARTEFACT || line->deviation_khz.why != NULL)
      continue;
    if (explains(scene, beater, line) || explains_moving(scene, beater, line) ||
        (changes && may_explain(scene, beater, line)))
      name_beat(scene, beater, line);
  }
}

static size_t count_artefacts(const struct sc_line_list *list)
{
  size_t count = 0;
  for (size_t i = 0; i < list->count; i++)
    count += list->lines[i].verdict == SC_VERDICT_ARTEFACT;
  return count;
}

size_t account_find_beats(struct account_scene *scene)
{
  struct beater beaters[BEATERS_MAX + 1];
  size_t count = find_beaters(scene, beaters);
  if (scene->image > 0)
    beaters[count++] = image_beater(scene);
  find_beats_of_all(scene, beaters, count);
  for (size_t k = count; k > 0; k--)
    find_beats_with(scene, &beaters[k - 1]);
  account_find_cut(scene);
  return count_artefacts(&scene->result->composite_lines);
}
