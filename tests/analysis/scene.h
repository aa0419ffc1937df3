/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Scenarios played through the whole chain, without a file between. */
#ifndef SIDECOMB_TESTS_ANALYSIS_SCENE_H
#define SIDECOMB_TESTS_ANALYSIS_SCENE_H

#include <sidecomb/analysis.h>
#include <sidecomb/scenario.h>

/* A silent stereo station 900 Hz off the centre, for 1.5 s. cnr_db NAN: no noise. */
struct sc_scenario scene_silent(double rate_hz, double cnr_db);
/* A tone whose peak deviates by khz when sum and difference carry it. */
void scene_add_tone(struct sc_scenario *scene, enum sc_programme_to to, double hz, double khz);
/* What a search for the channel needs, 50 us, a full scale of 200 kHz, no lines. */
struct sc_analysis_settings scene_settings(const struct sc_scenario *scene);
/* Plays the scene, and returns what was measured (sc_result_clear). *peak_khz (may be NULL): of
 * the composite as sent. With an audio path in `settings` *saved is what saving it returned. */
struct sc_result scene_measure(const struct sc_scenario *scene,
                               const struct sc_analysis_settings *settings, double *peak_khz,
                               enum sc_error *saved, struct sc_message *message);
/* With lines: a stereo transmitter 60 kHz beside the middle of 500 kS/s, 50 dB over the noise in
 * 200 kHz, with a pilot of 6.75 kHz and no programme, for a second; `changes` in the scenarios'
 * language.
 */
struct sc_result scene_told(const char *changes, unsigned seed);
/* The same, as received while what was sent drifts in frequency, or jumps at jump_s, beside a line
 * at still_hz of the capture that does not. */
struct scene_move {
  double drift_hz_s, still_hz, still_amplitude;
  double jump_hz, jump_s;
};
struct sc_result scene_moved(const char *changes, unsigned seed, const struct scene_move *moved);
/* With the usual settings, and what scene_silent made. */
struct sc_result scene_play(const struct sc_scenario *scene);

#endif
