/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Both channels go through one complex transform as real and imaginary part: a filter with
 * real taps keeps them apart. */
#include "dsp/correction.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "dsp/fft.h"
#include "dsp/window.h"

#define PI 3.1415926535897932384626433832795

/* Wanted resolution; the taps span twice its inverse. */
static const double resolution_hz = 10;
static const double kaiser_beta = 8;
enum { DELAY_MIN = 64, DELAY_MAX = 1 << 16, HOPS = 2, GRID = 8 };

struct dsp_correction {
  size_t delay, hop, length; /* length = hop + 2 delay */
  unsigned channels;
  float *spectrum; /* of the taps, length complex numbers, scaled for the way back */
  struct dsp_fft *fft;
};

static double interpolate(double x, double x0, double x1, double y0, double y1)
{
  return x1 > x0 ? y0 + (y1 - y0) * (x - x0) / (x1 - x0) : y0;
}

/* A copy of the points whose phase does not jump by 360 degrees; the caller frees it. */
static struct dsp_response_point *unwrap(const struct dsp_response_point *points, size_t count)
{
  struct dsp_response_point *copy = malloc(count * sizeof *copy);
  if (copy == NULL)
    return NULL;
  memcpy(copy, points, count * sizeof *copy);
  for (size_t i = 1; i < count; i++) {
    double last_deg = copy[i - 1].phase_deg;
    copy[i].phase_deg = last_deg + remainder(copy[i].phase_deg - last_deg, 360);
  }
  return copy;
}

/* The response between points next - 1 and next, unity outside all of them. */
static struct dsp_response_point response_at(const struct dsp_response_point *points, size_t count,
                                             size_t next, double hz)
{
  const struct dsp_response_point unity = {hz, 0, 0};
  if (next == 0 || (next == count && points[count - 1].frequency_hz < hz))
    return unity;
  const struct dsp_response_point *from = &points[next - 1];
  const struct dsp_response_point *to = next < count ? &points[next] : from;
  double x0 = from->frequency_hz, x1 = to->frequency_hz;
  return (struct dsp_response_point){hz, interpolate(hz, x0, x1, from->gain_db, to->gain_db),
                                     interpolate(hz, x0, x1, from->phase_deg, to->phase_deg)};
}

/* 1 / H on the grid: bins 0 to n / 2, and mirrored. */
static void sample_inverse(const struct dsp_response_point *points, size_t count, double rate_hz,
                           size_t n, double *grid)
{
  size_t next = 0;
  for (size_t k = 0; k <= n / 2; k++) {
    double hz = rate_hz * (double)k / (double)n;
    while (next < count && points[next].frequency_hz <= hz)
      next++;
    struct dsp_response_point here = response_at(points, count, next, hz);
    double gain = pow(10, -here.gain_db / 20), angle = -here.phase_deg * PI / 180;
    grid[2 * k] = gain * cos(angle);
    grid[2 * k + 1] = k == 0 || k == n / 2 ? 0 : gain * sin(angle);
  }
  for (size_t k = n / 2 + 1; k < n; k++) {
    grid[2 * k] = grid[2 * (n - k)];
    grid[2 * k + 1] = -grid[2 * (n - k) + 1];
  }
}

/* Impulse response of the grid around time 0, windowed, as taps 0 to 2 delay in `taps`. */
static enum sc_error design(const struct dsp_response_point *points, size_t count, double rate_hz,
                            size_t delay, double *taps)
{
  size_t n = GRID * delay, width = 2 * delay;
  struct dsp_fft64 *fft;
  double *window = malloc((width + 1) * sizeof *window);
  struct dsp_response_point *smooth = unwrap(points, count);
  if (window == NULL || smooth == NULL || dsp_fft64_create(n, DSP_PLAN_ESTIMATE, &fft) != SC_OK) {
    free(window);
    free(smooth);
    return SC_NO_MEMORY;
  }
  double *grid = dsp_fft64_buffer(fft);
  sample_inverse(smooth, count, rate_hz, n, grid);
  free(smooth);
  dsp_fft64_run(fft); /* forward: time runs backwards */
  dsp_window_fill(SC_WINDOW_KAISER, kaiser_beta, width, window);
  window[width] = window[0]; /* periodic form: one more makes it symmetric */
  for (size_t i = 0; i <= width; i++) {
    size_t back = (n + delay - i) % n; /* time i - delay */
    taps[i] = window[i] * grid[2 * back] / (double)n;
  }
  free(window);
  dsp_fft64_destroy(fft);
  return SC_OK;
}

