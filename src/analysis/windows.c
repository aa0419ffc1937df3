/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Medians of windows of a trace. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include "analysis/windows.h"
#include "dsp/select.h"
#include "dsp/window.h"

enum { WINDOW_BINS_MAX = 512, WINDOW_BINS_LEAST = 9 };

static const double window_hz = 2e3;
/* Levels of lines are taken from a part of the capture, and from other samples than the trace. */
static const double doubt = 1.1;

double analysis_window_median(const float *power, size_t count)
{
  return (double)dsp_select(power, count, count / 2);
}

/* What the lines put into the bins of a window. */
struct put {
  double amplitudes[WINDOW_BINS_MAX], powers[WINDOW_BINS_MAX];
};

static void put_line(const struct sc_trace *trace, size_t first, size_t count,
                     const struct sc_tone *tone, struct put *put)
{
  const double lobe = dsp_window_main_lobe(trace->window, trace->window_parameter);
  const double at = (tone->frequency_hz.value - trace->start_hz) / trace->step_hz - (double)first;
  const double from = fmax(ceil(at - lobe), 0), to = fmin(floor(at + lobe), (double)count - 1);
  if (from > to)
    return;
  const double power = pow(10, tone->level_db.value / 10);
  for (double bin = from; bin <= to; bin++) {
    double response = dsp_window_response(trace->window, trace->window_parameter, bin - at);
    put->amplitudes[(size_t)bin] += sqrt(power) * fabs(response);
    put->powers[(size_t)bin] += power * response * response;
  }
}

struct analysis_rest analysis_window_rest(const struct sc_trace *trace, size_t first, size_t count,
                                          const struct sc_line_list *lines)
{
  struct put put = {{0}, {0}};
  float surely[WINDOW_BINS_MAX], likely[WINDOW_BINS_MAX];
  for (size_t i = 0; i < lines->count; i++)
    put_line(trace, first, count, &lines->lines[i].tone, &put);
  for (size_t i = 0; i < count; i++) {
    double power = (double)trace->mean[first + i];
    double most = put.amplitudes[i] * put.amplitudes[i];
    surely[i] = (float)fmax(power - doubt * most, 0);
    likely[i] = (float)fmax(power - put.powers[i], 0);
  }
  return (struct analysis_rest){analysis_window_median(surely, count),
                                analysis_window_median(likely, count)};
}

size_t analysis_window_bins(const struct sc_trace *trace)
{
  double bins = window_hz / trace->step_hz;
  return bins < WINDOW_BINS_LEAST ? WINDOW_BINS_LEAST
         : bins > WINDOW_BINS_MAX ? WINDOW_BINS_MAX
                                  : (size_t)bins;
}
