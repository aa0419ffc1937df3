/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a made-up capture holds, as annotations. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdarg.h>
#include <stdio.h>

#include <sidecomb/compose.h>

struct list {
  struct sc_annotation *truth;
  size_t count;
  double carrier_hz; /* on the capture's axis; NAN for a composite */
};

static const double deg_per_rad = 57.295779513082320877;

/* Edges relative to the carrier; NAN: none. */
static void add(struct list *list, double from_hz, double to_hz, const char *format, ...)
    SC_PRINTF(4, 5);

static void add(struct list *list, double from_hz, double to_hz, const char *format, ...)
{
  if (list->count == SC_TRUTH_MAX)
    return;
  struct sc_annotation *annotation = &list->truth[list->count++];
  *annotation = (struct sc_annotation){.lower_hz = rint(list->carrier_hz + from_hz),
                                       .upper_hz = rint(list->carrier_hz + to_hz)};
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(annotation->text, sizeof annotation->text, format, arguments);
  va_end(arguments);
}

static const char *side(enum sc_programme_to to)
{
  static const char *const names[] = {"left", "right", "left and right", "left and inverted right"};
  return names[to];
}

static void add_part(struct list *list, const struct sc_programme *p)
{
  const char *to = side(p->to);
  switch (p->kind) {
  case SC_PROGRAMME_TONE:
    add(list, NAN, NAN, "%s: tone %.10g Hz, %.6g kHz before pre-emphasis", to, p->hz, p->khz);
    break;
  case SC_PROGRAMME_COMB:
    add(list, NAN, NAN, "%s: %d tones %.10g to %.10g Hz, %.6g kHz each", to, p->count, p->hz,
        p->to_hz, p->khz);
    break;
  case SC_PROGRAMME_WHITE:
    add(list, NAN, NAN, "%s: white noise, %.6g kHz rms", to, p->khz);
    break;
  case SC_PROGRAMME_PINK:
    add(list, NAN, NAN, "%s: pink noise, %.6g kHz rms", to, p->khz);
    break;
  case SC_PROGRAMME_SWEEP:
    add(list, NAN, NAN, "%s: sweep %.10g to %.10g Hz in %.6g s, %.6g kHz", to, p->hz, p->to_hz,
        p->period_s, p->khz);
    break;
  case SC_PROGRAMME_BURSTS:
    add(list, NAN, NAN, "%s: bursts of %.10g Hz, %.6g s every %.6g s, %.6g kHz", to, p->hz, p->on_s,
        p->period_s, p->khz);
    break;
  case SC_PROGRAMME_SOUND:
    add(list, NAN, NAN, "%s: a sound file, full scale %.6g kHz", to, p->khz);
    break;
  }
}

static void add_stereo(struct list *list, const struct sc_station *s)
{
  if (s->pilot_khz > 0)
    add(list, -s->pilot_hz, s->pilot_hz, "pilot %.10g Hz, %.6g kHz", s->pilot_hz, s->pilot_khz);
  if (s->residual_khz > 0)
    add(list, -2 * s->pilot_hz, 2 * s->pilot_hz, "38 kHz residual %.6g kHz, %.4g degrees",
        s->residual_khz, s->residual_phase_rad * deg_per_rad);
  if (s->mono)
    add(list, NAN, NAN, "mono: no difference signal");
  else if (s->difference_gain_db != 0 || s->difference_phase_rad != 0)
    add(list, NAN, NAN, "difference %+.6g dB, its 38 kHz %+.4g degrees off", s->difference_gain_db,
        s->difference_phase_rad * deg_per_rad);
  for (size_t i = 0; i < s->programme_count; i++)
    add_part(list, &s->programme[i]);
  if (s->programme_count > 0)
    add(list, NAN, NAN, "pre-emphasis %.6g us, programme to %.6g Hz", s->preemphasis_us,
        s->limit_hz);
}

static void add_subcarriers(struct list *list, const struct sc_station *s)
{
  const double rds_hz = 3 * s->pilot_hz;
  if (s->rds.khz > 0)
    add(list, -rds_hz - 2400, rds_hz + 2400, "RDS %.6g kHz peak, %.4g degrees, PI %04X, PS \"%s\"",
        s->rds.khz, s->rds.phase_rad * deg_per_rad, (unsigned)s->rds.pi, s->rds.ps);
  for (size_t i = 0; i < s->subcarrier_count; i++)
    add(list, -s->subcarriers[i].hz, s->subcarriers[i].hz, "FM subcarrier %.10g Hz, %.6g kHz",
        s->subcarriers[i].hz, s->subcarriers[i].khz);
  for (size_t i = 0; i < s->band_count; i++)
    add(list, -s->bands[i].hz - s->bands[i].width_hz / 2, s->bands[i].hz + s->bands[i].width_hz / 2,
        "band %.10g Hz, %.6g Hz wide, %.6g kHz rms", s->bands[i].hz, s->bands[i].width_hz,
        s->bands[i].rms_khz);
  for (size_t i = 0; i < s->tone_count; i++)
    add(list, -s->tones[i].hz, s->tones[i].hz, "%s%stone on the composite %.10g Hz, %.6g kHz",
        s->tones[i].name, s->tones[i].name[0] != 0 ? ": " : "", s->tones[i].hz,
        s->tones[i].amplitude);
}