static void transform_taps(struct dsp_correction *correction, const double *taps)
{
  float *buffer = dsp_fft_buffer(correction->fft);
  size_t n = correction->length;
  memset(buffer, 0, 2 * n * sizeof *buffer);
  for (size_t i = 0; i <= 2 * correction->delay; i++)
    buffer[2 * i] = (float)taps[i];
  dsp_fft_run(correction->fft);
  for (size_t i = 0; i < 2 * n; i++)
    correction->spectrum[i] = buffer[i] / (float)n;
}

static size_t choose_delay(double rate_hz)
{
  size_t delay = DELAY_MIN;
  while (delay < DELAY_MAX && (double)(2 * delay) < rate_hz / resolution_hz)
    delay *= 2;
  return delay;
}

enum sc_error dsp_correction_create(const struct dsp_response_point *points, size_t count,
                                    double rate_hz, unsigned channels,
                                    struct dsp_correction **correction)
{
  *correction = NULL;
  if (count == 0 || !(rate_hz > 0) || channels < 1 || channels > 2)
    return SC_BAD_ARGUMENT;
  struct dsp_correction *made = calloc(1, sizeof *made);
  if (made == NULL)
    return SC_NO_MEMORY;
  made->delay = choose_delay(rate_hz);
  made->hop = HOPS * made->delay;
  made->length = made->hop + 2 * made->delay;
  made->channels = channels;
  made->spectrum = malloc(2 * made->length * sizeof *made->spectrum);
  double *taps = malloc((2 * made->delay + 1) * sizeof *taps);
  enum sc_error error = made->spectrum == NULL || taps == NULL ? SC_NO_MEMORY : SC_OK;
  if (error == SC_OK)
    error = dsp_fft_create(made->length, DSP_PLAN_ESTIMATE, &made->fft);
  if (error == SC_OK)
    error = design(points, count, rate_hz, made->delay, taps);
  if (error == SC_OK)
    transform_taps(made, taps);
  free(taps);
  if (error != SC_OK) {
    dsp_correction_destroy(made);
    return error;
  }
  *correction = made;
  return SC_OK;
}

size_t dsp_correction_hop(const struct dsp_correction *correction)
{
  return correction->hop;
}

size_t dsp_correction_delay(const struct dsp_correction *correction)
{
  return correction->delay;
}

/* Multiplies, and conjugates so that a forward transform leads back. */
static void multiply(const float *spectrum, float *buffer, size_t n)
{
  for (size_t k = 0; k < n; k++) {
    float re = buffer[2 * k], im = buffer[2 * k + 1];
    float by_re = spectrum[2 * k], by_im = spectrum[2 * k + 1];
    buffer[2 * k] = re * by_re - im * by_im;
    buffer[2 * k + 1] = -(re * by_im + im * by_re);
  }
}

void dsp_correction_run(struct dsp_correction *correction, const float *in, float *out)
{
  float *buffer = dsp_fft_buffer(correction->fft);
  size_t n = correction->length, first = 2 * correction->delay;
  for (size_t i = 0; i < n; i++) {
    buffer[2 * i] = in[i * correction->channels];
    buffer[2 * i + 1] = correction->channels == 2 ? in[2 * i + 1] : 0;
  }
  dsp_fft_run(correction->fft);
  multiply(correction->spectrum, buffer, n);
  dsp_fft_run(correction->fft);
  for (size_t i = 0; i < correction->hop; i++) {
    out[i * correction->channels] = buffer[2 * (first + i)];
    if (correction->channels == 2)
      out[2 * i + 1] = -buffer[2 * (first + i) + 1];
  }
}

void dsp_correction_destroy(struct dsp_correction *correction)
{
  if (correction == NULL)
    return;
  dsp_fft_destroy(correction->fft);
  free(correction->spectrum);
  free(correction);
}
