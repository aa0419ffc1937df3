/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Stretches of the spectrum above the difference signal, and the envelope of those that are wider
 * than a tone. */
#include <sidecomb/injection.h>

#include "dsp/discriminator.h"
#include "dsp/resample.h"
#include "measure/difference_edge.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { RUN = 4096, PLACES = 4, WIDTHS = 7 };

static const double lowest_hz = 53.5e3;
static const double highest_hz = 99e3;
static const double smooth_hz = 1e3;
static const double over_noise = 2.0;
static const double least_khz = 0.1;
static const double least_share = 0.001; /* of full scale, where kHz are not known */
/* What falls so much lower and rises again so much is another: over a width that holds two and
 * more of the lines that a tone makes of an FM subcarrier. */
static const double valley_hz = 2e3;
static const double valley_ratio = 20.0;
static const double join_hz = 600.0; /* gaps that do not divide a subcarrier */
static const double full_khz = 75.0;
static const double centre_share = 0.02;   /* of its width, of its middle's uncertainty */
static const double edge_share = 0.5;      /* of its power, to be the difference signal's edge */
static const double outside_share = 0.005; /* on either side: 99 % inside */
static const double response_share = 2e-3;
static const double noise_share = 0.1; /* to which the noise is known */
/* Of the power without the difference signal's edge: with less doubt it is something of its own. */
static const double own_doubt = 0.25;
static const double doubt_most = 0.5;
static const double middle_doubt = 0.125; /* of its width: beyond, its middle is not known */
static const double width_doubt = 0.05;   /* of its power, for the same of its width */
/* Half widths of the filters about a place. */
static const double half_hz[WIDTHS] = {2e3, 3e3, 4e3, 5e3, 6e3, 7e3, 8.5e3};
static const double edge_hz = 1.5e3; /* from there to nothing */
static const double stop_db = 60.0;
static const double base_rate_hz = 48e3;
/* Of the power within a place that has a constant envelope, from which on it is frequency that is
 * modulated. Of suppressed carriers with data or speech it is 0.7 and less: a sine of envelopes
 * has a fourth moment of 1.5. */
static const double steady_share = 0.85;
static const double moves_hz = 50.0;
static const double frames_least = 2000.0; /* of a place, to be judged by */
static const double aim_share = 0.25;      /* of the least power, so early that noise moves it */
static const double followed_s = 10.0;     /* and no more than that: an envelope tells by then */

struct place {
  double hz;    /* 0: free */
  size_t width; /* which of them */
  struct dsp_mixer mixer;
  struct dsp_decimator *decimator;
  struct dsp_resampler *shape[WIDTHS];
  size_t skip;
  double frames, power, square, step, step_square;
  float previous[2]; /* the frame before */
};

struct sc_injection_meter {
  struct sc_injection_settings settings;
  double rate_hz; /* of the places; 0: there are none */
  struct place place[PLACES];
  float low[2 * RUN], shaped[2 * RUN];
};

static enum sc_error create_shape(const struct sc_injection_meter *m, struct place *p, size_t width,
                                  size_t room)
{
  double *taps = NULL;
  size_t count = 0;
  enum sc_error error = dsp_lowpass_design(half_hz[width], half_hz[width] + edge_hz, stop_db,
                                           m->rate_hz, &taps, &count);
  if (error == SC_OK)
    error = dsp_resampler_create(2, 1, 1, taps, count, room, &p->shape[width]);
  free(taps);
  return error;
}

static enum sc_error create_place(struct sc_injection_meter *m, struct place *p)
{
  const double rate_hz = m->settings.rate_hz;
  const unsigned decimation = (unsigned)fmax(1.0, floor(rate_hz / base_rate_hz));
  m->rate_hz = rate_hz / decimation;
  enum sc_error error = dsp_decimator_create(2, decimation, half_hz[WIDTHS - 1] + edge_hz, stop_db,
                                             rate_hz, RUN, &p->decimator);
  for (size_t width = 0; width < WIDTHS && error == SC_OK; width++)
    error = create_shape(m, p, width, RUN / decimation + 2);
  return error;
}

