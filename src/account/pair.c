/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Both sides of the carrier by size and phase: what FM makes of a pair of lines, what AM, and what
 * stands on one side alone. Lines on air and tones of the composite come from the same records, so
 * a predicted line has a phase as well as a size; one turn, that of the carrier itself, is common
 * to all of them. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include "account/changing.h"
#include "account/scene.h"

static const double pi = 3.14159265358979323846;
static const double sigmas = 4;
static const double decibels = 8.685889638065037; /* 20 / ln 10 */
static const double strong = 0.005;               /* predicted lines that the turn is taken from */
static const double same_turn = 0.99; /* share of their power that one turn has to explain */
/* Channel filter and equaliser are flat to 1e-4 and 0.01 degrees (sidecomb/composite.h); a channel
 * that the capture cuts is not. */
static const double systematic = 1e-3, systematic_cut = 0.05;

static const char too_small[] = "none stands out of its uncertainty";
static const char other_side[] = "the mirrored line is the stronger one";

static const struct sc_moment *moment_at(const struct sc_line *line, double middle_s)
{
  const struct sc_tone *tone = &line->tone;
  for (size_t i = tone->moment_count; i > 0; i--)
    if (tone->moments[i - 1].middle_s == middle_s)
      return &tone->moments[i - 1];
  return NULL;
}

double account_phase(const struct account_scene *scene, const struct sc_line_list *list,
                     const struct sc_line *line)
{
  const struct sc_moment *moment = moment_at(line, scene->middle_s);
  if (moment != NULL)
    return (double)moment->phase_rad;
  if (line->tone.moment_count > 0)
    return (double)NAN;
  return fmod(line->tone.phase_rad + pi * list->record_s * line->tone.frequency_hz.value, 2 * pi);
}

static double complex measured(const struct account_scene *scene, const struct sc_line *line)
{
  double phase = account_phase(scene, &scene->result->air_lines, line);
  return account_amplitude(line) * cexp(I * phase);
}

bool account_phasor(const struct account_scene *scene, const struct sc_line *line,
                    double complex *phasor)
{
  if (scene->turn == 0 || !line->alongside || line->tone.still ||
      isnan(account_phase(scene, &scene->result->air_lines, line)))
    return false;
  *phasor = measured(scene, line) / scene->turn;
  return true;
}

void account_find_turn(struct account_scene *scene)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  double complex sum = 0;
  double of_measured = 0, of_predicted = 0;
  scene->turn = 0;
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *line = &list->lines[i];
    const struct account_spot *spot = account_spot_of(scene, line);
    if (spot == NULL || !(cabs(spot->amplitude) > strong) || !line->alongside || line->tone.still ||
        isnan(account_phase(scene, list, line)))
      continue;
    double complex at = measured(scene, line);
    sum += at * conj(spot->amplitude);
    of_measured += creal(at * conj(at));
    of_predicted += creal(spot->amplitude * conj(spot->amplitude));
  }
  double size = cabs(sum);
  if (size > 0 && size * size > same_turn * of_measured * of_predicted)
    scene->turn = sum / size;
}

/* ---- what is left */

static double phase_doubt(const struct account_scene *scene, const struct sc_line *line)
{
  const struct sc_moment *moment = moment_at(line, scene->middle_s);
  double rad =
      moment != NULL ? (double)moment->phase_uncertainty_rad : line->tone.phase_uncertainty_rad / 2;
  return rad * account_amplitude(line);
}

static double complex predicted_at(const struct account_scene *scene, double offset_hz,
                                   double uncertainty_hz)
{
  double reach = account_reach_hz(&scene->result->air_lines, uncertainty_hz);
  const struct account_spot *spot = account_spot_near(&scene->prediction, offset_hz, reach);
  return spot == NULL ? 0 : scene->common * spot->amplitude;
}

double account_beside(const struct account_scene *scene, const struct account_spot *spot)
{
  double within_hz = scene->result->air_lines.resolution_hz;
  return spot == NULL ? 0 : account_spot_neighbours(&scene->prediction, spot, within_hz);
}

static struct account_rest rest_of(const struct account_scene *scene, const struct sc_line *line)
{
  const struct account_spot *spot = account_spot_of(scene, line);
  double size = account_amplitude(line), predicted = account_predicted(scene, spot);
  double complex phasor;
  struct account_rest rest = {.uncertainty = account_amplitude_uncertainty(line)};
  rest.is_complex =
      account_phasor(scene, line, &phasor) && !account_is_unsteady(&scene->result->air_lines, line);
  double beside = account_beside(scene, spot);
  if (!rest.is_complex) {
    double doubt =
        spot == NULL ? 0 : hypot(account_spot_uncertainty(&scene->prediction, spot), beside);
    rest.value = fabs(size - predicted);
    rest.uncertainty = hypot(rest.uncertainty, doubt);
    return rest;
  }
  double share = scene->result->composite_truncated ? systematic_cut : systematic;
  double doubt = spot == NULL ? 0 : hypot(account_spot_spread(&scene->prediction, spot), beside);
  rest.value = phasor - (spot == NULL ? 0 : scene->common * spot->amplitude);
  rest.uncertainty = fmax(rest.uncertainty, phase_doubt(scene, line));
  rest.uncertainty = hypot(hypot(rest.uncertainty, doubt), share * predicted);
  return rest;
}

