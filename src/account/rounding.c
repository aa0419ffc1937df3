/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines that the capture's rounding makes of a steady signal. Where all strong lines are multiples
 * of one frequency, that and the sample rate, the samples repeat, and so does what was rounded off:
 * its power, a sixth of a step's square in I and Q together (W. R. Bennett 1948, from memory), is
 * spread over the multiples, as chance has it. Noise of the size of a step makes noise of it. Of
 * other signals the samples were rounded once more (measure/rounded.h), and each line has its
 * share. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include "account/scene.h"
#include "account/words.h"

/* Lines that have to be multiples, and how many multiples there may be: with more each is so weak
 * that no search finds it. */
enum { STRONG_MIN = 3, STRONG_MAX = 16, MULTIPLES_MAX = 1 << 15 };
/* So many times another carrier is added to a multiple, or taken off. */
enum { OTHER_TIMES = 32 };
static const double pi = 3.14159265358979323846;
static const double sigmas = 4;
/* Between records a multiple of a high order must keep its phase as well. */
static const double apart_hz = 1e-4;
/* The power of a line is exponentially distributed about the mean; but rounding of a signal that
 * repeats, and perhaps is its own mirror image in time, is not all chance: the mean may be three
 * times that here and there. One of all exceeds this in one of 150 captures then. */
static const double uneven = 3, rare = 5;
/* Of a real signal with few tones all phases are the same or opposite, and its second half is often
 * the first with the sign changed: half of the multiples have all of it. */
static const double uneven_tones = 4;
/* A single tone is a multiple of something by chance, if that may be small enough: of numbers
 * between 0 and 192 kHz one of 700 is within 0.1 mHz, by the count of fractions. */
enum { TONES_MULTIPLES_MAX = 2048 };
static const double rests_sigmas = 5; /* by which a rest stands out (air.c) */
/* Of a line, that rounding the signal once more has to show (measure/rounded.h). Where it shows as
 * much of so many lines, rounding does make lines here, and noise may hide more of a weak one: a
 * quarter is there by chance in one of 15, if the error is as strong as the line. */
static const double anew_share = 0.5, anew_share_of_many = 0.25;
enum { ANEW_MIN = 8 };
/* Of the strongest that was seen, so many times that is nothing that rounding makes unseen (our
 * choice). */
static const double above_all = 2;

/* Of those that the modulation makes, or of the others, at most `most` above an amplitude, the
 * strongest first. */
static size_t strongest(const struct account_scene *scene, bool predicted, double above,
                        size_t most, const struct sc_line *strong[])
{
  const struct sc_line_list *list = &scene->result->air_lines;
  size_t count = 0;
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *line = &list->lines[i];
    if (!(account_amplitude(line) > above) || account_mostly_predicted(scene, line) != predicted)
      continue;
    size_t at = count < most ? count++ : most;
    for (; at > 0 && strong[at - 1]->level_dbc.value < line->level_dbc.value; at--)
      if (at < most)
        strong[at] = strong[at - 1];
    if (at < most)
      strong[at] = line;
  }
  return count;
}

static double away_from(double hz, double step_hz)
{
  return fabs(hz - step_hz * round(hz / step_hz));
}

static bool is_multiple(const struct sc_quantity *hz, double step_hz)
{
  return away_from(hz->value, step_hz) <= apart_hz + sigmas * hz->uncertainty;
}

/* The fewest multiples, up to `most`, that make up the sample rate and have all of these lines
 * among them; 0: none. */
static size_t multiples_of(const struct sc_line *const lines[], size_t count, double rate_hz,
                           size_t most)
{
  for (size_t n = 2; n <= most; n++) {
    size_t i = 0;
    while (i < count && is_multiple(&lines[i]->tone.frequency_hz, rate_hz / (double)n))
      i++;
    if (i == count)
      return n;
  }
  return 0;
}

/* Of the strong lines of the modulation, those above all that was rounded off; 0: none. */
static size_t find_multiples(const struct account_scene *scene, double off)
{
  const struct sc_line *strong[STRONG_MAX];
  const size_t count = strongest(scene, true, sqrt(off), STRONG_MAX, strong);
  const double rate_hz = scene->result->capture.info.sample_rate_hz;
  return count < STRONG_MIN ? 0 : multiples_of(strong, count, rate_hz, MULTIPLES_MAX);
}

