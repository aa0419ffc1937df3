/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Peak search in one pass over the bins. The wide floor is taken on a coarse grid and
 * interpolated, and the floors close by only where a bin has passed everything else, so that the
 * cost stays bounded however many peaks there are. */
#include "dsp/peaks.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "dsp/gamma.h"
#include "dsp/select.h"
#include "dsp/simd.h"

enum { WIDE_MIN = 192, WIDE_MAX = 1000, GRID_SHARE = 4, NEAR = 32, NEIGHBOURS = 2 };
enum { SCAN_BINS = 64, CELLS = 16 };
static const double wide_quantile = 0.4, near_quantile = 0.35;
/* A low quantile's relative variance for one observation of one look: q (1 - q) / (x f(x))^2
 * with x = -ln(1 - q), f(x) = 1 - q. */
static const double quantile_variance = 2.56;
/* Close by, only this part of the threshold's excess is asked for: these floors are taken from
 * few bins, and they guard against slopes, not against noise. */
static const double near_share = 0.5;
static const double leakage_margin = 4;
static const double chance_most = 0.03; /* of one bin: maxima are everywhere */
/* Where a peak's lobe reaches this part of the floor, its bins say nothing of the floor. */
static const double harmless_share = 0.1;

struct dsp_peaks {
  struct dsp_peaks_settings settings;
  size_t wide, grid_step, grid_count;
  size_t count;
  bool crowded; /* some were left out of the last search */
  double *lobe;
  float *grid;
  float *scratch;
  struct dsp_peak *found; /* 2 * capacity */
  float *places;          /* capacity: indices of those that are kept */
};

void dsp_peaks_destroy(struct dsp_peaks *peaks)
{
  if (!peaks)
    return;
  free(peaks->lobe);
  free(peaks->grid);
  free(peaks->scratch);
  free(peaks->found);
  free(peaks->places);
  free(peaks);
}

static size_t bounded(size_t value, size_t low, size_t high)
{
  return value < low ? low : value > high ? high : value;
}

/* Of two sides of a peak, or of the bins around CELLS points. */
static size_t scratch_length(const struct dsp_peaks *peaks)
{
  const size_t sides = 2 * peaks->wide + 1;
  const size_t cells = (CELLS - 1) * peaks->grid_step / 2 + peaks->wide + 1;
  return sides > cells ? sides : cells;
}

enum sc_error dsp_peaks_create(const struct dsp_peaks_settings *settings, struct dsp_peaks **out)
{
  *out = NULL;
  if (settings->n < 2 * NEAR || settings->capacity == 0 || settings->lobe_count < 2)
    return SC_BAD_ARGUMENT;
  struct dsp_peaks *peaks = calloc(1, sizeof *peaks);
  if (!peaks)
    return SC_NO_MEMORY;
  peaks->settings = *settings;
  peaks->wide = bounded(settings->n / 32, WIDE_MIN, WIDE_MAX);
  peaks->wide = bounded(peaks->wide, 1, settings->n / 2 - 1);
  peaks->grid_step = bounded(peaks->wide / GRID_SHARE, 1, WIDE_MAX);
  peaks->grid_count = settings->n / peaks->grid_step + 2;
  peaks->lobe = malloc(settings->lobe_count * sizeof *peaks->lobe);
  peaks->grid = malloc(peaks->grid_count * sizeof *peaks->grid);
  peaks->scratch = malloc(scratch_length(peaks) * sizeof *peaks->scratch);
  peaks->found = malloc(2 * settings->capacity * sizeof *peaks->found);
  peaks->places = malloc(settings->capacity * sizeof *peaks->places);
  if (!peaks->lobe || !peaks->grid || !peaks->scratch || !peaks->found || !peaks->places) {
    dsp_peaks_destroy(peaks);
    return SC_NO_MEMORY;
  }
  memcpy(peaks->lobe, settings->lobe, settings->lobe_count * sizeof *peaks->lobe);
  peaks->settings.lobe = peaks->lobe;
  *out = peaks;
  return SC_OK;
}

/* Every `step`-th of the bins first ... last, all of them there. */
DSP_CLONES
static size_t copy_bins(const float *restrict power, size_t first, size_t last, size_t step,
                        float *restrict out)
{
  size_t count = (last - first) / step + 1;
  for (size_t i = 0; i < count; i++)
    out[i] = power[first + i * step];
  return count;
}

