/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "view/format.h"
#include "view/wish.h"

void view_wish_keep(struct view_state *state, const struct view_model *model, double number)
{
  (void)model;
  (void)number;
  state->wish.keep = true;
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
