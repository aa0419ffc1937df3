/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "view/action.h"
#include "view/format.h"
#include "view/wish.h"

void view_wish_keep(struct view_state *state, const struct view_model *model, double number)
{
  (void)model;
  (void)number;
  state->wish.keep = true;
}

void view_wish_anew(struct view_state *state, const struct view_model *model, double number)
{
  (void)number;
  state->wish.anew = !model->ended;
  if (model->ended)
    view_state_say(state, "Nothing more comes in: what was measured stays.");
  else
    view_state_say(state, "Measuring begins anew with what comes in now.");
}

static void want(struct view_state *state, const struct sc_tuning *tuning)
{
  state->wish.tune = true;
  state->wish.tuning = *tuning;
}

void view_wish_tune(struct view_state *state, const struct view_model *model, double number)
{
  (void)model;
  if (number > 0)
    want(state, &(struct sc_tuning){.tune_hz = number});
  else
    view_state_say(state, "A receiver is tuned to a frequency above 0.");
}

void view_wish_gain(struct view_state *state, const char *text)
{
  struct sc_tuning tuning = {.gain_count = 1};
  struct sc_gain *gain = &tuning.gains[0];
  const char *sign = strchr(text, '='), *number = sign == NULL ? text : sign + 1;
  size_t length = sign == NULL ? 0 : (size_t)(sign - text);
  if (!view_parse_level(number, &gain->db) || length >= sizeof gain->name) {
    view_state_say(state, "A gain in dB is written like 20, or LNA=20 for one stage.");
    return;
  }
  memcpy(gain->name, text, length);
  want(state, &tuning);
}

void view_wish_antenna(struct view_state *state, const char *text)
{
  struct sc_tuning tuning = {.tune_hz = 0};
  if (text[0] == 0 || strlen(text) >= sizeof tuning.antenna) {
    view_state_say(state, "No antenna has such a name.");
    return;
  }
  strcpy(tuning.antenna, text);
  want(state, &tuning);
}

void view_wish_bandwidth(struct view_state *state, const struct view_model *model, double number)
{
  (void)model;
  if (number > 0)
    want(state, &(struct sc_tuning){.bandwidth_hz = number});
  else
    view_state_say(state, "A bandwidth is above 0 Hz.");
}

void view_wish_correction(struct view_state *state, const char *text)
{
  struct sc_tuning tuning = {.ppm_given = true};
  if (view_parse_level(text, &tuning.ppm))
    want(state, &tuning);
  else
    view_state_say(state, "A correction is written in parts per million, like -1.5.");
}

/* ---- what the receiver says */

void view_wish_learn(struct view_state *state, const struct sc_source *source)
{
  struct sc_tuning *tuned = &state->tuned;
  struct sc_device_names *gains = &state->gains;
  sc_source_tuned(source, tuned);
  sc_source_antennas(source, &state->antennas);
  gains->count = 0;
  for (size_t i = 0; i < tuned->gain_count && gains->count < SC_DEVICE_NAMES_MAX; i++) {
    char *name = gains->name[gains->count];
    const size_t length = strlen(tuned->gains[i].name);
    if (length == 0 || length + 2 > sizeof gains->name[0])
      continue;
    memcpy(name, tuned->gains[i].name, length);
    memcpy(name + length, "=", 2);
    gains->count++;
  }
}

const char *view_wish_word(const struct view_state *state, const struct view_action *action,
                           size_t n)
{
  const struct sc_device_names *names = action->run_text == view_wish_antenna ? &state->antennas
                                        : action->run_text == view_wish_gain  ? &state->gains
                                                                              : NULL;
  return names != NULL && n < names->count ? names->name[n] : NULL;
}

static const struct sc_gain *stage(const struct sc_tuning *tuned, const char *name)
{
  for (size_t i = 0; i < tuned->gain_count; i++)
    if (strcmp(tuned->gains[i].name, name) == 0)
      return &tuned->gains[i];
  return NULL;
}

static void append_gain(char *text, size_t length, const struct sc_gain *gain)
{
  const bool named = gain->name[0] != 0;
  view_append(text, length, "%s%s%.4g", gain->name, named ? "=" : "", gain->db);
}

/* Of one stage, where it is the only one; else of all together. */
static void append_gains(char *text, size_t length, const struct sc_tuning *tuned)
{
  const size_t at = tuned->gain_count == 2 ? 1 : 0;
  if (at < tuned->gain_count && isfinite(tuned->gains[at].db))
    append_gain(text, length, &tuned->gains[at]);
}

static void append_hz(char *text, size_t length, double hz)
{
  const bool mega = hz >= 1e6;
  if (hz > 0)
    view_append(text, length, "%.10g%s", hz * (mega ? 1e-6 : 1e-3), mega ? "M" : "k");
}

void view_wish_present(const struct view_state *state, const struct view_action *action, char *text,
                       size_t length)
{
  const struct sc_tuning *tuned = &state->tuned;
  text[0] = 0;
  if (action->run == view_wish_tune)
    append_hz(text, length, tuned->tune_hz);
  else if (action->run == view_wish_bandwidth)
    append_hz(text, length, tuned->bandwidth_hz);
  else if (action->run_text == view_wish_gain)
    append_gains(text, length, tuned);
  else if (action->run_text == view_wish_antenna)
    view_append(text, length, "%s", tuned->antenna);
  else if (action->run_text == view_wish_correction && tuned->ppm_given)
    view_append(text, length, "%.6g", tuned->ppm);
}

void view_wish_granted(const struct view_state *state, char *text, size_t length)
{
  const struct sc_tuning *wanted = &state->wish.tuning, *tuned = &state->tuned;
  text[0] = 0;
  const struct sc_gain *gain = wanted->gain_count > 0 ? stage(tuned, wanted->gains[0].name) : NULL;
  if (gain != NULL) {
    view_append(text, length, ": gain ");
    append_gain(text, length, gain);
    view_append(text, length, " dB");
  }
  if (wanted->antenna[0] != 0)
    view_append(text, length, ": antenna %s", tuned->antenna);
  if (wanted->bandwidth_hz > 0 && tuned->bandwidth_hz > 0)
    view_append(text, length, ": bandwidth %.10g kHz", tuned->bandwidth_hz * 1e-3);
  if (wanted->ppm_given && tuned->ppm_given)
    view_append(text, length, ": correction %.6g ppm", tuned->ppm);
}