/* The bins first ... last, around the end of a circular spectrum or cut at the ends. */
static size_t gather(const struct dsp_peaks *peaks, const float *power, ptrdiff_t first,
                     ptrdiff_t last, ptrdiff_t step, float *out)
{
  ptrdiff_t n = (ptrdiff_t)peaks->settings.n;
  size_t count = 0;
  if (first >= 0 && first <= last && last < n)
    return copy_bins(power, (size_t)first, (size_t)last, (size_t)step, out);
  for (ptrdiff_t k = first; k <= last; k += step) {
    ptrdiff_t at = k;
    if (peaks->settings.circular)
      at = k < 0 ? k + n : k >= n ? k - n : k;
    if (at >= 0 && at < n)
      out[count++] = power[at];
  }
  return count;
}

/* `hint`: about what it will be. */
static double quantile_of(const float *values, size_t count, double q, double hint)
{
  return (double)dsp_select_near(values, count, (size_t)(q * (double)count), (float)hint);
}

static float floor_among(const float *values, size_t count, float hint)
{
  return dsp_select_near(values, count, (size_t)(wide_quantile * (double)count), hint);
}

/* Around CELLS points of the grid from `first` on, which share most of their bins. `last`: the
 * floor before the first, as it was selected, and then at the last. */
static bool fill_cells(struct dsp_peaks *peaks, const float *power, double bias, size_t first,
                       float *last)
{
  const size_t wide = peaks->wide, step = peaks->grid_step, from = first * step;
  const size_t to = from + (CELLS - 1) * step + wide;
  if (step % 2 != 0 || first + CELLS > peaks->grid_count || from < wide || to >= peaks->settings.n)
    return false;
  copy_bins(power, from - wide, to, 2, peaks->scratch);
  for (size_t i = 0; i < CELLS; i++) {
    *last = floor_among(peaks->scratch + i * step / 2, wide + 1, *last);
    peaks->grid[first + i] = (float)(bias * (double)*last);
  }
  return true;
}

static void fill_point(struct dsp_peaks *peaks, const float *power, double bias, size_t i,
                       float *last)
{
  const ptrdiff_t wide = (ptrdiff_t)peaks->wide;
  const ptrdiff_t centre = (ptrdiff_t)bounded(i * peaks->grid_step, 0, peaks->settings.n - 1);
  const size_t count = gather(peaks, power, centre - wide, centre + wide, 2, peaks->scratch);
  *last = floor_among(peaks->scratch, count, *last);
  peaks->grid[i] = (float)(bias * (double)*last);
}

/* Neighbouring bins are so alike that every other one says as much. */
static void fill_grid(struct dsp_peaks *peaks, const float *power, double bias)
{
  float last = 0;
  for (size_t i = 0; i < peaks->grid_count;)
    if (fill_cells(peaks, power, bias, i, &last))
      i += CELLS;
    else
      fill_point(peaks, power, bias, i++, &last);
}

static double wide_floor(const struct dsp_peaks *peaks, size_t k)
{
  size_t i = k / peaks->grid_step;
  double part = (double)(k % peaks->grid_step) / (double)peaks->grid_step;
  return (1 - part) * (double)peaks->grid[i] + part * (double)peaks->grid[i + 1];
}

/* The higher of the floors on either side, outside the main lobe; most are about the wide one. */
static double near_floor(struct dsp_peaks *peaks, const float *power, size_t k, double bias,
                         double wide)
{
  ptrdiff_t at = (ptrdiff_t)k, guard = (ptrdiff_t)peaks->settings.lobe_count;
  double floor = 0;
  size_t below = gather(peaks, power, at - guard - NEAR, at - guard, 1, peaks->scratch);
  if (below > NEAR / 2)
    floor = quantile_of(peaks->scratch, below, near_quantile, wide / bias);
  size_t above = gather(peaks, power, at + guard, at + guard + NEAR, 1, peaks->scratch);
  if (above > NEAR / 2)
    floor = fmax(floor, quantile_of(peaks->scratch, above, near_quantile, wide / bias));
  return bias * floor;
}

