/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/jump.h"

#include <math.h>
#include <string.h>

#define TWO_PI 6.283185307179586476925286766559

enum { SIDE = MEASURE_JUMP_SIDE, BETWEEN = MEASURE_JUMP_BETWEEN, FRAMES = MEASURE_JUMP_FRAMES };

/* Our choices: a turn that shows in the tone's amplitude, a side that is no steady tone, and sides
 * that differ. */
static const double least_rad = 0.3, steady = 0.99, alike = 0.05;
static const double drift_share = 0.25; /* of the jump, that the sides' frequencies may explain */

struct side {
  double re, im; /* sum, turned back */
  double turn;   /* per frame, beside what it was turned back by */
  double size;   /* sum of the frames' amplitudes */
};

void measure_jump_reset(struct measure_jump *jump)
{
  jump->count = 0;
}

/* Radians per frame, by neighbours on both sides. */
static double turn_of(const double *frames)
{
  double re = 0, im = 0;
  for (size_t i = 0; i + 1 < FRAMES; i++) {
    if (i + 1 >= SIDE && i < SIDE + BETWEEN)
      continue;
    const double *a = frames + 2 * i, *b = a + 2;
    re += a[0] * b[0] + a[1] * b[1];
    im += a[0] * b[1] - a[1] * b[0];
  }
  return atan2(im, re);
}

/* This is done for every frame: the turn back goes on by multiplication. */
static struct side take_side(const double *frames, size_t first, double turn)
{
  const double c = cos(turn), s = sin(turn), start = -turn * (double)first;
  double half[2][2] = {{0, 0}, {0, 0}}, back_re = cos(start), back_im = sin(start);
  struct side side = {0, 0, 0, 0};
  for (size_t i = 0; i < SIDE; i++) {
    const double *frame = frames + 2 * (first + i);
    double *sum = half[i >= SIDE / 2];
    sum[0] += frame[0] * back_re - frame[1] * back_im;
    sum[1] += frame[0] * back_im + frame[1] * back_re;
    side.size += sqrt(frame[0] * frame[0] + frame[1] * frame[1]);
    const double next = back_re * c + back_im * s;
    back_im = back_im * c - back_re * s;
    back_re = next;
  }
  const double *a = half[0], *b = half[1];
  side.re = a[0] + b[0];
  side.im = a[1] + b[1];
  side.turn = atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1]) / (SIDE / 2);
  return side;
}

static bool is_steady(const struct side *side)
{
  return hypot(side->re, side->im) >= steady * side->size;
}

static bool jumps(const double *frames)
{
  const double turn = turn_of(frames), apart = SIDE + BETWEEN;
  const struct side a = take_side(frames, 0, turn);
  const struct side b = take_side(frames, SIDE + BETWEEN, turn);
  if (!is_steady(&a) || !is_steady(&b) || fabs(a.size - b.size) > alike * a.size)
    return false;
  const double by = atan2(a.re * b.im - a.im * b.re, a.re * b.re + a.im * b.im);
  const double jump = fabs(remainder(by - apart * (a.turn + b.turn) / 2, TWO_PI));
  return jump >= least_rad && apart * fabs(a.turn - b.turn) <= drift_share * jump;
}

bool measure_jump_feed(struct measure_jump *jump, const float *frame)
{
  if (jump->count == FRAMES) {
    memmove(jump->frames, jump->frames + 2, (2 * FRAMES - 2) * sizeof *jump->frames);
    jump->count--;
  }
  jump->frames[2 * jump->count] = (double)frame[0];
  jump->frames[2 * jump->count + 1] = (double)frame[1];
  jump->count++;
  if (jump->count < FRAMES || !jumps(jump->frames))
    return false;
  memcpy(jump->frames, jump->frames + 2 * (FRAMES - SIDE), 2 * SIDE * sizeof *jump->frames);
  jump->count = SIDE;
  return true;
}
