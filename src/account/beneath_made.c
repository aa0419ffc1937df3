/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a limiter makes of lines, and a receiver's image, in what it takes away.
 *
 * With u = a exp(j (w t - phi)) for each line beside the carrier, the remainder is
 * exp(j phi) (2 Re u + (Im u)^2 + j Im u^2 + ...): each line as it is, its ghost conj(u) exp(2j
 * phi), and of two lines with the amplitudes a and b products of 3/2 ab at most, on lines of three
 * times the modulation, or once. The image K exp(-j phi) of the signal has the ghost conj(K) exp(3j
 * phi), and products of 3/4 K^2 on the lines of five times the modulation. Below the products
 * nothing is believed.
 *
 * While the modulation takes the carrier past a line, their beat is so slow that the envelope's
 * mean follows it and takes the line away. It comes back with the modulation: the line, and its
 * ghost, get side lines at sums of the modulation's frequencies, none above the share of the time
 * that takes. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "account/beneath_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "account/beneath.h"

static const double unseen_share = 0.3; /* of the strongest, where ghosts cannot be predicted */
static const double ghost_floor = 3e-4; /* of a parent: its ghosts are below -70 dB */
static const double merged_share = 0.6; /* of a line so near that both are measured as one */
static const double product = 1.5;      /* see above */
static const double sigmas = 4;
/* Lines of the modulation that an image is told by, and how the lines that it makes agree. */
static const double image_spot_least = 0.02, image_scatter_db = 2;
static const double image_carrier_hz = 10, carrier_hz = 2.5; /* of a programme */
enum { IMAGE_LINES_MIN = 3 };
/* Tones of the programme have a larger index than those that a one-sided line makes of the
 * composite (our choice, as the shares). */
static const double strong_index = 0.02;
static const double followed = 2; /* over the mean's length: of faster ones it leaves a twentieth */

double beneath_spread(const struct beneath *beneath, const struct sc_line *line)
{
  const double own = line->tone.frequency_hz.uncertainty, all = line->offset_hz.uncertainty;
  return beneath->scene->carrier >= 0 ? all : fmin(all, hypot(own, carrier_hz));
}

double beneath_exact_hz(const struct beneath *beneath, double uncertainty_hz)
{
  return account_exact_hz(beneath->list, uncertainty_hz);
}

double beneath_size_at(const struct beneath *beneath, const struct account_prediction *prediction,
                       double frequency_hz, double reach_hz)
{
  const struct account_spot *exact = account_spot_near(prediction, frequency_hz, reach_hz);
  const struct account_spot *near =
      account_spot_near(prediction, frequency_hz, beneath->list->resolution_hz);
  return fmax(exact == NULL ? 0 : cabs(exact->amplitude),
              near == NULL ? 0 : merged_share * cabs(near->amplitude));
}

bool beneath_is_of_strong_tones(const struct account_prediction *prediction,
                                const struct account_spot *spot)
{
  const struct account_way way = account_spot_way(prediction, spot, 0);
  for (size_t i = 0; i < prediction->component_count; i++) {
    const struct account_component *tone = &prediction->components[i];
    if (way.orders[i] != 0 && 1e3 * tone->deviation_khz < strong_index * tone->frequency_hz)
      return false;
  }
  return way.weak_order == 0;
}

/* The same of what the limiter makes: what reaches beyond half the channel's rate is folded back.
 */
static double made_at(const struct beneath *beneath, const struct account_prediction *prediction,
                      double frequency_hz, double reach_hz)
{
  const double rate_hz = beneath->rate_hz;
  double most = 0;
  for (int fold = -1; fold <= 1; fold++)
    most =
        fmax(most, beneath_size_at(beneath, prediction, frequency_hz + fold * rate_hz, reach_hz));
  return most;
}

/* Where the receiver's image mirrors it to, relative to the carrier. */
static double mirrored_hz(const struct beneath *beneath, const struct sc_line *line)
{
  return -line->offset_hz.value - 2 * beneath->scene->result->carrier.offset_hz.value;
}

static int rising(const void *a, const void *b)
{
  const double left = *(const double *)a, right = *(const double *)b;
  return (left > right) - (left < right);
}

/* The factor by which lines that stand where the image has them agree, as the spectrum may hide
 * all of it; 0: they do not. */