static bool is_summit(const struct dsp_peaks *peaks, const float *power, size_t k)
{
  size_t n = peaks->settings.n;
  if (k > 0 && k + 1 < n && (power[k - 1] >= power[k] || power[k + 1] > power[k]))
    return false; /* most are not */
  for (size_t m = 1; m <= NEIGHBOURS; m++) {
    bool below = k >= m || peaks->settings.circular;
    bool above = k + m < n || peaks->settings.circular;
    if (below && power[(k + n - m) % n] >= power[k])
      return false;
    if (above && power[(k + m) % n] > power[k])
      return false;
  }
  return true;
}

/* Noise reaches the threshold more often where the floor happens to be read low. For a floor
 * of relative variance v the chance grows by exp(v s^2 / 2), s the slope of the log chance. */
double dsp_peaks_threshold(const struct dsp_peaks *peaks, double tested, double looks,
                           double chance)
{
  double observed = (double)(2 * peaks->wide + 1) / peaks->settings.correlated_bins;
  double variance = quantile_variance / (looks * observed);
  chance = fmin(chance, chance_most);
  double threshold = dsp_threshold(chance, tested);
  for (int i = 0; i < 3; i++) {
    double slope = tested * (threshold - 1) + 1;
    threshold = dsp_threshold(chance * exp(-variance * slope * slope / 2), tested);
  }
  return threshold;
}

static int stronger_first(const void *left, const void *right)
{
  const struct dsp_peak *a = left, *b = right;
  if (a->power != b->power)
    return a->power < b->power ? 1 : -1;
  return (a->index > b->index) - (a->index < b->index);
}

static void keep_strongest(struct dsp_peaks *peaks)
{
  qsort(peaks->found, peaks->count, sizeof *peaks->found, stronger_first);
  if (peaks->count <= peaks->settings.capacity)
    return;
  peaks->count = peaks->settings.capacity;
  peaks->crowded = true;
}

bool dsp_peaks_crowded(const struct dsp_peaks *peaks)
{
  return peaks->crowded;
}

/* The lobe of a tone that lies half a bin nearer than its summit, perhaps. */
static double lobe_at(const struct dsp_peaks *peaks, size_t from, size_t to)
{
  size_t n = peaks->settings.n, distance = from > to ? from - to : to - from;
  if (peaks->settings.circular && distance > n / 2)
    distance = n - distance;
  return peaks->lobe[distance > 0 ? distance - 1 : 0];
}

/* The first place from `i` on that is less than `within` away in a circle of n, or `count`. */
DSP_CLONES
static size_t next_near(const float *restrict places, size_t i, size_t count, float place,
                        float within, float n)
{
  for (; i + SCAN_BINS <= count; i += SCAN_BINS) {
    int any = 0;
    for (size_t k = 0; k < SCAN_BINS; k++) {
      const float distance = fabsf(places[i + k] - place);
      any |= (distance < within) | (distance > n - within);
    }
    if (any != 0)
      break;
  }
  while (i < count && !(fabsf(places[i] - place) < within || fabsf(places[i] - place) > n - within))
    i++;
  return i;
}

/* What the stronger ones that were kept leave at a peak: all of them what is left far out, and
 * those in whose lobe it is more. Places are whole numbers below 2^24, which floats hold. */
static double leaked_to(const struct dsp_peaks *peaks, const struct dsp_peak *peak, size_t kept,
                        double kept_power)
{
  const double far = peaks->settings.far;
  const float within = (float)peaks->settings.lobe_count, place = (float)peak->index;
  const float n = peaks->settings.circular ? (float)peaks->settings.n : INFINITY;
  double leaked = far * kept_power;
  for (size_t j = next_near(peaks->places, 0, kept, place, within, n); j < kept;
       j = next_near(peaks->places, j + 1, kept, place, within, n))
    leaked += peaks->found[j].power * (lobe_at(peaks, peaks->found[j].index, peak->index) - far);
  return leaked;
}

static void drop_leakage(struct dsp_peaks *peaks)
{
  size_t kept = 0;
  double kept_power = 0;
  for (size_t i = 0; i < peaks->count; i++) {
    const struct dsp_peak peak = peaks->found[i];
    if (peak.power <= leakage_margin * leaked_to(peaks, &peak, kept, kept_power))
      continue;
    kept_power += peak.power;
    peaks->places[kept] = (float)peak.index;
    peaks->found[kept++] = peak;
  }
  peaks->count = kept;
}

