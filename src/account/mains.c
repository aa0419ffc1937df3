/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines of the composite at multiples of the mains' frequency: a series of them hums at any level
 * under a programme, a single one may be a tone. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "account/changing.h"
#include "account/roles.h"
#include "account/words.h"

/* The mains keep to 50 or 60 Hz within 1 % (EN 50160:2010, 4.2.1, from memory). */
static const double mains_nominal_hz[] = {50, 60};
static const double mains_share = 0.01;
enum { MAINS_TIMES_MAX = 12, MAINS_FIRST_MAX = 3, MAINS_BESIDE_MAX = 6, MAINS_ALONE_MAX = 2 };
/* Weak is below 1 % of 75 kHz, or that much below the strongest line: no programme is. */
static const double weak_most_khz = 0.75, weak_least_db = 26;
/* Our own choices. What is stronger hums under a programme, so much below it; without one it may
 * hum where it is below the pilot, or where there is none below 10 % of 75 kHz. */
static const double under_db = 12, loud_khz = 7.5;
static const double exact_most_hz = 1; /* within more, strong lines are multiples by chance */
/* Notes that came and went within records had 13 dB, hum under noise 15 to 27 dB (composed). */
static const double steady_least_db = 16;
/* A bass note and its octave are two lines; strong ones are surely hum from three on that are
 * within 20 dB of each other (our choice). */
enum { SURE_MIN = 3 };
static const double pi = 3.14159265358979323846;
/* The mains wander by some 20 mHz about their nominal frequency (standard deviation of a large
 * grid, from memory), so that chance puts them so near to it in one capture of a thousand, by
 * either of two clocks; a tone that is generated is there always. */
static const double mains_wander_hz = 0.02, round_chance = 1e-3;
static const double round_sigmas = 4, round_least_hz = 1e-7;
/* A generator is at a round frequency within its clock and the receiver's (common practice: 100 ppm
 * each), and an instrument in tune (ISO 16:1975: A at 440 Hz; equal temperament) is 2 % and more
 * from 50 and 60 Hz: G1 at 49.00, B1 at 61.74 Hz. */
static const double clocks_share = 2e-4;
static const double surely_db = 10; /* above what a line needs to be found */
static const double side_db = 3;    /* of the two side lines of one line */
static const double weaker_db = 20; /* than what it is made of */
/* Beyond all multiples of the mains that are looked for; and where programmes end. */
static const double mains_upper_hz = 720 * 1.01, programme_upper_hz = 15000;
/* Test tones at round frequencies are multiples of 50 or 100 Hz, and so are all their products;
 * tones that are not leave a rest. */
static const double grid_rest_hz = 0.5, grid_least_hz = 20;
enum { COMB_MIN = 4 };

static bool is_weak(const struct account_composite *composite, const struct sc_line *line)
{
  if (line->deviation_khz.why == NULL)
    return line->deviation_khz.value < weak_most_khz;
  const struct sc_line *lines = composite->list->lines;
  return composite->strong_count > 0 &&
         account_level_db(line) < account_level_db(&lines[composite->strong[0]]) - weak_least_db;
}

/* A note of the programme comes and goes. Some records may miss a line that is there all the time,
 * as long as it stands hardly above what it needs. */