static void add_motion(struct list *list, const struct sc_motion *m)
{
  if (m->drift_hz_s != 0)
    add(list, NAN, NAN, "the carrier drifts by %+.6g Hz/s", m->drift_hz_s);
  if (m->wander_hz != 0)
    add(list, NAN, NAN, "the carrier wanders by %.6g Hz peak, period %.6g s", m->wander_hz,
        m->wander_s);
  if (m->settle_hz != 0)
    add(list, NAN, NAN, "the carrier settles from %+.6g Hz, time constant %.6g s", m->settle_hz,
        m->settle_s);
}

static void add_way(struct list *list, const struct sc_scenario *s)
{
  add_motion(list, &s->motion);
  for (size_t i = 0; i < s->carrier_count; i++) {
    const double at = s->carriers[i].hz - s->offset_hz;
    add(list, at - 50, at + 50, "%s%sone-sided carrier %+.10g Hz, %.6g dBc%s", s->carriers[i].name,
        s->carriers[i].name[0] != 0 ? ": " : "", s->carriers[i].hz, s->carriers[i].amplitude,
        s->carriers[i].along ? ", along with the carrier" : "");
  }
  for (size_t i = 0; i < s->am_count; i++)
    add(list, -s->am[i].hz, s->am[i].hz, "incidental AM %.10g Hz, %.6g %%", s->am[i].hz,
        s->am[i].amplitude);
  if (s->tilt_db != 0)
    add(list, NAN, NAN, "synchronous AM: %+.6g dB at +75 kHz", s->tilt_db);
  for (size_t i = 0; i < s->neighbour_count; i++) {
    const double at = s->neighbours[i].offset_hz - s->offset_hz;
    add(list, at - 100e3, at + 100e3, "neighbour %+.10g Hz, %.6g dB", s->neighbours[i].offset_hz,
        s->neighbours[i].level_db);
  }
}

static void add_receiver(struct list *list, const struct sc_scenario *s)
{
  if (!isnan(s->cnr_db))
    add(list, NAN, NAN, "noise: carrier-to-noise ratio %.6g dB in %.6g Hz", s->cnr_db,
        s->cnr_bandwidth_hz);
  if (s->iq_gain_db != 0 || s->iq_phase_rad != 0)
    add(list, NAN, NAN, "receiver: I %+.6g dB against Q, Q early by %.4g degrees", s->iq_gain_db,
        s->iq_phase_rad * deg_per_rad);
  if (s->dc_i != 0 || s->dc_q != 0)
    add(list, NAN, NAN, "receiver: direct current %+.6g on I, %+.6g on Q", s->dc_i, s->dc_q);
}

static void add_clock(struct list *list, const struct sc_scenario *s)
{
  if (s->clock_ppm != 0)
    add(list, NAN, NAN, "receiver: clock%s %+.6g ppm", s->what == SC_WHAT_IQ ? " and tuning" : "",
        s->clock_ppm);
}

size_t sc_scenario_truth(const struct sc_scenario *scenario, struct sc_annotation *truth)
{
  const struct sc_scenario *s = scenario;
  struct list list = {truth, 0, NAN};
  if (s->what == SC_WHAT_IQ) {
    list.carrier_hz = s->station_hz + s->offset_hz;
    add(&list, -50, 50, "%s%s%s %+.6g Hz from its nominal frequency", s->station.name,
        s->station.name[0] != 0 ? ": " : "", s->carrier ? "carrier" : "no carrier", s->offset_hz);
  }
  add_stereo(&list, &s->station);
  if (s->what != SC_WHAT_AUDIO)
    add_subcarriers(&list, &s->station);
  if (s->what == SC_WHAT_IQ) {
    add_way(&list, s);
    add_receiver(&list, s);
  }
  add_clock(&list, s);
  return list.count;
}

size_t sc_scenario_left_out(const struct sc_scenario *scenario, struct sc_annotation *left_out)
{
  struct list list = {left_out, 0, NAN};
  if (scenario->what == SC_WHAT_IQ)
    return 0;
  if (scenario->what == SC_WHAT_AUDIO)
    add_subcarriers(&list, &scenario->station);
  add_way(&list, scenario);
  add_receiver(&list, scenario);
  return list.count;
}