/* A peak's own lobe shifts the quantile of the bins around it up, by 5 % where these are few. */
static double floor_beside(struct dsp_peaks *peaks, const float *power, const struct dsp_peak *peak,
                           double bias)
{
  ptrdiff_t reach = 0, at = (ptrdiff_t)peak->index, wide = (ptrdiff_t)peaks->wide;
  while (reach + 1 < (ptrdiff_t)peaks->settings.lobe_count &&
         peak->power * peaks->lobe[reach] > harmless_share * peak->floor)
    reach++;
  size_t count = gather(peaks, power, at - wide, at - reach, 2, peaks->scratch);
  float *above = peaks->scratch + count;
  count += gather(peaks, power, at + reach, at + wide, 2, above);
  const size_t rank = (size_t)(wide_quantile * (double)count);
  return bias * (double)dsp_select_near(peaks->scratch, count, rank, (float)(peak->floor / bias));
}

/* The first bin of `from` ... `end` - 1 above the limit, or `end`. Most blocks have none, and where
 * there is one, the next is often another. */
DSP_CLONES
static size_t next_above(const float *power, size_t from, size_t end, float limit)
{
  if (from < end && power[from] > limit)
    return from;
  for (; from + SCAN_BINS <= end; from += SCAN_BINS) {
    unsigned above = 0;
    for (size_t i = 0; i < SCAN_BINS; i++)
      above |= power[from + i] > limit;
    if (above != 0)
      break;
  }
  while (from < end && !(power[from] > limit))
    from++;
  return from;
}

/* What a bin must stand over: parts of the floors, in all bins `lowest`. */
struct bars {
  double threshold, near_threshold, near_bias, lowest;
};

static void take_peak(struct dsp_peaks *peaks, const float *power, const struct bars *bars,
                      size_t k)
{
  const struct dsp_peaks_settings *settings = &peaks->settings;
  if (!is_summit(peaks, power, k))
    return;
  if (settings->wanted != NULL && !settings->wanted(settings->context, k))
    return;
  double here = (double)power[k], floor = wide_floor(peaks, k);
  if (here <= bars->threshold * floor)
    return;
  if (here <= bars->near_threshold * near_floor(peaks, power, k, bars->near_bias, floor))
    return;
  peaks->found[peaks->count++] = (struct dsp_peak){k, here, floor};
  if (peaks->count == 2 * peaks->settings.capacity)
    keep_strongest(peaks);
}

/* Between two points of the grid, where the floor is no lower than at the lower of them. */
static void scan_cell(struct dsp_peaks *peaks, const float *power, const struct bars *bars,
                      size_t cell)
{
  size_t from = cell * peaks->grid_step, end = from + peaks->grid_step;
  if (end > peaks->settings.n)
    end = peaks->settings.n;
  double least = (double)fminf(peaks->grid[cell], peaks->grid[cell + 1]);
  double limit = fmax(bars->threshold * least, bars->lowest);
  float nearest = (float)limit;
  if ((double)nearest > limit)
    nearest = nextafterf(nearest, 0);
  for (size_t k = next_above(power, from, end, nearest); k < end;
       k = next_above(power, k + 1, end, nearest))
    if ((double)power[k] > bars->lowest)
      take_peak(peaks, power, bars, k);
}

const struct dsp_peak *dsp_peaks_find(struct dsp_peaks *peaks, const float *power, double looks,
                                      double expected, double lowest, size_t *count)
{
  size_t n = peaks->settings.n;
  double wide_bias = dsp_quantile_bias(wide_quantile, looks);
  double threshold = dsp_peaks_threshold(peaks, looks, looks, expected / (double)n);
  const struct bars bars = {threshold, 1 + near_share * (threshold - 1),
                            dsp_quantile_bias(near_quantile, looks), lowest};
  peaks->count = 0;
  peaks->crowded = false;
  fill_grid(peaks, power, wide_bias);
  for (size_t cell = 0; cell * peaks->grid_step < n; cell++)
    scan_cell(peaks, power, &bars, cell);
  keep_strongest(peaks);
  drop_leakage(peaks);
  for (size_t i = 0; i < peaks->count; i++)
    peaks->found[i].floor = floor_beside(peaks, power, &peaks->found[i], wide_bias);
  *count = peaks->count;
  return peaks->found;
}
