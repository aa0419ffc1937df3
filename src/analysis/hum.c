/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A supply's hum stands at its own frequency or, behind a rectifier, at twice that, and falls off
 * from there. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/hum.h"

#include <math.h>

static const double nominal_hz[] = {50, 60};
/* The mains keep to 1 % (EN 50160:2010, 4.2.1, from memory). */
static const double mains_share = 0.01;
/* As in the account of the lines (src/account/mains.c): 1 % of 75 kHz. Test tones, which may
 * stand at such multiples as well, are stronger (common practice, no source). */
static const double most_khz = 0.75;
enum { TIMES_MAX = 6, STRONGEST_TIMES_MAX = 2 };

/* Which multiple; 0: none. */
static int times_of(double hz, double of_hz)
{
  const int times = hz < (TIMES_MAX + 1) * of_hz ? (int)lround(hz / of_hz) : 0;
  const bool near = fabs(hz - times * of_hz) <= mains_share * times * of_hz;
  return times >= 1 && times <= TIMES_MAX && near ? times : 0;
}

static double power_of(const struct sc_line_list *lines, double of_hz)
{
  double power = 0, strongest = 0;
  int strongest_times = 0;
  for (size_t i = 0; i < lines->count; i++) {
    const struct sc_line *line = &lines->lines[i];
    const int times = times_of(line->offset_hz.value, of_hz);
    if (times == 0 || line->deviation_khz.why != NULL || line->deviation_khz.value > most_khz)
      continue;
    power += line->deviation_khz.value * line->deviation_khz.value / 2;
    if (line->deviation_khz.value > strongest)
      strongest_times = times;
    strongest = fmax(strongest, line->deviation_khz.value);
  }
  return strongest_times <= STRONGEST_TIMES_MAX ? power : 0;
}

double analysis_hum_power(const struct sc_line_list *composite_lines)
{
  double most = 0;
  for (size_t i = 0; composite_lines->why == NULL && i < sizeof nominal_hz / sizeof *nominal_hz;
       i++)
    most = fmax(most, power_of(composite_lines, nominal_hz[i]));
  return most;
}
