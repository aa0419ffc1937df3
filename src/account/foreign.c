/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines of the composite that come from outside it: the mains, what folds at the rate of a sound
 * card, and clocks. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "account/roles.h"
#include "account/words.h"

/* The mains keep to 50 or 60 Hz within 1 % (EN 50160:2010, 4.2.1, from memory). */
static const double mains_nominal_hz[] = {50, 60};
static const double mains_share = 0.01;
enum { MAINS_TIMES_MAX = 12, MAINS_FIRST_MAX = 3, MAINS_BESIDE_MAX = 6 };
enum { FOLDED_TIMES_MAX = 12, RATE_PARTS = 8 };
/* Hum is weak: below 1 % of 75 kHz, or that much below the strongest line. */
static const double hum_most_khz = 0.75, hum_weaker_db = 26;
static const double weaker_db = 20; /* than what it is made of */
/* Beyond all multiples of the mains that are looked for; and where programmes end. */
static const double mains_upper_hz = 720 * 1.01, programme_upper_hz = 15000;
/* Test tones at round frequencies are multiples of 50 or 100 Hz, and so are all their products;
 * tones that are not leave a rest. */
static const double grid_rest_hz = 0.5, grid_least_hz = 20;
enum { COMB_MIN = 4 };

/* ---- mains */

static bool is_weak(const struct account_composite *composite, const struct sc_line *line)
{
  if (line->deviation_khz.why == NULL)
    return line->deviation_khz.value < hum_most_khz;
  const struct sc_line *lines = composite->list->lines;
  return composite->strong_count > 0 &&
         account_level_db(line) < account_level_db(&lines[composite->strong[0]]) - hum_weaker_db;
}

/* Which multiple of the mains' nominal frequency; 0: none. */
static int times_nominal(double frequency_hz, double nominal_hz, int most)
{
  int times = (int)lround(frequency_hz / nominal_hz);
  double away = fabs(frequency_hz - times * nominal_hz);
  return times >= 1 && times <= most && away <= mains_share * times * nominal_hz ? times : 0;
}

bool account_mains_words(double frequency_hz, char *words, size_t size)
{
  for (size_t i = 0; i < sizeof mains_nominal_hz / sizeof *mains_nominal_hz; i++) {
    int times = times_nominal(frequency_hz, mains_nominal_hz[i], MAINS_BESIDE_MAX);
    if (times == 0)
      continue;
    snprintf(words, size, "%d x %.0f Hz", times, mains_nominal_hz[i]);
    return true;
  }
  return false;
}

/* ---- what products of the programme's tones look like */

/* Euclid's algorithm with rests that count as none. */
static double common_measure_hz(double a, double b)
{
  while (b > grid_rest_hz) {
    const double rest = fmod(a, b);
    a = b;
    b = rest > a - grid_rest_hz ? 0 : rest;
  }
  return a;
}

static void find_grid(struct account_composite *composite)
{
  double grid_hz = 0;
  size_t count = 0;
  for (size_t i = 0; i < composite->strong_count; i++) {
    const struct sc_line *line = &composite->list->lines[composite->strong[i]];
    if (line->offset_hz.value > programme_upper_hz || is_weak(composite, line))
      continue;
    grid_hz = count++ == 0 ? line->offset_hz.value
                           : common_measure_hz(fmax(grid_hz, line->offset_hz.value),
                                               fmin(grid_hz, line->offset_hz.value));
  }
  composite->grid_hz = count > 1 && grid_hz >= grid_least_hz ? grid_hz : 0;
}

static bool is_on_grid(const struct account_composite *composite, const struct sc_line *line)
{
  if (composite->grid_hz == 0)
    return false;
  const double times = round(line->offset_hz.value / composite->grid_hz);
  return times >= 1 && fabs(line->offset_hz.value - times * composite->grid_hz) <=
                           account_exact_hz(composite->list, line->offset_hz.uncertainty);
}

/* Its neighbours on the grid, where no mains have multiples, are about as strong: they are products
 * of the tones, all of them. */
static bool is_of_comb(const struct account_composite *composite, const struct sc_line *line)
{
  size_t alike = 0;
  if (!is_on_grid(composite, line))
    return false;
  for (size_t i = 0; i < composite->list->count; i++) {
    const struct sc_line *other = &composite->list->lines[i];
    alike += other->offset_hz.value > mains_upper_hz &&
             other->offset_hz.value <= programme_upper_hz && is_weak(composite, other) &&
             account_level_db(other) > account_level_db(line) - weaker_db &&
             is_on_grid(composite, other);
  }
  return alike >= COMB_MIN;
}

/* ---- the series */

/* Weak lines at multiples of a frequency that one of them gives. */
static size_t count_multiples(const struct account_composite *composite, double hz,
                              double uncertainty_hz)
{
  size_t count = 0;
  for (size_t i = 0; i < composite->list->count; i++) {
    const struct sc_line *line = &composite->list->lines[i];
    long times = lround(line->offset_hz.value / hz);
    count += times >= 1 && times <= MAINS_TIMES_MAX && is_weak(composite, line) &&
             !is_of_comb(composite, line) &&
             account_is_at(composite, line, (double)times * hz, (double)times * uncertainty_hz);
  }
  return count;
}

/* The frequency of which most weak lines are multiples, two at least. */
void account_find_mains(struct account_composite *composite)
{
  size_t most = 1;
  find_grid(composite);
  for (size_t i = 0; i < composite->list->count; i++) {
    const struct sc_line *line = &composite->list->lines[i];
    for (size_t k = 0; k < sizeof mains_nominal_hz / sizeof *mains_nominal_hz; k++) {
      int times = times_nominal(line->offset_hz.value, mains_nominal_hz[k], MAINS_FIRST_MAX);
      if (times == 0 || !is_weak(composite, line))
        continue;
      double hz = line->offset_hz.value / times;
      size_t count = count_multiples(composite, hz, line->offset_hz.uncertainty / times);
      if (count > most)
        composite->mains_hz = hz;
      most = count > most ? count : most;
    }
  }
}

