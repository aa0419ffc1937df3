/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* How near is near enough, how strong is strong enough: the tests that all parts share. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include "account/scene.h"

static const double sigmas = 4;
static const double decibels = 8.685889638065037; /* 20 / ln 10 */
static const double visible_db = 3;
/* Of the capture, that is searched for lines (the rest falls to the filters before it). */
static const double searched_share = 0.95;
static const double turn_hz = 0.02; /* times the record's length: an eighth of a radian */
static const double mostly = 0.6, mostly_alone = 0.72;
static const double agree = 1.4;
static const double most_bins = 20; /* a place that is known no better proves nothing */
/* Of half the rate: no receiver's filter begins to fall before (our choice). */
static const double edge_share = 0.85;
static const double bins_apart = 4; /* what the searches' resolution is */

/* Steps of a converter that noise has to fill so that it makes no lines of a steady signal: at 0.7
 * (rms) they are 80 dB down (Widrow and Kollar, Quantization Noise, 2008, from memory). */
static const double dither_steps = 0.7;
/* A signal of the amplitude of A steps in I and Q has lines by the error's m-th harmonic of
 * 2 / (pi m) J_n(2 pi m A) steps (W. R. Bennett, Bell Syst. Tech. J. 27, 1948; N. M. Blachman, IEEE
 * Trans. ASSP-33, 1985), and no Bessel function of x exceeds about 0.675 x^(-1/3) from its order on
 * (L. J. Landau, J. London Math. Soc. 61, 2000; all from memory). Harmonics beyond the first and
 * lines on one place are allowed as much power again. */
static const double bessel_most = 0.675, harmonics = 1.4142135623730951;
/* Less noise than that covers a part of them. A receiver's filter is taken to leave so much of it,
 * of what its density makes over all of the rate (our choice). */
static const double noise_left = 0.8;
static const double pi = 3.14159265358979323846;

double account_exact_hz(const struct sc_line_list *list, double uncertainty_hz)
{
  double spread = isfinite(uncertainty_hz) ? sigmas * uncertainty_hz : 0;
  if (isfinite(list->resolution_hz))
    spread = fmin(spread, most_bins / bins_apart * list->resolution_hz);
  return spread + (list->record_s > 0 ? turn_hz / list->record_s : 0);
}

double account_reach_hz(const struct sc_line_list *list, double uncertainty_hz)
{
  double bin = isfinite(list->resolution_hz) ? list->resolution_hz / bins_apart : 0;
  return account_exact_hz(list, uncertainty_hz) + bin;
}

double account_amplitude(const struct sc_line *line)
{
  return pow(10, line->level_dbc.value / 20);
}

double account_amplitude_uncertainty(const struct sc_line *line)
{
  return account_amplitude(line) * line->level_dbc.uncertainty / decibels;
}

/* Where the search that found the line found more than it keeps, the weakest ones have gone. */
static double weakest_db(const struct sc_line_list *list, const struct sc_line *line)
{
  size_t of = line->alongside ? 0 : 1;
  bool full = of < list->search_count && list->searches[of].weakest_db.why == NULL;
  return full ? list->searches[of].weakest_db.value : -(double)INFINITY;
}

double account_margin_db(const struct sc_line_list *list, const struct sc_line *line)
{
  return fmin(line->tone.snr_db - list->threshold_db,
              line->tone.level_db.value - weakest_db(list, line));
}

double account_searched_hz(const struct sc_result *result)
{
  return searched_share * result->capture.info.sample_rate_hz / 2;
}

bool account_mirror_visible(const struct sc_result *result, const struct sc_line *line)
{
  double mirrored = result->carrier.offset_hz.value - line->offset_hz.value;
  return fabs(mirrored) < account_searched_hz(result) &&
         account_margin_db(&result->air_lines, line) >= visible_db;
}

bool account_is_direct_current(const struct sc_result *result, const struct sc_line *line)
{
  const struct sc_quantity *frequency = &line->tone.frequency_hz;
  double exact = account_exact_hz(&result->air_lines, frequency->uncertainty);
  return fabs(frequency->value) <= exact &&
         fabs(result->carrier.offset_hz.value) > result->air_lines.resolution_hz;
}