enum sc_error sc_injection_create(const struct sc_injection_settings *settings,
                                  struct sc_injection_meter **meter)
{
  struct sc_injection_meter *m = calloc(1, sizeof *m);
  if (m == NULL)
    return SC_NO_MEMORY;
  m->settings = *settings;
  const bool reaches = settings->rate_hz / 2.0 > lowest_hz + half_hz[WIDTHS - 1] + edge_hz;
  for (struct place *p = m->place; p < m->place + PLACES && reaches; p++) {
    const enum sc_error error = create_place(m, p);
    if (error != SC_OK) {
      sc_injection_destroy(m);
      return error;
    }
  }
  *meter = m;
  return SC_OK;
}

void sc_injection_destroy(struct sc_injection_meter *meter)
{
  if (meter == NULL)
    return;
  for (int i = 0; i < PLACES; i++) {
    dsp_decimator_destroy(meter->place[i].decimator);
    for (size_t width = 0; width < WIDTHS; width++)
      dsp_resampler_destroy(meter->place[i].shape[width]);
  }
  free(meter);
}

static bool is_followed(const struct sc_injection_meter *m, const struct place *p)
{
  return p->hz > 0.0 && p->frames < followed_s * m->rate_hz;
}

/* `step`: from the frame before to each, in radians */
static void add(struct place *p, const float *z, const float *step, size_t frames)
{
  const size_t dropped = frames < p->skip ? frames : p->skip;
  p->skip -= dropped;
  for (size_t n = dropped; n < frames; n++) {
    const double re = z[2 * n], im = z[2 * n + 1], turned = step[n];
    const double power = re * re + im * im;
    p->power += power;
    p->square += power * power;
    p->step += turned;
    p->step_square += turned * turned;
  }
  p->frames += (double)(frames - dropped);
}

void sc_injection_feed(struct sc_injection_meter *meter, const float *composite, size_t frames)
{
  struct sc_injection_meter *m = meter;
  while (frames > 0) {
    const size_t n = frames < RUN ? frames : RUN;
    for (struct place *p = m->place; p < m->place + PLACES; p++) {
      if (!is_followed(m, p))
        continue;
      const size_t made =
          dsp_decimator_run_mixed(p->decimator, &p->mixer, composite, true, n, m->low);
      const size_t shaped = dsp_resampler_run(p->shape[p->width], m->low, made, m->shaped);
      dsp_discriminate(m->shaped, shaped, 1.0F, p->previous, m->low);
      add(p, m->shaped, m->low, shaped);
    }
    composite += n;
    frames -= n;
  }
}

/* ---- the spectrum */

static double smoothed(const struct sc_trace *t, size_t i, double over_hz)
{
  const size_t half = (size_t)(over_hz / 2.0 / t->step_hz);
  const size_t from = i > half ? i - half : 0;
  const size_t to = i + half < t->points ? i + half : t->points - 1;
  double sum = 0.0;
  for (size_t k = from; k <= to; k++)
    sum += t->mean[k];
  return sum / (double)(to - from + 1);
}

struct stretch {
  size_t from, to; /* bins, both in it */
};

struct walk {
  const struct sc_trace *trace;
  const struct sc_composite_noise *noise;
  double lowest;
  size_t first, last; /* bins that are looked at */
  struct measure_edge edge;
};

static double noise_at(const struct walk *w, size_t i)
{
  const struct sc_trace *t = w->trace;
  return measure_edge_noise(t, w->noise, w->lowest, t->start_hz + (double)i * t->step_hz);
}

static double edge_at(const struct walk *w, size_t i, double *open)
{
  return measure_edge_power(&w->edge, w->trace->start_hz + (double)i * w->trace->step_hz, open);
}

/* Of a stretch, as the trace counts: a real tone of amplitude a has a^2 there, and noise twice its
 * density times the resolution. Without noise and the difference signal's edge. */
struct weight {
  double power, power_sd;
  double centre_hz, centre_sd_hz;
  double width_hz;
  double edge; /* what was taken off for it */
};

/* What moves power and centre: noise and edge, known to a share, and their beat with what is
 * weighed, which is chance in each bin. */