struct account_rest account_rest_of(const struct account_scene *scene, const struct sc_line *line)
{
  return scene->rests[line - scene->result->air_lines.lines];
}

void account_find_rests(struct account_scene *scene)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  account_find_rounding(scene);
  for (size_t i = 0; i < list->count; i++) {
    scene->rests[i] = rest_of(scene, &list->lines[i]);
    if (!account_mostly_predicted(scene, &list->lines[i]))
      continue;
    const double beside = account_data_beside(scene, list->lines[i].offset_hz.value);
    double *uncertainty = &scene->rests[i].uncertainty;
    *uncertainty = hypot(hypot(*uncertainty, scene->rounding.amplitude), beside);
  }
}

/* ---- pairs */

struct side {
  double complex predicted;
  struct account_rest rest;
};

static struct side side_of(const struct account_scene *scene, const struct sc_line *line)
{
  struct side side = {.rest = account_rest_of(scene, line)};
  side.predicted = predicted_at(scene, line->offset_hz.value, line->offset_hz.uncertainty);
  return side;
}

/* A line that would have been seen is at most what would just not have been. */
static struct side empty_side(const struct account_scene *scene, const struct sc_line *line)
{
  struct side side = {.rest = {.is_complex = true}};
  double unseen =
      account_amplitude(line) * pow(10, -account_margin_db(&scene->result->air_lines, line) / 20);
  side.predicted = predicted_at(scene, -line->offset_hz.value, line->offset_hz.uncertainty);
  side.rest.value = cabs(side.predicted) > unseen ? -side.predicted : 0;
  side.rest.uncertainty = unseen / sigmas;
  return side;
}

static double complex shortened(double complex value, double size)
{
  double own = cabs(value);
  return own > size ? value * size / own : value;
}

static void refer(struct side *side, double complex axis)
{
  side->predicted *= conj(axis);
  side->rest.value *= conj(axis);
}

/* Both sides referred to the carrier's phase. */
static struct account_parts divide(const struct side *upper, const struct side *lower)
{
  double above = cabs(upper->rest.value), below = cabs(lower->rest.value);
  double common = fmin(above, below);
  double complex u = shortened(upper->rest.value, common);
  double complex l = shortened(lower->rest.value, common);
  double complex loose = (u - conj(l)) / 2;
  double spread = hypot(upper->rest.uncertainty, lower->rest.uncertainty);
  return (struct account_parts){
      .known = true,
      .am = (u + conj(l)) / 2,
      .loose_fm = cabs(loose),
      .fm = hypot(cabs(upper->predicted + loose), cabs(lower->predicted - conj(loose))) / sqrt(2),
      .one_sided = fabs(above - below),
      .limit = sigmas * spread,
      .uncertainty = spread};
}

struct account_parts account_divide(const struct account_scene *scene, const struct sc_line *line)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  const struct account_parts unknown = {0};
  bool alone = line->mirror < 0;
  double reach = account_reach_hz(list, line->offset_hz.uncertainty);
  if (fabs(line->offset_hz.value) <= reach ||
      (alone && !account_mirror_visible(scene->result, line)))
    return unknown;
  struct side this = side_of(scene, line);
  struct side other = alone ? empty_side(scene, line) : side_of(scene, &list->lines[line->mirror]);
  if (!this.rest.is_complex || !other.rest.is_complex)
    return unknown;
  double complex carrier = predicted_at(scene, 0, 0);
  if (carrier == 0)
    return unknown;
  refer(&this, carrier / cabs(carrier));
  refer(&other, carrier / cabs(carrier));
  bool above = line->offset_hz.value > 0;
  return divide(above ? &this : &other, above ? &other : &this);
}

static struct sc_quantity part_dbc(const struct account_parts *parts, double amplitude)
{
  if (!(amplitude > parts->limit))
    return sc_not_measured(too_small);
  return sc_measured(20 * log10(amplitude), decibels * parts->uncertainty / amplitude);
}

void account_fill_parts(const struct account_scene *scene)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  for (size_t i = 0; i < list->count; i++) {
    struct sc_line *line = &list->lines[i];
    struct account_parts parts = account_divide(scene, line);
    if (!parts.known)
      continue;
    bool weaker =
        line->mirror >= 0 && cabs(account_rest_of(scene, line).value) <
                                 cabs(account_rest_of(scene, &list->lines[line->mirror]).value);
    line->fm_part_dbc = part_dbc(&parts, parts.fm);
    line->am_part_dbc = part_dbc(&parts, cabs(parts.am));
    line->one_sided_dbc = part_dbc(&parts, parts.one_sided);
    if (weaker && line->one_sided_dbc.why == NULL)
      line->one_sided_dbc = sc_not_measured(other_side);
    line->parts_limit_dbc = sc_measured(20 * log10(parts.limit), (double)NAN);
  }
}
