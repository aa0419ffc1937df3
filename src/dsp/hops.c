/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Hops of a stream and the parabolas over several of them. */
#include "dsp/hops.h"

#include <string.h>

/* Integrals of (1 - u^2)^3 u^k from -1 to 1, k = 0, 2, 4. */
static const double even[] = {32.0 / 35, 32.0 / 315, 32.0 / 1155};

void dsp_hops_reset(struct dsp_hops *hops)
{
  hops->blocks_in_hop = 1;
  hops->count = hops->blocks = 0;
  memset(hops->begun, 0, sizeof hops->begun);
}

void dsp_hops_halve(struct dsp_hops *hops)
{
  const size_t pairs = hops->count / 2;
  for (size_t h = 0; h < pairs; h++) {
    double pair[DSP_TAPER_MOMENTS] = {0};
    dsp_taper_move(pair, hops->moment[2 * h], 0.5, -0.5);
    dsp_taper_move(pair, hops->moment[2 * h + 1], 0.5, 0.5);
    memcpy(hops->moment[h], pair, sizeof pair);
  }
  hops->count = pairs;
  hops->blocks = 0;
  memset(hops->begun, 0, sizeof hops->begun);
  hops->blocks_in_hop *= 2;
}

/* There is no room for the hop begun, which is complete: it is half of one then. */
static void make_room(struct dsp_hops *hops)
{
  double half[DSP_TAPER_MOMENTS] = {0};
  dsp_taper_move(half, hops->begun, 0.5, -0.5);
  dsp_hops_halve(hops);
  memcpy(hops->begun, half, sizeof half);
  hops->blocks = hops->blocks_in_hop / 2;
}

void dsp_hops_add(struct dsp_hops *hops, const double *block)
{
  const double in_hop = (double)hops->blocks_in_hop;
  dsp_taper_move(hops->begun, block, 1 / in_hop, (2.0 * (double)hops->blocks + 1) / in_hop - 1);
  if (++hops->blocks < hops->blocks_in_hop)
    return;
  if (hops->count == DSP_HOPS_MAX) {
    make_room(hops);
    return;
  }
  memcpy(hops->moment[hops->count++], hops->begun, sizeof hops->begun);
  memset(hops->begun, 0, sizeof hops->begun);
  hops->blocks = 0;
}

void dsp_hops_feed(struct dsp_hops *hops, struct dsp_taper *taper, const float *in, size_t frames)
{
  while (frames > 0) {
    const size_t room = DSP_TAPER_BLOCK - (size_t)(taper->frames % DSP_TAPER_BLOCK);
    const size_t n = frames < room ? frames : room;
    dsp_taper_feed(taper, in, n);
    if (n == room)
      dsp_hops_add(hops, taper->last);
    in += n;
    frames -= n;
  }
}

uint64_t dsp_hops_frames(const struct dsp_hops *hops)
{
  return DSP_TAPER_BLOCK * (uint64_t)(hops->count * hops->blocks_in_hop + hops->blocks);
}

/* From moments of x about the window's middle, whose frames span so many halves of unit u. */
static void solve(const double *moment, double half_frames, struct dsp_parabola *fit)
{
  double of[3];
  for (size_t k = 0; k < 3; k++)
    of[k] = (moment[k] - 3 * moment[k + 2] + 3 * moment[k + 4] - moment[k + 6]) / half_frames;
  const double determinant = even[0] * even[2] - even[1] * even[1];
  fit->a = (even[2] * of[0] - even[1] * of[2]) / determinant;
  fit->b = of[1] / even[1];
  fit->c = (even[0] * of[2] - even[1] * of[0]) / determinant;
}

void dsp_hops_fit(const struct dsp_hops *hops, size_t first, size_t count, struct dsp_parabola *fit)
{
  double moment[DSP_TAPER_MOMENTS] = {0};
  const double hop = (double)(DSP_TAPER_BLOCK * hops->blocks_in_hop);
  const size_t blocks = first + count == hops->count ? hops->blocks : 0;
  fit->from = (double)first * hop;
  fit->to = fit->from + (double)count * hop + (double)blocks * DSP_TAPER_BLOCK;
  const double width = hop / (fit->to - fit->from);
  for (size_t h = 0; h < count + (blocks > 0); h++)
    dsp_taper_move(moment, h < count ? hops->moment[first + h] : hops->begun, width,
                   (2 * (double)h + 1) * width - 1);
  solve(moment, (fit->to - fit->from) / 2, fit);
}

double dsp_hops_mean(const struct dsp_hops *hops, size_t first, size_t count)
{
  double moment[DSP_TAPER_MOMENTS] = {0};
  const double width = 1 / (double)count;
  for (size_t h = 0; h < count; h++)
    dsp_taper_move(moment, hops->moment[first + h], width, (2 * (double)h + 1) * width - 1);
  return dsp_taper_mean_of(moment, DSP_TAPER_ORDER,
                           (double)(DSP_TAPER_BLOCK * hops->blocks_in_hop * count));
}

double dsp_parabola_at(const struct dsp_parabola *fit, double frame)
{
  const double u = (2 * frame - fit->from - fit->to) / (fit->to - fit->from);
  return fit->a + u * (fit->b + u * fit->c);
}