static void weigh_doubt(const struct walk *w, const struct stretch *s, double sum, double centre,
                        struct weight *weight)
{
  const double beat_share =
      2.0 * w->trace->rbw_hz / w->trace->step_hz / fmax(w->trace->independent_records, 1.0);
  double noise = 0.0, noise_turn = 0.0, open = 0.0, open_turn = 0.0, beat = 0.0, beat_turn = 0.0;
  for (size_t i = s->from; i <= s->to; i++) {
    double doubt;
    const double away = (double)i - centre, own = noise_at(w, i), edge = edge_at(w, i, &doubt);
    const double beats = beat_share * edge * fmax(0.0, w->trace->mean[i] - own - edge);
    noise += noise_share * own;
    noise_turn += noise_share * own * away;
    open += doubt;
    open_turn += doubt * away;
    beat += beats;
    beat_turn += beats * away * away;
    weight->edge += edge;
  }
  const double scale = w->trace->step_hz / w->trace->rbw_hz;
  weight->edge *= scale;
  weight->power_sd = sqrt(noise * noise + open * open + beat) * scale;
  weight->centre_sd_hz = sqrt(noise_turn * noise_turn + open_turn * open_turn + beat_turn) /
                         fabs(sum) * w->trace->step_hz;
}

static double rest_at(const struct walk *w, size_t i)
{
  double open;
  return w->trace->mean[i] - noise_at(w, i) - edge_at(w, i, &open);
}

static struct weight weigh(const struct walk *w, const struct stretch *s)
{
  double sum = 0.0, moment = 0.0, below = 0.0, first = 0.0, last = 0.0;
  for (size_t i = s->from; i <= s->to; i++) {
    sum += rest_at(w, i);
    moment += rest_at(w, i) * (double)i;
  }
  for (size_t i = s->from; i <= s->to; i++) {
    const double before = below;
    below += rest_at(w, i);
    if (before <= outside_share * sum)
      first = (double)i;
    if (before <= (1.0 - outside_share) * sum)
      last = (double)i;
  }
  const double step_hz = w->trace->step_hz;
  struct weight weight = {.power = sum * step_hz / w->trace->rbw_hz,
                          .centre_hz = w->trace->start_hz + moment / sum * step_hz,
                          .width_hz = (last - first) * step_hz};
  weigh_doubt(w, s, sum, moment / sum, &weight);
  return weight;
}

/* The place that was aimed at what stands there; NULL: none, or not for long enough. */
static const struct place *place_at(const struct sc_injection_meter *m, double centre_hz,
                                    double width_hz)
{
  for (const struct place *p = m->place; p < m->place + PLACES; p++)
    if (p->hz > 0.0 && fabs(p->hz - centre_hz) < fmax(smooth_hz, width_hz / 4.0) &&
        p->frames > frames_least)
      return p;
  return NULL;
}

/* Constant envelope of power C in Gaussian rest: 2 m2^2 - m4 = C^2. */
static void judge_kind(const struct sc_injection_meter *m, const struct sc_trace *t,
                       double centre_hz, double width_hz, struct sc_injection *injection)
{
  injection->kind = width_hz <= 4.0 * t->rbw_hz ? SC_INJECTION_TONE : SC_INJECTION_BAND;
  const struct place *p = place_at(m, centre_hz, width_hz);
  if (injection->kind == SC_INJECTION_TONE || p == NULL)
    return;
  const double mean = p->power / p->frames;
  const double steady = 2.0 * mean * mean - p->square / p->frames;
  const double turn = p->step / p->frames;
  const double variance = fmax(0.0, p->step_square / p->frames - turn * turn);
  const double rms_hz = sqrt(variance) * m->rate_hz / 6.283185307179586476925286766559;
  if (!(steady > pow(steady_share * mean, 2.0)) || rms_hz < moves_hz)
    return;
  injection->kind = SC_INJECTION_FM;
  injection->own_rms_khz = sc_measured(rms_hz * 1e-3, (double)NAN);
}