static bool changes(const struct account_composite *composite, const struct sc_line *line)
{
  return account_is_unsteady(composite->list, line) ||
         (line->tone.moment_count < composite->list->records &&
          (composite->changes || account_margin_db(composite->list, line) > surely_db));
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

/* The strongest line of the sum. */
static double strongest_db(const struct account_composite *composite)
{
  double most_db = -INFINITY;
  for (size_t i = 0; i < composite->list->count; i++) {
    const struct sc_line *line = &composite->list->lines[i];
    if (line->offset_hz.value <= programme_upper_hz && line->verdict != SC_VERDICT_ARTEFACT)
      most_db = fmax(most_db, account_level_db(line));
  }
  return most_db;
}

static bool may_be_hum_under(const struct account_composite *composite, const struct sc_line *line)
{
  char words[ACCOUNT_NAME_LENGTH];
  return account_mains_words(line->offset_hz.value, words, sizeof words) &&
         account_level_db(line) < strongest_db(composite) - under_db;
}

static void find_grid(struct account_composite *composite)
{
  double grid_hz = 0;
  size_t count = 0;
  for (size_t i = 0; i < composite->strong_count; i++) {
    const struct sc_line *line = &composite->list->lines[composite->strong[i]];
    if (line->offset_hz.value > programme_upper_hz || is_weak(composite, line) ||
        may_be_hum_under(composite, line))
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

/* Lines at the multiples of one frequency. */
struct series {
  double hz, uncertainty_hz;
  double most_db; /* stronger lines at its multiples are of the programme */
  bool sure;      /* what it has is no programme */
  size_t count;
};

static int times_in(const struct account_composite *composite, const struct series *series,
                    const struct sc_line *line)
{
  const int times = (int)lround(fmin(line->offset_hz.value, programme_upper_hz) / series->hz);
  const double spread = hypot(line->offset_hz.uncertainty, times * series->uncertainty_hz);
  if (times < 1 || times > MAINS_TIMES_MAX || line->verdict == SC_VERDICT_ARTEFACT ||
      account_level_db(line) > series->most_db ||
      !account_is_at(composite, line, times * series->hz, times * series->uncertainty_hz) ||
      changes(composite, line) || is_of_comb(composite, line))
    return 0;
  return is_weak(composite, line) || account_exact_hz(composite->list, spread) < exact_most_hz
             ? times
             : 0;
}

/* Another line of them is too strong to be a harmonic that some stage makes of this one. */
static bool has_company(const struct account_composite *composite, const struct series *series,
                        const struct sc_line *line)
{
  for (size_t i = 0; i < composite->list->count; i++) {
    const struct sc_line *other = &composite->list->lines[i];
    if (other != line && account_level_db(other) > account_level_db(line) - weaker_db &&
        times_in(composite, series, other) > 0)
      return true;
  }
  return false;
}

/* Which multiple; 0: it is none of them. */
static int times_of(const struct account_composite *composite, const struct series *series,
                    const struct sc_line *line)
{
  const int times = times_in(composite, series, line);
  return is_weak(composite, line) || has_company(composite, series, line) ? times : 0;
}

/* What is left of the whole sum, noise too, as the peak of a sine of that power; in dB beside a
 * line whose power is known in the same unit. */
static double rest_db(const struct sc_stereo *stereo, const struct sc_line *line, double series)
{
  double sum = 0, of_line = 0;
  if (line->deviation_khz.why == NULL && stereo->sum_rms_khz.why == NULL) {
    sum = 2 * pow(stereo->sum_rms_khz.value, 2);
    of_line = pow(line->deviation_khz.value, 2);
  } else if (line->level_db_pilot.why == NULL && stereo->sum_level_db_pilot.why == NULL) {
    sum = pow(10, stereo->sum_level_db_pilot.value / 10);
    of_line = pow(10, line->level_db_pilot.value / 10);
  }
  const double rest = sum - series * of_line;
  return rest > 0 && of_line > 0 ? account_level_db(line) + 10 * log10(rest / of_line) : -INFINITY;
}

static double power_re(const struct sc_line *line, const struct sc_line *of)
{
  return pow(10, (account_level_db(line) - account_level_db(of)) / 10);
}

/* Of the programme: the strongest other line, or all of the sum that the series leaves. */
static double programme_db(const struct account_composite *composite, const struct series *series,
                           const struct sc_line *strongest)
{
  double most_db = -INFINITY, power = 0;
  for (size_t i = 0; i < composite->list->count; i++) {
    const struct sc_line *line = &composite->list->lines[i];
    if (line->offset_hz.value > programme_upper_hz || line->verdict == SC_VERDICT_ARTEFACT)
      continue;
    if (times_of(composite, series, line) > 0)
      power += power_re(line, strongest);
    else
      most_db = fmax(most_db, account_level_db(line));
  }
  return fmax(most_db, rest_db(&composite->scene->result->stereo, strongest, power));
}

static bool is_loud(const struct account_composite *composite, const struct sc_line *line)
{
  if (composite->pilot_line >= 0)
    return account_level_db(line) >=
           account_level_db(&composite->list->lines[composite->pilot_line]);
  return line->deviation_khz.why != NULL || line->deviation_khz.value >= loud_khz;
}

bool account_is_off_round(double mains_hz, double uncertainty_hz)
{
  bool is = true;
  for (size_t k = 0; k < sizeof mains_nominal_hz / sizeof *mains_nominal_hz; k++)
    is = is && fabs(mains_hz - mains_nominal_hz[k]) >
                   clocks_share * mains_nominal_hz[k] + round_sigmas * uncertainty_hz;
  return is;
}

/* Enough of about the strength of its strongest. */
static bool is_many(const struct account_composite *composite, const struct series *series,
                    const struct sc_line *strongest)
{
  size_t count = 0;
  for (size_t i = 0; i < composite->list->count; i++) {
    const struct sc_line *line = &composite->list->lines[i];
    count += account_level_db(line) > account_level_db(strongest) - weaker_db &&
             times_of(composite, series, line) > 0;
  }
  return count >= SURE_MIN;
}

static const struct sc_line *count_lines(const struct account_composite *composite,
                                         struct series *series)
{
  const struct sc_line *strongest = NULL;
  series->count = 0;
  for (size_t i = 0; i < composite->list->count; i++) {
    const struct sc_line *line = &composite->list->lines[i];
    if (times_of(composite, series, line) == 0)
      continue;
    series->count++;
    if (strongest == NULL || account_level_db(line) > account_level_db(strongest))
      strongest = line;
  }
  return strongest;
}

/* What hardly stands out of what it leaves beside itself may change within a record. */
static bool is_surely_steady(const struct sc_line *line)
{
  return line == NULL || line->tone.snr_db >= steady_least_db;
}

/* Judges by the strongest line; where that is of the programme, by the next. What a supply makes
 * falls off from its own frequency or from twice that (analysis/hum.c), with three phases from
 * three times that. */
static void weigh(const struct account_composite *composite, struct series *series)
{
  const struct sc_line *strongest = count_lines(composite, series);
  series->sure = is_surely_steady(strongest);
  while (strongest != NULL && !is_weak(composite, strongest)) {
    const bool under =
        account_level_db(strongest) < programme_db(composite, series, strongest) - under_db;
    series->sure = (under || account_is_off_round(series->hz, series->uncertainty_hz)) &&
                   is_surely_steady(strongest) && is_many(composite, series, strongest);
    if (times_of(composite, series, strongest) <= MAINS_FIRST_MAX &&
        (under || !is_loud(composite, strongest)))
      return;
    series->most_db = nextafter(account_level_db(strongest), -INFINITY);
    strongest = count_lines(composite, series);
    series->sure = is_surely_steady(strongest);
  }
}

/* At 50 or 60 Hz so exactly, by the sample clock or by the pilot's, that it is generated. */
static bool is_round(const struct account_composite *composite, const struct series *series)
{
  const double of_pilot = composite->pilot ? 19e3 / composite->pilot_hz : 1;
  const double spread =
      composite->pilot ? series->hz * composite->pilot_uncertainty_hz / composite->pilot_hz : 0;
  const double reach_hz = round_least_hz + round_sigmas * hypot(series->uncertainty_hz, spread);
  bool is = false;
  for (size_t k = 0; k < sizeof mains_nominal_hz / sizeof *mains_nominal_hz; k++)
    is = is || fabs(series->hz - mains_nominal_hz[k]) <= reach_hz ||
         fabs(series->hz * of_pilot - mains_nominal_hz[k]) <= reach_hz;
  /* two clocks, each 2 reaches wide, at the normal distribution's density */
  return is && 2 * 2 * reach_hz / (mains_wander_hz * sqrt(2 * pi)) < round_chance;
}

/* The frequency of which most lines are multiples, two at least. */
void account_find_mains(struct account_composite *composite)
{
  struct series most = {.count = 1};
  find_grid(composite);
  for (size_t i = 0; i < composite->list->count; i++) {
    const struct sc_line *line = &composite->list->lines[i];
    for (size_t k = 0; k < sizeof mains_nominal_hz / sizeof *mains_nominal_hz; k++) {
      const int times = times_nominal(line->offset_hz.value, mains_nominal_hz[k], MAINS_FIRST_MAX);
      if (times == 0 || line->verdict == SC_VERDICT_ARTEFACT)
        continue;
      struct series series = {.hz = line->offset_hz.value / times,
                              .uncertainty_hz = line->offset_hz.uncertainty / times,
                              .most_db = INFINITY};
      weigh(composite, &series);
      if (times_of(composite, &series, line) == 0)
        continue;
      if (series.count > most.count ||
          (series.count == most.count && series.uncertainty_hz < most.uncertainty_hz))
        most = series;
    }
  }
  composite->mains_hz = most.hz;
  composite->mains_uncertainty_hz = most.uncertainty_hz;
  composite->mains_most_db = most.most_db;
  const struct sc_line *strongest = most.hz > 0 ? count_lines(composite, &most) : NULL;
  composite->mains_round = most.hz > 0 && is_round(composite, &most);
  composite->mains_sure = most.sure && !composite->mains_round;
  composite->mains_tones =
      composite->mains_round && strongest != NULL && !is_weak(composite, strongest);
}

/* Which multiple; 0: of none, or of tones. */
static int times_mains(const struct account_composite *composite, const struct sc_line *line)
{
  const struct series series = {.hz = composite->mains_hz,
                                .uncertainty_hz = composite->mains_uncertainty_hz,
                                .most_db = composite->mains_most_db};
  return composite->mains_hz == 0 || composite->mains_tones ? 0
                                                            : times_of(composite, &series, line);
}

/* Hum on the amplitude of a line has two side lines of one size. */
static bool is_side_line(const struct account_composite *composite, const struct sc_line *line)
{
  for (size_t i = 0; i < composite->strong_count; i++) {
    const struct sc_line *of = &composite->list->lines[composite->strong[i]];
    const double spread = hypot(line->offset_hz.uncertainty, 2 * of->offset_hz.uncertainty);
    if (account_level_db(line) > account_level_db(of) - weaker_db || times_mains(composite, of) > 0)
      continue;
    const struct sc_line *other =
        account_line_at(composite, line, 2 * of->offset_hz.value - line->offset_hz.value, spread);
    if (other != NULL && fabs(account_level_db(other) - account_level_db(line)) < side_db)
      return true;
  }
  return false;
}

bool account_is_hum(const struct account_composite *composite, const struct sc_line *line)
{
  return times_mains(composite, line) > 0 && !is_side_line(composite, line);
}

static void say_series(const struct account_composite *composite, struct sc_line *line, int times)
{
  if (composite->mains_sure) {
    account_label(line, "hum %d x %.2f Hz", times, composite->mains_hz);
    account_verdict(line, SC_VERDICT_SPURIOUS,
                    "mains hum: %d times %.2f Hz, of which other lines are multiples too; of "
                    "the transmitter's supply or of the receiver's",
                    times, composite->mains_hz);
    return;
  }
  account_label(line, "hum %d x %.2f Hz?", times, composite->mains_hz);
  account_verdict(
      line, SC_VERDICT_UNKNOWN,
      "possible mains hum: %d times %.2f Hz, of which other lines are multiples too; %s", times,
      composite->mains_hz,
      composite->mains_round
          ? "they may be tones of the programme as well, and rather are: so exactly at "
            "round frequencies the mains are once in a thousand captures"
          : "they may be tones of the programme as well, by their level, as they "
            "change, or as few as a bass note and its octave");
}

/* One line, which a supply or its rectifier makes: strong, it is far below the programme. */
static bool may_hum_alone(const struct account_composite *composite, const struct sc_line *line)
{
  bool first = false;
  if (changes(composite, line) || is_weak(composite, line))
    return !changes(composite, line) &&
           !(composite->mains_tones &&
             times_nominal(line->offset_hz.value, composite->mains_hz, MAINS_TIMES_MAX) > 0);
  for (size_t k = 0; k < sizeof mains_nominal_hz / sizeof *mains_nominal_hz; k++)
    for (int times = 1; times <= MAINS_ALONE_MAX; times++)
      first |= times_nominal(line->offset_hz.value, mains_nominal_hz[k], times) == times &&
               !is_round(composite,
                         &(struct series){.hz = line->offset_hz.value / times,
                                          .uncertainty_hz = line->offset_hz.uncertainty / times});
  return first && account_level_db(line) < strongest_db(composite) - weaker_db;
}

bool account_as_mains(const struct account_composite *composite, struct sc_line *line)
{
  char words[ACCOUNT_NAME_LENGTH];
  const int times = times_mains(composite, line);
  if (times > 0) {
    say_series(composite, line, times);
    return true;
  }
  if (!may_hum_alone(composite, line) ||
      !account_mains_words(line->offset_hz.value, words, sizeof words))
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
  if (composite->mains_hz == 0 || composite->mains_tones || account_is_hum(composite, line))
    return false;
  for (size_t i = 0; i < composite->strong_count; i++) {
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