/* What noise of so many steps (rms, in I or Q) leaves of lines' power: the characteristic function
 * of its distribution (Widrow and Kollar, Quantization Noise, 2008, from memory). */
static double left_by_noise(double steps)
{
  return exp(-4 * pi * pi * steps * steps);
}

/* A carrier at no multiple does not repeat with the rest: what is rounded off has lines at such
 * distances from the multiples as well. */
static void find_others(struct account_scene *scene)
{
  struct account_rounding *rounding = &scene->rounding;
  const struct sc_line *others[ACCOUNT_ROUNDED_MAX];
  const size_t count = strongest(scene, false, rounding->most, ACCOUNT_ROUNDED_MAX, others);
  for (size_t i = 0; i < count; i++)
    if (!is_multiple(&others[i]->tone.frequency_hz, rounding->step_hz))
      rounding->others_hz[rounding->other_count++] = others[i]->tone.frequency_hz.value;
}

/* ---- by rounding once more */

static bool has_anew(const struct account_scene *scene, const struct sc_line *line, double share)
{
  return line->rounded >= share &&
         account_below_converter(scene->result, line->tone.level_db.value);
}

void account_find_rounded_anew(struct account_scene *scene)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  size_t count = 0;
  for (size_t i = 0; i < list->count; i++)
    count += has_anew(scene, &list->lines[i], anew_share);
  scene->anew_share = count < ANEW_MIN ? anew_share : anew_share_of_many;
}

bool account_is_rounded_anew(const struct account_scene *scene, const struct sc_line *line)
{
  return has_anew(scene, line, scene->anew_share);
}

/* A line on air is that of a tone of this index, and rounding makes it. */
static bool is_of_rounded(const struct account_scene *scene, double hz, double index)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  for (size_t i = 0; i < list->count; i++) {
    const struct sc_line *line = &list->lines[i];
    if (fabs(fabs(line->offset_hz.value) - hz) <=
            account_reach_hz(list, line->offset_hz.uncertainty) &&
        account_is_rounded_anew(scene, line) &&
        account_agrees(account_amplitude(line), account_amplitude_uncertainty(line), index / 2))
      return true;
  }
  return false;
}

static bool is_tone_rounded_anew(const struct account_scene *scene, const struct sc_line *line)
{
  const struct sc_result *result = scene->result;
  if (!(line->rounded > 0) || line->deviation_khz.why != NULL)
    return false;
  const double index = account_index(line); /* of a small one both lines have the half */
  return account_below_converter(result,
                                 result->carrier.level_dbfs.value + 20 * log10(index / 2)) &&
         (line->rounded >= scene->anew_share || is_of_rounded(scene, line->offset_hz.value, index));
}

void account_say_rounded_anew(const struct account_scene *scene, struct sc_line *line)
{
  account_label(line, "rounding");
  account_verdict(line, SC_VERDICT_ARTEFACT,
                  "of the capture's rounding, whose steps hardly any noise covers: its signal, "
                  "rounded to %u bits once more, has this line with the same phase",
                  scene->result->capture.info.bits);
}

void account_take_rounded_tones(struct account_scene *scene)
{
  struct sc_line_list *list = &scene->result->composite_lines;
  for (size_t i = 0; i < list->count; i++)
    if (is_tone_rounded_anew(scene, &list->lines[i]))
      account_say_rounded_anew(scene, &list->lines[i]);
}

/* The strongest of the lines that rounding has been seen to make: so much it may make anywhere. */
static double strongest_anew(const struct account_scene *scene)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  double most = 0;
  for (size_t i = 0; i < list->count && scene->anew_share < anew_share; i++)
    if (!account_mostly_predicted(scene, &list->lines[i]) &&
        account_is_rounded_anew(scene, &list->lines[i]))
      most = fmax(most, account_amplitude(&list->lines[i]));
  return most;
}

/* ---- */

bool account_is_above_rounding(const struct account_scene *scene, const struct sc_line *line)
{
  return !(scene->rounding.step_hz > 0) && scene->rounding.most > 0 &&
         account_amplitude(line) > above_all * scene->rounding.most;
}

double account_rounded_anywhere(const struct account_scene *scene)
{
  return scene->rounding.step_hz > 0 ? 0 : 2 * scene->rounding.most;
}

