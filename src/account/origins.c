/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines by what makes them outside of the programme: reference, mixing, distance. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include "account/origins.h"
#include "account/words.h"

/* How far a crystal may be from what is printed on it: common practice, no source. */
static const double crystal = 50e-6;
/* Of the reference: a wider search would find a multiple anywhere, so it is not made. */
static const double chance_share = 0.025;
/* Expected coincidences among all pairs of lines that a name is still given at. */
static const double coincidences = 0.01;
/* Beside half of Carson's bandwidth, where the outer lines of a full modulation end. */
static const double beside_hz = 30e3;
/* By so much is twice one line less another weaker than the first at the least: of all that a cubic
 * or harder curve does to two tones an ideal limiter makes most of it, 8.7 dB less (at 0.9 of the
 * other's amplitude before it; from the Fourier series of the sign of cos a + r cos b). Lines of
 * one level in equal steps are no products of each other. */
static const double limited_db = 8.5;
static const double carrier_bins = 5;  /* as far as a programme moves its mean */
static const double paired_db = 6;     /* our choice */
static const double about_share = 0.9; /* of the distance from the carrier: our choice */
enum { PARENTS_MAX = 32 };

/* Whether `hz` is a multiple of the reference as exactly as that is known; 0: it is none. */
static double multiple_of(double hz, double exact_hz, double reference_hz)
{
  double times = reference_hz > 0 ? round(hz / reference_hz) : 0;
  double reach = exact_hz + crystal * hz;
  bool found = times >= 1 && reach <= chance_share * reference_hz &&
               fabs(hz - times * reference_hz) <= reach;
  return found ? times : 0;
}

static void say_beside(struct sc_line *line, double times, const char *name)
{
  account_label(line, "%.0f x reference", times);
  if (times == 1)
    account_verdict(line, SC_VERDICT_SPURIOUS,
                    "side line of the carrier at the given reference of %s: it reaches the "
                    "oscillator",
                    name);
  else
    account_verdict(line, SC_VERDICT_SPURIOUS,
                    "side line of the carrier at %.0f times the given reference of %s: it reaches "
                    "the oscillator",
                    times, name);
}

bool account_as_reference_beside(const struct account_scene *scene, struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH];
  const struct sc_result *result = scene->result;
  double reference_hz = result->capture.reference_hz;
  double exact = account_exact_hz(&result->air_lines, line->offset_hz.uncertainty);
  account_frequency_words(reference_hz, name);
  double times = multiple_of(fabs(line->offset_hz.value), exact, reference_hz);
  if (times > 0) {
    say_beside(line, times, name);
    return true;
  }
  if (result->carrier_frequency_hz.why != NULL)
    return false;
  double absolute_hz = result->carrier_frequency_hz.value + line->offset_hz.value;
  times = multiple_of(absolute_hz, exact, reference_hz);
  if (times == 0)
    return false;
  account_label(line, "reference harmonic");
  account_verdict(line, SC_VERDICT_SPURIOUS,
                  "harmonic %.0f of the given reference of %s, within %.1f parts per million",
                  times, name, 1e6 * fabs(absolute_hz / (times * reference_hz) - 1));
  return true;
}

bool account_as_reference(const struct account_composite *composite, struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH];
  double reference_hz = composite->scene->result->capture.reference_hz;
  double exact = account_exact_hz(composite->list, line->offset_hz.uncertainty);
  double times = multiple_of(line->offset_hz.value, exact, reference_hz);
  if (times == 0)
    return false;
  account_frequency_words(reference_hz, name);
  account_label(line, "%.0f x reference", times);
  account_verdict(line, SC_VERDICT_SPURIOUS,
                  "a tone at %.0f times the given reference of %s, exact in frequency", times,
                  name);
  return true;
}

/* A line that has a twin at the mirrored offset is a half of modulation, perhaps of a programme
 * that changes: its sums with others are modulation as well. */
static bool is_paired(const struct sc_line_list *list, const struct sc_line *line)
{
  return line->mirror >= 0 &&
         fabs(line->level_dbc.value - list->lines[line->mirror].level_dbc.value) < paired_db;
}