static double image_of_lines(const struct beneath *beneath)
{
  const struct sc_line_list *list = beneath->list;
  double ratios[SC_LINES_MAX];
  size_t count = 0, near = 0;
  for (size_t i = 0; i < list->count && i < SC_LINES_MAX; i++) {
    const struct sc_line *line = &list->lines[i];
    const double reach = beneath_exact_hz(beneath, beneath_spread(beneath, line));
    const double size =
        beneath_size_at(beneath, &beneath->scene->prediction, mirrored_hz(beneath, line), reach);
    if (size > image_spot_least)
      ratios[count++] = account_amplitude(line) / size;
  }
  if (count < IMAGE_LINES_MIN)
    return 0;
  qsort(ratios, count, sizeof *ratios, rising);
  const double middle = ratios[count / 2];
  for (size_t i = 0; i < count; i++)
    near += fabs(20 * log10(ratios[i] / middle)) <= image_scatter_db;
  return 2 * near > count ? middle : 0;
}

static double unseen_by_image(const struct beneath *beneath)
{
  return product * beneath->image * beneath->image;
}

static bool is_of_image(const struct beneath *beneath, const struct sc_line *line)
{
  const double reach = beneath_exact_hz(beneath, beneath_spread(beneath, line));
  const double twice_hz = 2 * beneath->scene->result->carrier.offset_hz.value;
  const double mirrored = mirrored_hz(beneath, line), image = beneath->image;
  const double size =
      fmax(beneath_size_at(beneath, &beneath->scene->prediction, mirrored, reach),
           made_at(beneath, &beneath->tripled, line->offset_hz.value - twice_hz, reach));
  return fabs(mirrored) <= image_carrier_hz ||
         image * size >= BENEATH_MAKES * account_amplitude(line) ||
         beneath->unseen > account_amplitude(line);
}

static bool is_ghost_of(const struct beneath *beneath, const struct sc_line *line,
                        const struct beneath_parent *parent)
{
  const double reach =
      parent->passes_hz +
      beneath_exact_hz(beneath, hypot(beneath_spread(beneath, line), parent->uncertainty_hz));
  const double size =
      made_at(beneath, &beneath->scene->doubled, line->offset_hz.value + parent->offset_hz, reach);
  return parent->amplitude * size >= BENEATH_MAKES * account_amplitude(line);
}

/* Of the time in which the carrier is so near to a place, on either side, that the mean follows. */
static double passing_share(const struct beneath *beneath, double offset_hz)
{
  const struct sc_deviation *deviation = &beneath->scene->result->deviation;
  const double at_khz = 1e-3 * fabs(offset_hz), reach_khz = 1e-3 * followed / beneath->mean_s;
  const double low = fmax(floor(at_khz - reach_khz), 0), high = ceil(at_khz + reach_khz);
  if (deviation->peak_khz.why != NULL || !(low < SC_DEVIATION_CLASSES))
    return 0;
  const float *above = deviation->time_above_percent;
  const float most = high < SC_DEVIATION_CLASSES ? above[(size_t)high] : 0;
  return ((double)above[(size_t)low] - (double)most) / 100;
}

/* The modulation has a line that is so far from the carrier; false as well where that is not known
 * to two bins. */
static bool has_spot(const struct beneath *beneath, double hz, double spread, double passes_hz)
{
  const struct account_prediction *prediction = &beneath->scene->prediction;
  const double reach = beneath_exact_hz(beneath, spread);
  const struct account_spot *spot = account_spot_near(prediction, hz, reach + passes_hz);
  return reach < beneath->list->resolution_hz / 2 && spot != NULL &&
         beneath_is_of_strong_tones(prediction, spot);
}

/* A side line that a passing carrier gives to a stronger one, or to its ghost. */
static bool is_by_passing(const struct beneath *beneath, const struct sc_line *line,
                          const struct beneath_parent *parent)
{
  const double at_hz = line->offset_hz.value, of_hz = parent->offset_hz;
  const double own = hypot(line->tone.frequency_hz.uncertainty, parent->own_hz);
  const double both = hypot(beneath_spread(beneath, line), parent->uncertainty_hz);
  const double made = parent->amplitude * passing_share(beneath, of_hz);
  return made >= BENEATH_MAKES * account_amplitude(line) &&
         (has_spot(beneath, at_hz - of_hz, own, parent->passes_hz) ||
          has_spot(beneath, at_hz + of_hz, both, parent->passes_hz));
}