/* Amplitude from which on it is stated. */
static double least_amplitude(const struct sc_injection_meter *m)
{
  return m->settings.absolute ? least_khz : least_share;
}

static void state_amplitude(const struct sc_injection_meter *m, const struct weight *weight,
                            double pilot, struct sc_injection *out)
{
  const bool absolute = m->settings.absolute;
  const double amplitude = sqrt(weight->power);
  const double sd = hypot(response_share * amplitude, weight->power_sd / amplitude);
  const struct sc_quantity no_scale = sc_not_measured("the composite has no absolute scale");
  out->deviation_khz = absolute ? sc_measured(amplitude, sd) : no_scale;
  out->injection_percent =
      absolute ? sc_measured(100.0 * amplitude / full_khz, 100.0 * sd / full_khz) : no_scale;
  out->level_db_pilot =
      pilot > 0.0 ? sc_measured(20.0 * log10(amplitude / pilot), 20.0 / log(10.0) * sd / amplitude)
                  : sc_not_measured("there is no pilot");
}

/* The middle only where it is known well enough to say where the band is. */
static void state_place(const struct sc_trace *t, const struct weight *weight,
                        struct sc_injection *out)
{
  static const char hidden[] = "the difference signal reaches up here and hides it";
  const double width_hz = weight->width_hz;
  out->offset_hz = sc_measured(
      weight->centre_hz, hypot(fmax(t->step_hz, centre_share * width_hz), weight->centre_sd_hz));
  out->bandwidth_hz = sc_measured(fmax(width_hz, t->rbw_hz), (double)NAN);
  if (weight->edge > 0.0 && weight->centre_sd_hz > middle_doubt * width_hz)
    out->offset_hz = sc_not_measured(hidden);
  if (weight->edge > 0.0 && weight->power_sd > width_doubt * weight->power)
    out->bandwidth_hz = sc_not_measured(hidden);
}

/* All of it is the difference signal's edge, or too much to tell what else is there. */
static bool is_edge(const struct weight *all, const struct weight *rest)
{
  return rest->edge > edge_share * all->power && !(rest->power_sd <= own_doubt * rest->power);
}

static bool take(const struct sc_injection_meter *m, const struct walk *w, const struct stretch *s,
                 double pilot, struct sc_injection *out)
{
  const struct sc_trace *t = w->trace;
  struct walk bare = *w;
  bare.edge.last_hz = 0.0;
  const struct weight rest = weigh(w, s), all = weigh(&bare, s);
  const bool of_difference = is_edge(&all, &rest);
  const struct weight *weight = of_difference ? &all : &rest;
  if (!(sqrt(fmax(0.0, weight->power)) >= least_amplitude(m)) ||
      weight->power_sd > doubt_most * weight->power)
    return false;
  *out = (struct sc_injection){.lower_hz = t->start_hz + (double)s->from * t->step_hz,
                               .upper_hz = t->start_hz + (double)s->to * t->step_hz,
                               .own_rms_khz = sc_not_measured("it is no FM subcarrier")};
  state_amplitude(m, weight, pilot, out);
  state_place(t, weight, out);
  judge_kind(m, t, weight->centre_hz, weight->width_hz, out);
  out->of_difference = of_difference && out->kind == SC_INJECTION_BAND;
  return true;
}

void sc_injection_refuse(struct sc_injections *injections, const char *why)
{
  memset(injections, 0, sizeof *injections);
  injections->why = why;
}

/* ---- stretches */

static bool start_walk(const struct sc_trace *t, const struct sc_composite_noise *noise,
                       struct walk *w)
{
  const double end_hz = t->points > 0 ? t->start_hz + (double)(t->points - 1) * t->step_hz : 0.0;
  if (end_hz < lowest_hz + 2.0 * smooth_hz)
    return false;
  *w = (struct walk){.trace = t,
                     .noise = noise,
                     .lowest = INFINITY,
                     .first = (size_t)((lowest_hz - t->start_hz) / t->step_hz),
                     .last = (size_t)((fmin(highest_hz, end_hz) - t->start_hz) / t->step_hz)};
  for (size_t i = w->first; i <= w->last; i++)
    w->lowest = fmin(w->lowest, smoothed(t, i, smooth_hz));
  measure_edge_find(t, noise, w->lowest, &w->edge);
  return true;
}

