/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Beats of a strong one-sided carrier, of all orders: the composite and the lines on air are worked
 * out by numbers, from samples of the phase of exp(j p) + e exp(j w t) over a period of both and
 * slow sums over them. */
#include <config.h>

#include <math.h>

#include "account/made.h"
#include "account/suites.h"

enum { POINTS = 400 }; /* a millisecond of a composite at 400 kS/s: a kilohertz each */
static const double rate_hz = 400e3, step_hz = 1e3;
static const double least = 2e-4; /* of a line that is seen, as a phase or re the carrier */
static const double tone_hz = 51e3;

struct sampled {
  double complex air[POINTS];
  double phase[POINTS];
};

/* The pilot at 19 kHz, the carrier, and a tone of the index that is given, at 51 kHz, where the
 * carrier's beat with the pilot's first line is. */
static struct sampled sample(double carrier_at_hz, double complex carrier, double tone_index)
{
  struct sampled s;
  for (int n = 0; n < POINTS; n++) {
    const double t = 2 * pi * n / rate_hz;
    const double p = pilot_index * sin(19e3 * t) + tone_index * sin(tone_hz * t + 1);
    s.air[n] = cexp(I * p) + carrier * cexp(I * carrier_at_hz * t);
    s.phase[n] = p + carg(s.air[n] * cexp(-I * p));
  }
  return s;
}

static double complex line_of(const double complex *signal, int bin)
{
  double complex sum = 0;
  for (int n = 0; n < POINTS; n++)
    sum += signal[n] * cexp(-2 * pi * I * (double)(bin * n % POINTS) / POINTS);
  return sum / POINTS;
}

static void add_all(struct made *made, const struct sampled *s)
{
  double complex phase[POINTS];
  double power = 0;
  for (int n = 0; n < POINTS; n++) {
    phase[n] = s->phase[n];
    power += creal(s->air[n] * conj(s->air[n])) / POINTS;
  }
  for (int bin = -170; bin <= 170; bin++) {
    const double complex line = line_of(s->air, bin) / sqrt(power);
    if (cabs(line) > least)
      add_air(made, bin * step_hz, line);
  }
  for (int bin = 1; bin <= 99; bin++) {
    const double complex sine = 2 * I * line_of(phase, bin); /* re that of sin(wt) */
    if (cabs(sine) > least)
      add_tone(made, bin * step_hz, 1e-3 * cabs(sine) * bin * step_hz, carg(sine));
  }
}

static void join_mirrors(struct made *made)
{
  struct sc_line_list *list = &made->result.air_lines;
  for (size_t i = 0; i < list->count; i++)
    for (size_t k = 0; k < list->count; k++)
      if (i != k && fabs(list->lines[i].offset_hz.value + list->lines[k].offset_hz.value) < 1)
        list->lines[i].mirror = (ptrdiff_t)k;
}

/* An odd number of samples in a record: its middle is between two of them, and there the phases
 * are told. */
static void move_to(struct made *made, double samples)
{
  struct sc_line_list *lists[] = {&made->result.air_lines, &made->result.composite_lines};
  for (size_t i = 0; i < 2; i++)
    for (size_t k = 0; k < lists[i]->count; k++) {
      struct sc_line *line = &lists[i]->lines[k];
      line->tone.moments[0].phase_rad +=
          (float)(2 * pi * fmod(line->offset_hz.value * samples / rate_hz, 1));
    }
}

static void make(struct made *made, double carrier_at_hz, double complex carrier, double tone_index,
                 bool odd)
{
  const struct sampled s = sample(carrier_at_hz, carrier, tone_index);
  start(made);
  with_pilot(made);
  made->result.composite_rate_hz = sc_measured(rate_hz, 0);
  made->result.composite_lines.record_s = odd ? 1 + 1 / rate_hz : 1;
  add_all(made, &s);
  join_mirrors(made);
  if (odd)
    move_to(made, 0.5);
}

static const struct {
  double at_hz, amplitude, phase_rad;
} carriers[] = {{70e3, 0.03, 2}, {70e3, 0.3, 2}, {130e3, 0.3, -1}, {-133e3, 0.5, 0.5}};

/* No tone but the pilot was sent; the carrier of 133 kHz folds at the rate, to 1 kHz by the third
 * order. */
START_TEST(all_orders_are_beats)
{
  for (size_t i = 0; i < 2 * sizeof carriers / sizeof *carriers; i++) {
    struct made made;
    const size_t of = i / 2;
    make(&made, carriers[of].at_hz, carriers[of].amplitude * cexp(I * carriers[of].phase_rad), 0,
         i % 2 == 1);
    explain(&made);
    const struct sc_line_list *list = &made.result.composite_lines;
    ck_assert_uint_ge(list->count, 5);
    for (size_t k = 0; k < list->count; k++)
      if (fabs(list->lines[k].offset_hz.value - 19e3) < 1)
        check(&list->lines[k], SC_VERDICT_EXPLAINED, "pilot");
      else
        check(&list->lines[k], SC_VERDICT_ARTEFACT, "made in the discriminator");
    for (size_t k = 0; k < made.result.air_lines.count; k++)
      if (fabs(made.air[k].offset_hz.value - carriers[of].at_hz) < 1)
        check(&made.air[k], SC_VERDICT_SPURIOUS, "carrier of its own");
      else
        check(&made.air[k], SC_VERDICT_EXPLAINED, "");
  }
}
END_TEST

/* At a place of beats, and as strong as one, but with another phase than the beat. */
START_TEST(a_tone_on_a_beat_is_a_tone)
{
  for (size_t i = 0; i < 2; i++) {
    struct made made;
    make(&made, 70e3, carriers[i].amplitude * cexp(I * carriers[i].phase_rad), 0.05, false);
    explain(&made);
    for (size_t k = 0; k < made.result.composite_lines.count; k++)
      if (fabs(made.composite[k].offset_hz.value - tone_hz) < 1)
        ck_assert_msg(made.composite[k].verdict != SC_VERDICT_ARTEFACT, "%s",
                      made.composite[k].cause);
    for (size_t k = 0; k < made.result.air_lines.count; k++)
      if (fabs(made.air[k].offset_hz.value - 70e3) >= 1)
        check(&made.air[k], SC_VERDICT_EXPLAINED, "");
  }
}
END_TEST

Suite *beats_suite(void)
{
  Suite *suite = suite_create("beats");
  TCase *tcase = tcase_create("beats");
  tcase_add_test(tcase, all_orders_are_beats);
  tcase_add_test(tcase, a_tone_on_a_beat_is_a_tone);
  suite_add_tcase(suite, tcase);
  return suite;
}
