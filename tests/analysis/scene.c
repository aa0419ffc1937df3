/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Generator and analysis, block by block, in floats as captures have them. */
#include <config.h>

#include <math.h>

#include <check.h>

#include "analysis/scene.h"

enum { BLOCK = 1 << 14 };

struct sc_scenario scene_silent(double rate_hz, double cnr_db)
{
  struct sc_scenario s;
  sc_scenario_init(&s);
  s.rate_hz = rate_hz;
  s.seconds = 1.5;
  s.seed = 51;
  s.cnr_db = cnr_db;
  s.offset_hz = 900;
  return s;
}

void scene_add_tone(struct sc_scenario *scene, enum sc_programme_to to, double hz, double khz)
{
  scene->station.programme[scene->station.programme_count++] =
      (struct sc_programme){.kind = SC_PROGRAMME_TONE, .to = to, .hz = hz, .khz = khz};
}

struct sc_analysis_settings scene_settings(const struct sc_scenario *scene)
{
  return (struct sc_analysis_settings){.channel_hz = (double)NAN,
                                       .full_scale_khz = scene->what == SC_WHAT_IQ ? 0 : 200,
                                       .deemphasis_us = 50};
}

/* Turned by the phase of a frequency that grows evenly, beside a line that does not. */
static void move(const struct scene_move *moved, double rate_hz, uint64_t first, float *iq,
                 size_t frames)
{
  const double two_pi = 6.283185307179586;
  for (size_t i = 0; i < frames; i++) {
    const double t = (double)(first + i) / rate_hz;
    const double jumped = moved->jump_hz * fmax(t - moved->jump_s, 0);
    const double by = two_pi * (moved->drift_hz_s / 2 * t * t + jumped);
    const double still = two_pi * moved->still_hz * t;
    const double re = (double)iq[2 * i], im = (double)iq[2 * i + 1];
    iq[2 * i] = (float)(re * cos(by) - im * sin(by) + moved->still_amplitude * cos(still));
    iq[2 * i + 1] = (float)(re * sin(by) + im * cos(by) + moved->still_amplitude * sin(still));
  }
}

static void feed(struct sc_analysis *analysis, struct sc_generator *generator,
                 const struct sc_source_info *info, uint64_t frames, const struct scene_move *moved)
{
  static double made[2 * BLOCK];
  static float samples[2 * BLOCK];
  for (uint64_t at = 0; at < frames; at += BLOCK) {
    const size_t run = frames - at < BLOCK ? (size_t)(frames - at) : BLOCK;
    sc_generator_run(generator, made, run);
    for (size_t i = 0; i < run * info->channels; i++)
      samples[i] = (float)made[i];
    if (moved != NULL)
      move(moved, info->sample_rate_hz, at, samples, run);
    const struct sc_block block = {
        .first = at, .frames = run, .channels = info->channels, .samples = samples, .info = info};
    ck_assert_int_eq(sc_analysis_feed(analysis, &block), SC_OK);
  }
}

static struct sc_result measure(const struct sc_scenario *scene,
                                const struct sc_analysis_settings *settings,
                                const struct scene_move *moved, double *peak_khz,
                                enum sc_error *saved, struct sc_message *message)
{
  struct sc_message failed;
  struct sc_generator *generator;
  struct sc_analysis *analysis;
  struct sc_result result;
  struct sc_generator_info sent;
  const bool iq = scene->what == SC_WHAT_IQ;
  const struct sc_source_info info = {.kind = iq ? SC_KIND_IQ : SC_KIND_COMPOSITE,
                                      .sample_rate_hz = scene->rate_hz,
                                      .nominal_rate_hz = scene->rate_hz,
                                      .clock_relative_uncertainty = (double)NAN,
                                      .channels = iq ? 2 : 1,
                                      .frames = (uint64_t)(scene->seconds * scene->rate_hz)};
  ck_assert_msg(sc_generator_create(scene, &generator, &failed) == SC_OK, "%s", failed.text);
  ck_assert_int_eq(sc_analysis_create(&info, settings, &analysis, &failed), SC_OK);
  feed(analysis, generator, &info, info.frames, moved);
  ck_assert_int_eq(sc_analysis_result(analysis, &result), SC_OK);
  if (saved != NULL)
    *saved = sc_analysis_save_audio(analysis, message);
  sc_generator_info(generator, &sent);
  if (peak_khz != NULL)
    *peak_khz = sent.peak_khz;
  sc_analysis_destroy(analysis);
  sc_generator_destroy(generator);
  return result;
}

struct sc_result scene_measure(const struct sc_scenario *scene,
                               const struct sc_analysis_settings *settings, double *peak_khz,
                               enum sc_error *saved, struct sc_message *message)
{
  return measure(scene, settings, NULL, peak_khz, saved, message);
}

struct sc_result scene_play(const struct sc_scenario *scene)
{
  const struct sc_analysis_settings settings = scene_settings(scene);
  return scene_measure(scene, &settings, NULL, NULL, NULL);
}

struct sc_result scene_moved(const char *changes, unsigned seed, const struct scene_move *moved)
{
  struct sc_scenario scene;
  struct sc_message message;
  sc_scenario_init(&scene);
  scene.rate_hz = 500e3;
  scene.seconds = 1;
  scene.seed = seed;
  scene.station_hz = 91.2e6;
  scene.centre_hz = 91.14e6;
  scene.offset_hz = 120;
  scene.cnr_db = 50;
  ck_assert_msg(sc_scenario_parse(changes, "test", &scene, &message) == SC_OK, "%s", message.text);
  struct sc_analysis_settings settings = scene_settings(&scene);
  settings.lines = true;
  return measure(&scene, &settings, moved, NULL, NULL, NULL);
}

struct sc_result scene_told(const char *changes, unsigned seed)
{
  return scene_moved(changes, seed, NULL);
}