static bool is_high(const struct walk *w, size_t i)
{
  return smoothed(w->trace, i, smooth_hz) > over_noise * noise_at(w, i) + 1e-12;
}

/* The next stretch from *at on; a valley divides what the noise does not. */
static bool next_stretch(const struct walk *w, size_t *at, struct stretch *s)
{
  const size_t join = (size_t)(join_hz / w->trace->step_hz);
  size_t i = *at;
  while (i <= w->last && !is_high(w, i))
    i++;
  if (i > w->last)
    return false;
  *s = (struct stretch){i, i};
  double top = 0.0, bottom = INFINITY;
  size_t valley = i;
  for (; i <= w->last && i <= s->to + join; i++) {
    const double here = smoothed(w->trace, i, valley_hz);
    if (here > valley_ratio * bottom && top > valley_ratio * bottom) {
      s->to = valley;
      *at = valley + 1;
      return true;
    }
    if (is_high(w, i))
      s->to = i;
    if (here > top)
      top = bottom = here;
    if (here <= bottom) {
      bottom = here;
      valley = i;
    }
  }
  *at = i;
  return true;
}

/* The noise of a discriminator that fits under all of the band, for want of a better one. */
static struct sc_composite_noise least_noise(const struct sc_trace *t)
{
  const struct sc_composite_noise unknown = sc_composite_noise_unknown();
  struct walk w;
  double least = INFINITY;
  if (!start_walk(t, &unknown, &w))
    return unknown;
  for (size_t i = w.first; i <= w.last; i++) {
    const double hz = t->start_hz + (double)i * t->step_hz;
    least = fmin(least, smoothed(t, i, smooth_hz) / (2.0 * hz * hz * t->rbw_hz * 1e-6));
  }
  return (struct sc_composite_noise){(double)NAN, least, 1.0};
}

static void aim_at(struct sc_injection_meter *m, double centre_hz, double width_hz)
{
  struct place *p = m->place;
  for (const struct place *q = m->place; q < m->place + PLACES; q++)
    if (q->hz > 0.0 && fabs(q->hz - centre_hz) < fmax(smooth_hz, width_hz / 4.0))
      return;
  while (p < m->place + PLACES && p->hz > 0.0)
    p++;
  if (p == m->place + PLACES || p->decimator == NULL)
    return;
  p->hz = centre_hz;
  while (p->width + 1 < WIDTHS && width_hz > 2.0 * half_hz[p->width])
    p->width++;
  dsp_mixer_set(&p->mixer, -centre_hz, m->settings.rate_hz);
  p->skip = dsp_decimator_transient(p->decimator) + dsp_resampler_transient(p->shape[p->width]) + 1;
}

void sc_injection_aim(struct sc_injection_meter *meter, const struct sc_trace *trace)
{
  const struct sc_composite_noise noise = least_noise(trace);
  struct walk w;
  struct stretch s;
  if (!start_walk(trace, &noise, &w))
    return;
  for (size_t at = w.first; next_stretch(&w, &at, &s);) {
    const struct weight weight = weigh(&w, &s);
    if (weight.width_hz > 4.0 * trace->rbw_hz &&
        weight.power > aim_share * pow(least_amplitude(meter), 2.0))
      aim_at(meter, weight.centre_hz, weight.width_hz);
  }
}

void sc_injection_result(const struct sc_injection_meter *meter, const struct sc_trace *trace,
                         const struct sc_composite_noise *noise, double pilot,
                         struct sc_injections *injections)
{
  struct walk w;
  struct stretch s;
  memset(injections, 0, sizeof *injections);
  if (!start_walk(trace, noise, &w)) {
    injections->why = "the composite was not captured above 53 kHz";
    return;
  }
  for (size_t at = w.first; injections->count < SC_INJECTIONS_MAX && next_stretch(&w, &at, &s);) {
    if (take(meter, &w, &s, pilot, &injections->at[injections->count]))
      injections->count++;
  }
}
