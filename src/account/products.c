/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines of the composite that may be products of others: at the exact sum, in step over the
 * records. That can refute a product and never prove one; a twin on the other side and an
 * amplitude that follows its makers speak for it. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>

#include "account/roles.h"
#include "account/words.h"

static const double pi = 3.14159265358979323846;
static const double sum_upper_hz = 15000; /* 47 CFR 73.322(a) */
static const double weaker_db = 20;       /* than the tones it may be a product of */
static const double sigmas = 4;
static const double equal_db = 2;       /* of twins */
static const double slope_known = 0.25; /* uncertainty up to which following can be told */
static const double visible_db = 3;
enum { EVIDENCE_LENGTH = 112, FOLLOW_RECORDS_MIN = 4 };

/* ---- over the records */

static const struct sc_moment *moment_of(const struct sc_line *line, double middle_s)
{
  for (size_t i = 0; i < line->tone.moment_count; i++)
    if (line->tone.moments[i].middle_s == middle_s)
      return &line->tone.moments[i];
  return NULL;
}

/* A line, and what may make it: other + sign * pilot (both signs as in the frequencies). */
struct trio {
  const struct sc_line *line, *other, *pilot;
  int sign;
};

struct step {
  double phase_rad, phase_uncertainty_rad;
  double own, own_uncertainty, makers; /* amplitudes re what they are on average */
};

static bool read_step(const struct trio *trio, const struct sc_moment *own, struct step *step)
{
  const struct sc_moment *other = moment_of(trio->other, own->middle_s);
  const struct sc_moment *pilot = moment_of(trio->pilot, own->middle_s);
  if (other == NULL || pilot == NULL)
    return false;
  double phase =
      (double)own->phase_rad - (double)other->phase_rad - trio->sign * (double)pilot->phase_rad;
  step->phase_rad = phase - 2 * pi * floor(phase / (2 * pi) + 0.5);
  step->phase_uncertainty_rad =
      hypot((double)own->phase_uncertainty_rad,
            hypot((double)other->phase_uncertainty_rad, (double)pilot->phase_uncertainty_rad));
  step->own = (double)own->amplitude / trio->line->tone.amplitude - 1;
  step->own_uncertainty = (double)own->relative_uncertainty;
  step->makers = (double)other->amplitude / trio->other->tone.amplitude *
                     ((double)pilot->amplitude / trio->pilot->tone.amplitude) -
                 1;
  return true;
}

static size_t read_steps(const struct trio *trio, struct step steps[SC_LINES_MOMENTS_MAX])
{
  size_t count = 0;
  for (size_t i = 0; i < trio->line->tone.moment_count; i++)
    count += read_step(trio, &trio->line->tone.moments[i], &steps[count]);
  return count;
}

/* The phase against that of the sum must stand still: chi-squared within four sigma. */
static bool is_in_step(const struct step *steps, size_t count)
{
  double complex sum = 0;
  double squares = 0;
  for (size_t i = 0; i < count; i++)
    sum += cexp(I * steps[i].phase_rad);
  for (size_t i = 0; i < count; i++) {
    double off = carg(cexp(I * steps[i].phase_rad) * conj(sum));
    squares += pow(off / steps[i].phase_uncertainty_rad, 2);
  }
  double freedom = count > 1 ? (double)count - 1 : 0;
  return count < 2 || squares <= freedom + sigmas * sqrt(2 * freedom) + sigmas;
}

/* 1: the amplitude follows that of its makers; -1: it does not; 0: they are too steady to tell. */
static int follows(const struct step *steps, size_t count)
{
  double xx = 0, xy = 0, variance = 0;
  for (size_t i = 0; i < count; i++) {
    xx += steps[i].makers * steps[i].makers;
    xy += steps[i].makers * steps[i].own;
    variance += steps[i].own_uncertainty * steps[i].own_uncertainty / (double)count;
  }
  if (count < FOLLOW_RECORDS_MIN || !(sqrt(variance / xx) < slope_known))
    return 0;
  return fabs(xy / xx - 1) <= sigmas * sqrt(variance / xx) ? 1 : -1;
}

/* ---- the pilot and a tone 19 kHz beside */

/* What speaks for the product and against it, beside the frequency. */
static void say_evidence(const struct account_composite *composite, const struct trio *trio,
                         const struct step *steps, size_t count, char out[EVIDENCE_LENGTH])
{
  char place[ACCOUNT_NAME_LENGTH];
  double twin_hz = trio->other->offset_hz.value - trio->sign * composite->pilot_hz;
  double spread = hypot(trio->other->offset_hz.uncertainty, composite->pilot_uncertainty_hz);
  const struct sc_line *twin = account_line_at(composite, trio->line, fabs(twin_hz), spread);
  double apart = twin == NULL ? 0 : account_level_db(twin) - account_level_db(trio->line);
  int following = follows(steps, count);
  int length = 0;
  account_frequency_words(fabs(twin_hz), place);
  if (twin != NULL && fabs(apart) <= equal_db)
    length = snprintf(out, EVIDENCE_LENGTH, "; its twin at %s is as strong", place);
  else if (twin != NULL)
    length = snprintf(out, EVIDENCE_LENGTH, "; its twin at %s is %.0f dB %s", place, fabs(apart),
                      apart > 0 ? "stronger" : "weaker");
  else if (account_margin_db(composite->list, trio->line) >= visible_db)
    length = snprintf(out, EVIDENCE_LENGTH, "; against it: no twin at %s", place);
  else
    out[0] = '\0';
  if (following != 0)
    snprintf(out + length, EVIDENCE_LENGTH - (size_t)length, "; its level %s",
             following > 0 ? "follows that of both" : "does not follow theirs");
}