static bool is_of_series(const struct account_composite *composite, const struct sc_line *line,
                         int *times)
{
  if (composite->mains_hz == 0 || !is_weak(composite, line) || is_of_comb(composite, line))
    return false;
  *times = (int)lround(line->offset_hz.value / composite->mains_hz);
  /* What gave the frequency was measured no better than this line. */
  double spread = *times * line->offset_hz.uncertainty;
  return *times >= 1 && *times <= MAINS_TIMES_MAX &&
         account_is_at(composite, line, *times * composite->mains_hz, spread);
}

bool account_as_mains(const struct account_composite *composite, struct sc_line *line)
{
  char words[ACCOUNT_NAME_LENGTH];
  int times;
  if (is_of_series(composite, line, &times)) {
    account_label(line, "hum %d x %.2f Hz", times, composite->mains_hz);
    account_verdict(line, SC_VERDICT_SPURIOUS,
                    "mains hum: %d times %.2f Hz, of which other weak lines are multiples too; of "
                    "the transmitter's supply or of the receiver's",
                    times, composite->mains_hz);
    return true;
  }
  if (!is_weak(composite, line) || !account_mains_words(line->offset_hz.value, words, sizeof words))
    return false;
  account_label(line, "hum %s?", words);
  account_verdict(line, SC_VERDICT_UNKNOWN,
                  "possible mains hum: %s within the mains' tolerance; alone it may be a tone of "
                  "the programme as well",
                  words);
  return true;
}

bool account_as_beside_mains(const struct account_composite *composite, struct sc_line *line)
{
  char of[ACCOUNT_NAME_LENGTH];
  for (size_t i = 0; i < composite->strong_count && composite->mains_hz > 0; i++) {
    const struct sc_line *other = &composite->list->lines[composite->strong[i]];
    double away = fabs(line->offset_hz.value - other->offset_hz.value);
    int times = (int)lround(away / composite->mains_hz);
    double spread = hypot(line->offset_hz.uncertainty, other->offset_hz.uncertainty);
    if (times < 1 || times > MAINS_BESIDE_MAX ||
        account_level_db(line) > account_level_db(other) - weaker_db ||
        fabs(away - times * composite->mains_hz) > account_exact_hz(composite->list, spread))
      continue;
    account_component_words(other, of);
    account_label(line, "hum on %s", of);
    account_verdict(line, SC_VERDICT_UNKNOWN,
                    "possible product: %d times the hum of %.2f Hz, on the line at %s", times,
                    composite->mains_hz, of);
    return true;
  }
  return false;
}

/* ---- the capture's own rate */

static bool is_sound_card(const struct account_composite *composite)
{
  return composite->scene->result->capture.info.kind == SC_KIND_COMPOSITE;
}

static double folded(double hz, double rate_hz)
{
  return fabs(hz - rate_hz * floor(hz / rate_hz + 0.5));
}

static bool as_folded_of(const struct account_composite *composite, struct sc_line *line,
                         size_t source, int times)
{
  char name[ACCOUNT_NAME_LENGTH];
  double rate_hz = composite->scene->result->capture.info.sample_rate_hz;
  const struct sc_line *of = &composite->list->lines[source];
  double hz = times * of->offset_hz.value;
  if (of == line || hz < rate_hz / 2 || account_level_db(line) > account_level_db(of) - weaker_db ||
      !account_is_at(composite, line, folded(hz, rate_hz), times * of->offset_hz.uncertainty))
    return false;
  account_component_words(of, name);
  account_label(line, "folded %d x %s", times, name);
  account_verdict(line, SC_VERDICT_ARTEFACT,
                  "alias: %d times %s, %.3f kHz, folded at the capture's rate, exact in frequency",
                  times, name, hz / 1e3);
  return true;
}

/* A sound card's clock is not the transmitter's, so what folds falls on no other sum but by
 * chance. */
bool account_as_folded(const struct account_composite *composite, struct sc_line *line)
{
  for (size_t i = 0; i < composite->strong_count && is_sound_card(composite); i++)
    for (int times = 2; times <= FOLDED_TIMES_MAX; times++)
      if (as_folded_of(composite, line, composite->strong[i], times))
        return true;
  return false;
}

bool account_is_rate_share(const struct sc_line_list *list, const struct sc_quantity *frequency_hz,
                           double rate_hz, int *numerator, int *denominator)
{
  double share = RATE_PARTS * frequency_hz->value / rate_hz;
  *numerator = (int)lround(share);
  *denominator = RATE_PARTS;
  for (; *numerator != 0 && *numerator % 2 == 0 && *denominator > 1; *denominator /= 2)
    *numerator /= 2;
  double away = fabs(share - round(share)) * rate_hz / RATE_PARTS;
  return *numerator != 0 && away <= account_exact_hz(list, frequency_hz->uncertainty);
}

bool account_as_clock(const struct account_composite *composite, struct sc_line *line)
{
  int numerator, denominator;
  if (!is_sound_card(composite) ||
      !account_is_rate_share(composite->list, &line->tone.frequency_hz,
                             composite->scene->result->capture.info.sample_rate_hz, &numerator,
                             &denominator))
    return false;
  account_label(line, "clock %d/%d", numerator, denominator);
  account_verdict(line, SC_VERDICT_ARTEFACT,
                  "clock line of the receiver: exactly %d/%d of the capture's sample rate",
                  numerator, denominator);
  return true;
}