const struct account_spot *account_spot_of(const struct account_scene *scene,
                                           const struct sc_line *line)
{
  double reach = account_reach_hz(&scene->result->air_lines, line->offset_hz.uncertainty);
  return line->tone.still ? NULL
                          : account_spot_near(&scene->prediction, line->offset_hz.value, reach);
}

double account_predicted(const struct account_scene *scene, const struct account_spot *spot)
{
  return spot == NULL ? 0 : scene->common * cabs(spot->amplitude);
}

/* A one-sided line that passes for a tone of the composite is predicted by half, and its missing
 * mirror as well: there the doubt in its level is no excuse. */
bool account_mostly_predicted(const struct account_scene *scene, const struct sc_line *line)
{
  double predicted = account_predicted(scene, account_spot_of(scene, line));
  double size = account_amplitude(line), spread = sigmas * account_amplitude_uncertainty(line);
  if (line->mirror < 0 && account_mirror_visible(scene->result, line))
    return predicted >= mostly_alone * size;
  return predicted >= mostly * (size - spread) && predicted > 0;
}

double account_unreached(const struct account_scene *scene)
{
  return sigmas * scene->prediction.missing;
}

bool account_is_unreached(const struct account_scene *scene, const struct sc_line *line)
{
  return account_amplitude(line) <= account_unreached(scene);
}

double account_index(const struct sc_line *line)
{
  return 1e3 * line->deviation_khz.value / line->offset_hz.value;
}

double account_edge_hz(const struct sc_result *result)
{
  return edge_share * result->capture.info.sample_rate_hz / 2;
}

bool account_agrees(double measured, double uncertainty, double expected)
{
  return expected > 0 && (fabs(measured - expected) <= sigmas * uncertainty ||
                          (measured < agree * expected && expected < agree * measured));
}

/* Of a tone of this amplitude. */
static double line_of_steps(double step, double amplitude)
{
  return harmonics * 2 / pi * bessel_most * step / cbrt(2 * pi * amplitude / step);
}

/* What noise of this power in I or Q, or in a composite, leaves of the lines' amplitude, by the
 * first harmonic of the error: the characteristic function of its distribution (Widrow and Kollar,
 * as above). The power was measured with what rounding adds, a twelfth of a step's square. */
static double left_by_noise(double power, double step)
{
  const double squares = fmax(power / (step * step) - 1.0 / 12, 0);
  return exp(-2 * pi * pi * noise_left * squares);
}

bool account_tone_below_converter(const struct sc_result *result, const struct sc_line *line)
{
  const struct sc_line_list *list = &result->composite_lines;
  const double bits = result->capture.info.bits;
  const double step = exp2(1 - bits) * result->composite_full_scale;
  double most = 0, density = INFINITY;
  for (size_t i = 0; i < list->count; i++) {
    most = fmax(most, list->lines[i].tone.amplitude);
    density = fmin(density, list->lines[i].tone.noise_density);
  }
  const double noise = density * result->capture.info.sample_rate_hz / 2;
  return bits >= 1 && step > 0 && most > step && sqrt(noise) <= dither_steps * step &&
         line->tone.amplitude < line_of_steps(step, most) * left_by_noise(noise, step);
}

double account_converter_line(const struct sc_result *result)
{
  const double step = exp2(1 - (double)result->capture.info.bits);
  return line_of_steps(step, pow(10, result->carrier.level_dbfs.value / 20));
}

static double noise_of(double rate_hz, double noise_dbfs_hz)
{
  return pow(10, noise_dbfs_hz / 10) * rate_hz / 2;
}

bool account_covers_steps(double bits, double rate_hz, double noise_dbfs_hz)
{
  return sqrt(noise_of(rate_hz, noise_dbfs_hz)) > dither_steps * exp2(1 - bits);
}

bool account_below_converter(const struct sc_result *result, double level_dbfs)
{
  const struct sc_source_info *info = &result->capture.info;
  const double density_dbfs_hz = result->carrier.noise_density_dbfs_hz.value;
  const double left =
      left_by_noise(noise_of(info->sample_rate_hz, density_dbfs_hz), exp2(1 - (double)info->bits));
  return info->bits >= 1 &&
         !account_covers_steps(info->bits, info->sample_rate_hz, density_dbfs_hz) &&
         level_dbfs < 20 * log10(account_converter_line(result) * left);
}