/* The sign of the pilot with which `other` sums up to the line; 0: with none. */
static int sign_of(const struct account_composite *composite, const struct sc_line *line,
                   const struct sc_line *other)
{
  double spread = hypot(other->offset_hz.uncertainty, composite->pilot_uncertainty_hz);
  for (int sign = -1; sign <= 1; sign += 2)
    if (account_is_at(composite, line, other->offset_hz.value + sign * composite->pilot_hz, spread))
      return sign;
  return 0;
}

static bool may_be_of(const struct account_composite *composite, const struct sc_line *line,
                      const struct sc_line *other)
{
  return other != line && other->offset_hz.value > sum_upper_hz &&
         other->verdict != SC_VERDICT_ARTEFACT &&
         other - composite->list->lines != composite->pilot_line &&
         account_level_db(line) < account_level_db(other);
}

bool account_as_pilot_product(const struct account_composite *composite, struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH], evidence[EVIDENCE_LENGTH];
  struct step steps[SC_LINES_MOMENTS_MAX];
  if (composite->pilot_line < 0 || line->offset_hz.value <= sum_upper_hz)
    return false;
  const struct sc_line *lines = composite->list->lines;
  for (size_t i = 0; i < composite->list->count; i++) {
    int sign = may_be_of(composite, line, &lines[i]) ? sign_of(composite, line, &lines[i]) : 0;
    if (sign == 0)
      continue;
    struct trio trio = {line, &lines[i], &lines[composite->pilot_line], sign};
    size_t count = read_steps(&trio, steps);
    if (!is_in_step(steps, count))
      continue;
    say_evidence(composite, &trio, steps, count, evidence);
    account_frequency_words(lines[i].offset_hz.value, name);
    account_label(line, "%s %c pilot?", name, sign < 0 ? '-' : '+');
    account_verdict(line, SC_VERDICT_UNKNOWN,
                    "possible product: %s and the pilot, whose frequencies add up to it exactly%s",
                    name, evidence);
    return true;
  }
  return false;
}

/* ---- two strong tones */

static bool is_product(const struct account_composite *composite, const struct sc_line *line,
                       size_t a, int times_a, size_t b, int times_b)
{
  const struct sc_line *first = &composite->list->lines[a], *second = &composite->list->lines[b];
  double hz = times_a * first->offset_hz.value + times_b * second->offset_hz.value;
  double spread =
      hypot(times_a * first->offset_hz.uncertainty, times_b * second->offset_hz.uncertainty);
  return account_is_at(composite, line, fabs(hz), spread);
}

/* Strong enough, and for a line of the audio an audio tone: the others beat in no loudspeaker. What
 * hum would make with itself is hum already. */
static bool may_make(const struct account_composite *composite, const struct sc_line *line,
                     size_t strong)
{
  const struct sc_line *maker = &composite->list->lines[strong];
  bool audio = line->offset_hz.value <= sum_upper_hz;
  return maker != line && account_level_db(line) < account_level_db(maker) - weaker_db &&
         (!audio || maker->offset_hz.value <= sum_upper_hz) && !account_is_hum(composite, maker);
}

static void name_product(const struct account_composite *composite, struct sc_line *line, size_t a,
                         int times_a, size_t b, int times_b)
{
  char first[ACCOUNT_NAME_LENGTH], second[ACCOUNT_NAME_LENGTH];
  account_component_words(&composite->list->lines[a], first);
  account_component_words(&composite->list->lines[b], second);
  if (times_b == 0)
    account_verdict(line, SC_VERDICT_UNKNOWN,
                    "possible product: %d x %s falls here, or a tone of its own", times_a, first);
  else
    account_verdict(line, SC_VERDICT_UNKNOWN,
                    "possible product: %d x %s %c %d x %s falls here, or a tone of its own",
                    times_a, first, times_b < 0 ? '-' : '+', times_b < 0 ? -times_b : times_b,
                    second);
}

static bool as_product_of(const struct account_composite *composite, struct sc_line *line, size_t a,
                          size_t b)
{
  static const int pairs[][2] = {{1, 1}, {1, -1}, {2, 1}, {2, -1}, {1, 2}, {1, -2}};
  static const int alone[][2] = {{2, 0}, {3, 0}};
  const int(*times)[2] = a == b ? alone : pairs;
  size_t count = a == b ? sizeof alone / sizeof *alone : sizeof pairs / sizeof *pairs;
  for (size_t i = 0; i < count; i++)
    if (is_product(composite, line, a, times[i][0], b, times[i][1])) {
      name_product(composite, line, a, times[i][0], b, times[i][1]);
      return true;
    }
  return false;
}

bool account_as_product(const struct account_composite *composite, struct sc_line *line)
{
  for (size_t i = 0; i < composite->strong_count; i++)
    for (size_t k = i; k < composite->strong_count; k++) {
      size_t a = composite->strong[i], b = composite->strong[k];
      if (may_make(composite, line, a) && may_make(composite, line, b) &&
          as_product_of(composite, line, a, b))
        return true;
    }
  return false;
}