double beneath_made_unseen(const struct beneath *beneath)
{
  const double strongest = beneath->parent_count > 0 ? beneath->parents[0].amplitude : 0;
  const double share =
      beneath->ghosts_known ? sigmas * beneath->scene->doubled.missing : unseen_share;
  return strongest * fmax(share, product * strongest);
}

bool beneath_is_made(const struct beneath *beneath, const struct sc_line *line)
{
  if (account_amplitude(line) < beneath_made_unseen(beneath) || is_of_image(beneath, line))
    return true;
  for (size_t i = 0; i < beneath->parent_count; i++)
    if (is_ghost_of(beneath, line, &beneath->parents[i]) ||
        is_by_passing(beneath, line, &beneath->parents[i]))
      return true;
  return false;
}

/* The limiter mirrors what stays about the carrier that drifts. Records in which it was not
 * followed do not say what stays. */
static double passes_hz(const struct beneath *beneath, const struct sc_line *line)
{
  const struct sc_result *result = beneath->scene->result;
  const double drifts_hz = fabs(result->carrier.drift_hz_s.value) * result->capture.duration_s;
  if (!result->air_lines.followed)
    return 0;
  return !beneath->list->followed ? drifts_hz : line->tone.still ? drifts_hz / 2 : 0;
}

void beneath_note_parent(struct beneath *beneath, const struct sc_line *line)
{
  struct beneath_parent *parents = beneath->parents;
  const double amplitude = account_amplitude(line);
  size_t at =
      beneath->parent_count < BENEATH_PARENTS_MAX ? beneath->parent_count++ : BENEATH_PARENTS_MAX;
  for (; at > 0 && parents[at - 1].amplitude < amplitude; at--)
    if (at < BENEATH_PARENTS_MAX)
      parents[at] = parents[at - 1];
  if (at < BENEATH_PARENTS_MAX)
    parents[at] = (struct beneath_parent){line->offset_hz.value, beneath_spread(beneath, line),
                                          line->tone.frequency_hz.uncertainty, amplitude,
                                          passes_hz(beneath, line)};
}

void beneath_note_near_carrier(struct beneath *beneath)
{
  const struct sc_line_list *air = &beneath->scene->result->air_lines;
  for (const struct sc_line *line = air->lines; line < air->lines + air->count; line++)
    if (fabs(line->offset_hz.value) < ACCOUNT_BENEATH_FROM_HZ && line->mirror < 0 &&
        !account_mostly_predicted(beneath->scene, line))
      beneath_note_parent(beneath, line);
}

/* Of a receiver whose image falls on the signal itself; what a programme of noise makes of it has
 * no lines. */
static bool has_tones(const struct account_scene *scene)
{
  const struct sc_line *lines = scene->result->composite_lines.lines;
  for (size_t i = 0; i < scene->prediction.component_count; i++)
    if (strcmp(lines[scene->component_lines[i]].label, "pilot") != 0)
      return true;
  return scene->prediction.weak_count > 0;
}

/* The receiver's image, where this search does not part it from what it is the image of; what its
 * limit is (analysis/channel.c) holds for longer records. */
static double image_on_itself(const struct beneath *beneath, double known)
{
  const struct sc_result *result = beneath->scene->result;
  const struct sc_quantity *image = &result->noise.image;
  const bool apart = !(2 * fabs(result->carrier.offset_hz.value) < beneath->list->resolution_hz);
  if (!has_tones(beneath->scene))
    return 0;
  return apart || image->why != NULL ? known : fmax(known, image->value);
}

void beneath_expect(struct beneath *beneath, double image)
{
  struct account_scene *scene = beneath->scene;
  const double floor = fmax(scene->floor, ghost_floor);
  beneath->ghosts_known = account_predict_times(scene, 2, floor, &scene->doubled) == SC_OK &&
                          account_predict_times(scene, 3, floor, &beneath->tripled) == SC_OK;
  beneath->image = fmax(scene->image, image_of_lines(beneath));
  beneath->unseen = fmax(unseen_by_image(beneath), image_on_itself(beneath, image));
  beneath->unseen = fmax(beneath->unseen, account_rounded_anywhere(scene));
}