/* Lines that are stronger than this one and no part of the modulation, nor the carrier, about which
 * lines are mirrored by AM and FM; more than the array holds
 * are counted on. */
static size_t take_parents(const struct account_scene *scene, const struct sc_line *line,
                           const struct sc_line *parents[PARENTS_MAX])
{
  const struct sc_line_list *list = &scene->result->air_lines;
  size_t count = 0;
  for (size_t i = 0; i < list->count && count < PARENTS_MAX; i++)
    if (list->lines[i].level_dbc.value > line->level_dbc.value &&
        fabs(list->lines[i].offset_hz.value) > carrier_bins * list->resolution_hz &&
        !account_mostly_predicted(scene, &list->lines[i]) && !is_paired(list, &list->lines[i]))
      parents[count++] = &list->lines[i];
  return count;
}

static double mixing_reach(const struct account_scene *scene, const struct sc_line *line,
                           const struct sc_line *twice, const struct sc_line *once)
{
  double own = hypot(line->tone.frequency_hz.uncertainty, once->tone.frequency_hz.uncertainty);
  return account_exact_hz(&scene->result->air_lines,
                          hypot(own, 2 * twice->tone.frequency_hz.uncertainty));
}

static bool is_mixed(const struct account_scene *scene, const struct sc_line *line,
                     const struct sc_line *twice, const struct sc_line *once)
{
  double away = line->tone.frequency_hz.value - 2 * twice->tone.frequency_hz.value +
                once->tone.frequency_hz.value;
  return twice != once && fabs(away) <= mixing_reach(scene, line, twice, once) &&
         line->level_dbc.value < twice->level_dbc.value - limited_db;
}

/* So many pairs that one would fit by chance. The parents are known better than the line. */
static bool is_crowded(const struct account_scene *scene, const struct sc_line *line,
                       size_t parents)
{
  double pairs = (double)parents * ((double)parents - 1);
  double reach = mixing_reach(scene, line, line, line);
  return pairs * 2 * reach > coincidences * scene->result->capture.info.sample_rate_hz;
}

static void say_mixing(struct sc_line *line, const struct sc_line *twice,
                       const struct sc_line *once)
{
  account_label(line, "mixing product");
  account_verdict(line, SC_VERDICT_SPURIOUS,
                  "mixing product, twice the line at %+.3f kHz less that at %+.3f kHz: with 10 dB "
                  "less at the receiver's input it falls by 30 dB if the receiver makes it, else "
                  "by 10",
                  twice->offset_hz.value / 1e3, once->offset_hz.value / 1e3);
}

bool account_as_mixing(const struct account_scene *scene, struct sc_line *line)
{
  const struct sc_line *parents[PARENTS_MAX];
  size_t count = take_parents(scene, line, parents);
  if (count == PARENTS_MAX || is_crowded(scene, line, count))
    return false;
  for (size_t i = 0; i < count; i++)
    for (size_t k = 0; k < count; k++)
      if (is_mixed(scene, line, parents[i], parents[k])) {
        say_mixing(line, parents[i], parents[k]);
        return true;
      }
  return false;
}

/* The measured tones make a line at least as strong about as far out: what is not predicted, as of
 * a programme that changes, may be beside it. */
static bool is_reached(const struct account_scene *scene, const struct sc_line *line)
{
  const struct account_prediction *prediction = &scene->prediction;
  const double far_hz = about_share * fabs(line->offset_hz.value);
  const double amplitude = account_amplitude(line);
  for (size_t i = 0; i < prediction->spot_count; i++)
    if (fabs(prediction->spots[i].frequency_hz) >= far_hz &&
        scene->common * cabs(prediction->spots[i].amplitude) >= amplitude)
      return true;
  return false;
}

bool account_is_far(const struct account_scene *scene, const struct sc_line *line)
{
  const struct sc_quantity *carson = &scene->result->occupancy.carson_hz;
  return carson->why == NULL && fabs(line->offset_hz.value) > carson->value / 2 + beside_hz &&
         !is_reached(scene, line);
}