void account_find_rounding(struct account_scene *scene)
{
  const struct sc_result *result = scene->result;
  const struct sc_quantity *density = &result->carrier.noise_density_dbfs_hz;
  const double bits = result->capture.info.bits, rate_hz = result->capture.info.sample_rate_hz;
  const double anew = strongest_anew(scene);
  scene->rounding = (struct account_rounding){.amplitude = anew / rests_sigmas, .most = anew};
  if (!(bits >= 1) || density->why != NULL)
    return;
  const double step = exp2(1 - bits), off = step * step / 6;
  const double carrier = pow(10, result->carrier.level_dbfs.value / 10);
  const size_t multiples = find_multiples(scene, off / carrier);
  if (multiples == 0)
    return;
  /* What was rounded off is in the noise that was measured, too. */
  const double noise = fmax(pow(10, density->value / 10) * rate_hz - off, 0) / 2;
  const double power = off * left_by_noise(sqrt(noise) / step) / carrier / (double)multiples;
  const double most = sqrt(uneven * power * (log((double)multiples) + rare));
  scene->rounding = (struct account_rounding){
      .step_hz = rate_hz / (double)multiples, .amplitude = most / rests_sigmas, .most = most};
  find_others(scene);
}

/* The tones above all that was rounded off; the lowest noise beside any line, per hertz. */
static size_t strong_tones(const struct sc_line_list *list, double off,
                           const struct sc_line *strong[STRONG_MAX], double *density)
{
  size_t count = 0;
  *density = INFINITY;
  for (const struct sc_line *line = list->lines; line < list->lines + list->count; line++) {
    const double power = pow(10, line->tone.level_db.value / 10);
    *density = fmin(*density, line->tone.noise_density);
    if (power > off && count < STRONG_MAX)
      strong[count++] = line;
  }
  return count;
}

void account_find_rounding_of_tones(struct account_scene *scene)
{
  const struct sc_result *result = scene->result;
  const struct sc_line *strong[STRONG_MAX];
  const double bits = result->capture.info.bits, rate_hz = result->capture.info.sample_rate_hz;
  scene->rounding = (struct account_rounding){0};
  if (!(bits >= 1) || !(result->composite_full_scale > 0))
    return;
  const double step = exp2(1 - bits) * result->composite_full_scale, off = step * step / 12;
  double density;
  const size_t count = strong_tones(&result->composite_lines, off, strong, &density);
  const size_t multiples =
      count == 0 ? 0
                 : multiples_of(strong, count, rate_hz,
                                count < STRONG_MIN ? TONES_MULTIPLES_MAX : MULTIPLES_MAX);
  if (multiples == 0 || !isfinite(density))
    return;
  const double noise = fmax(density * rate_hz / 2 - off, 0);
  const double power = 2 * off * left_by_noise(sqrt(noise) / step) / (double)multiples;
  scene->rounding = (struct account_rounding){
      .step_hz = rate_hz / (double)multiples,
      .most = sqrt(2 * uneven_tones * power * (log((double)multiples) + rare))};
}

bool account_is_rounding(const struct account_scene *scene, const struct sc_line_list *list,
                         const struct sc_quantity *hz, double size)
{
  const struct account_rounding *rounding = &scene->rounding;
  const double reach_hz = account_exact_hz(list, hz->uncertainty);
  if (!(size <= rounding->most) || !(rounding->step_hz > 0))
    return false;
  bool is = away_from(hz->value, rounding->step_hz) <= reach_hz;
  for (size_t i = 0; i < rounding->other_count; i++)
    for (int times = -OTHER_TIMES; times <= OTHER_TIMES; times++)
      is = is ||
           away_from(hz->value - times * rounding->others_hz[i], rounding->step_hz) <= reach_hz;
  return is;
}

void account_say_rounding(const struct account_scene *scene, struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH];
  const double full = scene->result->composite_full_scale;
  account_frequency_words(scene->rounding.step_hz, name);
  account_label(line, "rounding");
  account_verdict(line, SC_VERDICT_ARTEFACT,
                  "of the capture's rounding to %u bits: its samples repeat and hardly any noise "
                  "covers the steps, which so make lines every %s of up to %.0f %s",
                  scene->result->capture.info.bits, name,
                  20 * log10(scene->rounding.most / (full > 0 ? full : 1)),
                  full > 0 ? "dBFS" : "dBc");
}
