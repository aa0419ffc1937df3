/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A supply's hum stands at its own frequency or, behind a rectifier, at twice that, and falls off
 * from there. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/hum.h"

#include <math.h>

#include "account/account.h"

static const double nominal_hz[] = {50, 60};
/* The mains keep to 1 % (EN 50160:2010, 4.2.1, from memory). */
static const double mains_share = 0.01;
/* As in the account of the lines (src/account/mains.c): below 1 % of 75 kHz it hums. Test tones,
 * which may stand at such multiples as well, are stronger (common practice, no source); stronger
 * hum is three lines or more within 20 dB, off the round frequencies that test tones have, and
 * weaker than any programme's peaks: 10 % of 75 kHz. */
static const double weak_khz = 0.75, most_khz = 7.5, within = 0.1, sigmas = 4;
enum { TIMES_MAX = 6, STRONGEST_TIMES_MAX = 2, SURE_MIN = 3 };

/* Which multiple; 0: none. */
static int times_of(double hz, double of_hz)
{
  const int times = hz < (TIMES_MAX + 1) * of_hz ? (int)lround(hz / of_hz) : 0;
  const bool near = fabs(hz - times * of_hz) <= mains_share * times * of_hz;
  return times >= 1 && times <= TIMES_MAX && near ? times : 0;
}

static bool is_of(const struct sc_line *line, double of_hz, double limit_khz)
{
  return times_of(line->offset_hz.value, of_hz) > 0 && line->deviation_khz.why == NULL &&
         line->deviation_khz.value <= limit_khz;
}

static const struct sc_line *strongest_of(const struct sc_line_list *lines, double of_hz,
                                          double limit_khz)
{
  const struct sc_line *strongest = NULL;
  for (const struct sc_line *line = lines->lines; line < lines->lines + lines->count; line++)
    if (is_of(line, of_hz, limit_khz) &&
        (strongest == NULL || line->deviation_khz.value > strongest->deviation_khz.value))
      strongest = line;
  return strongest;
}

/* Strong ones that nothing but the mains makes. */
static bool is_surely_hum(const struct sc_line_list *lines, double of_hz)
{
  const struct sc_line *strongest = strongest_of(lines, of_hz, most_khz);
  if (strongest == NULL)
    return false;
  const double times = times_of(strongest->offset_hz.value, of_hz);
  const double hz = strongest->offset_hz.value / times;
  const double uncertainty_hz = strongest->offset_hz.uncertainty / times;
  size_t count = 0;
  for (const struct sc_line *line = lines->lines; line < lines->lines + lines->count; line++) {
    const double multiple = times_of(line->offset_hz.value, of_hz);
    count += is_of(line, of_hz, most_khz) &&
             line->deviation_khz.value > within * strongest->deviation_khz.value &&
             fabs(line->offset_hz.value - multiple * hz) <=
                 sigmas * hypot(line->offset_hz.uncertainty, multiple * uncertainty_hz) +
                     1 / lines->record_s / 8;
  }
  return count >= SURE_MIN && account_is_off_round(hz, uncertainty_hz);
}

static double power_of(const struct sc_line_list *lines, double of_hz)
{
  const double limit_khz = is_surely_hum(lines, of_hz) ? most_khz : weak_khz;
  const struct sc_line *strongest = strongest_of(lines, of_hz, limit_khz);
  double power = 0;
  for (const struct sc_line *line = lines->lines; line < lines->lines + lines->count; line++)
    if (is_of(line, of_hz, limit_khz))
      power += line->deviation_khz.value * line->deviation_khz.value / 2;
  return strongest != NULL && times_of(strongest->offset_hz.value, of_hz) <= STRONGEST_TIMES_MAX
             ? power
             : 0;
}

double analysis_hum_power(const struct sc_line_list *composite_lines)
{
  double most = 0;
  for (size_t i = 0; composite_lines->why == NULL && i < sizeof nominal_hz / sizeof *nominal_hz;
       i++)
    most = fmax(most, power_of(composite_lines, nominal_hz[i]));
  return most;
}
