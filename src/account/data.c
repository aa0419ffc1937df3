/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines on air that FM makes of the data signal's square. Data are no tone, and so the prediction
 * has them not; but exp(j p) = 1 + j p - p^2 / 2 ..., and the square of p(t) = P d(t) sin(w t) has
 * lines where d has none: at multiples of the bit clock, which the shape of the symbols puts into
 * d^2, and at twice the subcarrier, alone and with these beside it. They are in phase with the
 * carrier as those of amplitude modulation are. With two tones beside it the order is even too, and
 * so is the phase. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include "account/scene.h"

/* Lines of d^2 by multiples of the bit clock. Twice it is the strongest; the others come with data
 * that repeat. */
enum { CLOCKS_MAX = 4 };
static const double half_band_hz = 2400; /* of the data (IEC 62106) */
/* The line at twice the subcarrier is the strongest: data that repeat, whose symbols are no
 * average, and lines on one place have so much more (our choice). */
static const double beside_most = 1.4;

/* Index of the line at twice the subcarrier: half the mean square of p, in radians. */
static double index_of(const struct sc_rds *rds)
{
  double phase_rad = 1e3 * rds->amplitude_rms.value / rds->subcarrier_hz.value;
  return phase_rad * phase_rad / 2;
}

/* How many bit clocks from `hz` on; false: no whole number. */
static bool is_clock(const struct account_scene *scene, double hz, double uncertainty_hz,
                     int *clocks)
{
  const struct sc_quantity *clock_hz = &scene->result->rds.bit_rate_bps;
  double count = round(hz / clock_hz->value);
  double doubt = hypot(uncertainty_hz, count * clock_hz->uncertainty);
  *clocks = (int)count;
  return fabs(count) <= CLOCKS_MAX &&
         fabs(hz - count * clock_hz->value) <= account_reach_hz(&scene->result->air_lines, doubt);
}

/* Where d^2 has a line, but for its mean. */
static bool is_beside(const struct account_scene *scene, double hz, double uncertainty_hz)
{
  int clocks;
  return is_clock(scene, hz, uncertainty_hz, &clocks) && clocks != 0;
}

/* Two tones of the composite away from it, their sum or their difference. */
static bool is_beside_tones(const struct account_scene *scene, double hz, double uncertainty_hz)
{
  const struct account_component *tones = scene->prediction.components;
  const size_t count = scene->prediction.component_count;
  const double reach_hz = account_reach_hz(&scene->result->air_lines, uncertainty_hz);
  const double subcarrier_hz = scene->result->rds.subcarrier_hz.value;
  for (size_t i = 0; i < count; i++)
    for (size_t k = 0; k < i; k++) {
      const double one = tones[i].frequency_hz, other = tones[k].frequency_hz;
      if (fabs(one - subcarrier_hz) < half_band_hz || fabs(other - subcarrier_hz) < half_band_hz)
        continue;
      if (fabs(fabs(hz) - fabs(one - other)) <= reach_hz ||
          fabs(fabs(hz) - (one + other)) <= reach_hz)
        return true;
    }
  return false;
}

static bool is_known(const struct account_scene *scene)
{
  const struct sc_rds *rds = &scene->result->rds;
  return rds->present == SC_YES && rds->amplitude_rms.why == NULL &&
         rds->subcarrier_hz.why == NULL && rds->bit_rate_bps.why == NULL &&
         scene->result->composite_absolute;
}

size_t account_data_places(const struct account_scene *scene,
                           double places_hz[ACCOUNT_DATA_PLACES_MAX])
{
  const struct sc_rds *rds = &scene->result->rds;
  if (!is_known(scene))
    return 0;
  const double twice_hz = 2 * rds->subcarrier_hz.value, clock_hz = 2 * rds->bit_rate_bps.value;
  places_hz[0] = twice_hz;
  places_hz[1] = clock_hz;
  places_hz[2] = twice_hz - clock_hz;
  places_hz[3] = twice_hz + clock_hz;
  return ACCOUNT_DATA_PLACES_MAX;
}

/* First order of the data beside a line of the modulation: half their index, which is their
 * deviation over their frequency. */
static double beside_power(const struct sc_rds *rds, const struct account_spot *spot,
                           double offset_hz)
{
  const double hz = fabs(offset_hz - spot->frequency_hz);
  if (fabs(hz - rds->subcarrier_hz.value) >= half_band_hz)
    return 0;
  const double power = creal(spot->amplitude * conj(spot->amplitude));
  return power * account_data_line_power(rds, hz) / 2 / pow(1e-3 * hz, 2);
}

/* Of the data's power what is not in lines of the composite, whose first order is predicted. */
static double share_without_lines(const struct account_scene *scene)
{
  const struct account_prediction *prediction = &scene->prediction;
  double power = 0;
  for (size_t i = 0; i < prediction->weak_count; i++)
    power += pow(prediction->weak[i].deviation_khz, 2) / 2;
  return fmax(1 - power / pow(scene->result->rds.amplitude_rms.value, 2), 0);
}

double account_data_beside(const struct account_scene *scene, double offset_hz)
{
  double power = 0;
  for (size_t i = 0; is_known(scene) && i < scene->prediction.spot_count; i++)
    power += beside_power(&scene->result->rds, &scene->prediction.spots[i], offset_hz);
  return sqrt(power * share_without_lines(scene));
}

bool account_is_of_data(const struct account_scene *scene, double am_hz, double index)
{
  const struct sc_rds *rds = &scene->result->rds;
  if (!is_known(scene))
    return false;
  double expected = index_of(rds), doubt = 2 * rds->subcarrier_hz.uncertainty;
  double from_twice = am_hz - 2 * rds->subcarrier_hz.value;
  if (fabs(from_twice) <= account_reach_hz(&scene->result->air_lines, doubt))
    return account_agrees(index, 0, expected);
  return index <= beside_most * expected &&
         (is_beside(scene, am_hz, 0) || is_beside(scene, from_twice, doubt) ||
          is_beside_tones(scene, from_twice, doubt));
}
