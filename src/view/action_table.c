/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The table of actions, and where each of them applies. */
#include "view/act.h"
#include "view/action.h"
#include "view/errand.h"
#include "view/wish.h"

static bool can_seek(const struct view_state *state, const struct view_model *model)
{
  (void)state;
  return !model->info->live && model->info->frames > 0;
}

static bool is_on_air(const struct view_state *state, const struct view_model *model)
{
  (void)model;
  return state->view == VIEW_AIR;
}

static bool is_live(const struct view_state *state, const struct view_model *model)
{
  (void)state;
  return model->info->live;
}

static bool is_receiver(const struct view_state *state, const struct view_model *model)
{
  (void)model;
  return state->tunable;
}

static bool has_room(const struct view_state *state, const struct view_model *model)
{
  (void)model;
  return state->two || state->screen_columns >= VIEW_TWO_COLUMNS;
}

static bool has_two(const struct view_state *state, const struct view_model *model)
{
  (void)model;
  return state->two && state->screen_columns >= VIEW_TWO_COLUMNS;
}

static bool has_second(const struct view_state *state, const struct view_model *model)
{
  (void)state;
  return model->against != NULL;
}

static bool is_tuned(const struct view_state *state, const struct view_model *model)
{
  return state->view == VIEW_AIR && model->info->centre_hz > 0;
}

/* The table holds positions on the composite; on air they stand on both sides of the carrier. */
static bool has_table(const struct view_state *state, const struct view_model *model)
{
  (void)model;
  return state->view != VIEW_AUDIO;
}

static bool has_views(const struct view_state *state, const struct view_model *model)
{
  (void)state;
  return model->info->kind == SC_KIND_IQ;
}

static bool has_data(const struct view_state *state, const struct view_model *model)
{
  (void)state;
  return model->info->kind != SC_KIND_AUDIO;
}

static bool marker_is_on(const struct view_state *state, const struct view_model *model)
{
  (void)model;
  const struct view_pane *pane = view_state_shown(state);
  return pane->markers[pane->active].on;
}

static bool mouse_is_on(const struct view_state *state, const struct view_model *model)
{
  (void)model;
  return state->mouse;
}

static bool has_rows(const struct view_state *state, const struct view_model *model)
{
  return view_model_lines(model, state->view)->count > 0;
}

#define VIEWS VIEW_GROUP_VIEWS
#define MARKERS VIEW_GROUP_MARKERS
#define SPAN VIEW_GROUP_SPAN
#define LEVEL VIEW_GROUP_LEVEL
#define SPECTRUM VIEW_GROUP_SPECTRUM
#define TIME VIEW_GROUP_TIME
#define FILES VIEW_GROUP_FILES
#define PROGRAM VIEW_GROUP_PROGRAM
#define NO_QUESTION VIEW_ASK_NOTHING, NULL

/* clang-format off */
/* name, group, keys, range, help, ask, question, applies, run, argument, run_text */
static const struct view_action actions[] = {
  {"view", VIEWS, {'1'}, VIEW_AUDIO, "show on air, composite",
   NO_QUESTION, has_views, view_act_view, 0, NULL},
  {"next-view", VIEWS, {'v'}, 1, "show the next view",
   NO_QUESTION, has_views, view_act_next_view, 0, NULL},
  {"stereo", VIEWS, {'4'}, 1, "show levels, separation and phase of stereo",
   NO_QUESTION, NULL, view_act_sheet, VIEW_SHEET_STEREO, NULL},
  {"deviation", VIEWS, {'5'}, 1, "show deviation over time, and how it is distributed",
   NO_QUESTION, has_data, view_act_sheet, VIEW_SHEET_DEVIATION, NULL},
  {"over-time", VIEWS, {'6'}, 1, "show the spectrum against time, as shades",
   NO_QUESTION, NULL, view_act_sheet, VIEW_SHEET_COURSE, NULL},
  {"data", VIEWS, {'7', 'R'}, 1, "show what RDS says, or the spectrum again",
   NO_QUESTION, has_data, view_act_sheet, VIEW_SHEET_DATA, NULL},
  {"two", VIEWS, {'V'}, 1, "show a second view beside, or one again",
   NO_QUESTION, has_room, view_act_two, 0, NULL},
  {"other-side", VIEWS, {'U'}, 1, "let the keys act on the other of two views",
   NO_QUESTION, has_two, view_act_other_side, 0, NULL},
  {"expected", VIEWS, {'8'}, 1, "beside the trace what the composite makes, and the difference",
   NO_QUESTION, is_on_air, view_act_expected, 0, NULL},
  {"against", VIEWS, {'O'}, 1, "the other capture's trace, and this one over it in dB",
   NO_QUESTION, has_second, view_act_against, 0, NULL},
  {"tuned", VIEWS, {'z'}, 1, "frequencies as tuned, or as offsets from the carrier",
   NO_QUESTION, is_tuned, view_act_absolute, 0, NULL},
  {"rows", VIEWS, {'i'}, 1, "sort the account's rows another way",
   NO_QUESTION, has_rows, view_act_order, 0, NULL},
  {"values", VIEWS, {'e'}, 1, "the answers in short, and every measured value",
   NO_QUESTION, NULL, view_act_cover, VIEW_COVER_VALUES, NULL},

  {"marker", MARKERS, {'A'}, VIEW_MARKERS, "set a marker, or take the one that is set",
   NO_QUESTION, NULL, view_act_marker, 0, NULL},
  {"next-marker", MARKERS, {VIEW_KEY_TAB}, 1, "take the next marker",
   NO_QUESTION, NULL, view_act_cycle, 1, NULL},
  {"left", MARKERS, {VIEW_KEY_LEFT}, 1, "move the marker one step down",
   NO_QUESTION, NULL, view_act_columns, -1, NULL},
  {"right", MARKERS, {VIEW_KEY_RIGHT}, 1, "move the marker one step up",
   NO_QUESTION, NULL, view_act_columns, 1, NULL},
  {"far-left", MARKERS, {VIEW_KEY_SHIFT_LEFT, '{'}, 1, "move the marker twenty steps down",
   NO_QUESTION, NULL, view_act_columns, -20, NULL},
  {"far-right", MARKERS, {VIEW_KEY_SHIFT_RIGHT, '}'}, 1, "move the marker twenty steps up",
   NO_QUESTION, NULL, view_act_columns, 20, NULL},
  {"next-peak", MARKERS, {'n'}, 1, "to the next peak above",
   NO_QUESTION, NULL, view_act_peak, 1, NULL},
  {"previous-peak", MARKERS, {'p'}, 1, "to the next peak below",
   NO_QUESTION, NULL, view_act_peak, -1, NULL},
  {"highest", MARKERS, {'h'}, 1, "to the highest peak shown",
   NO_QUESTION, NULL, view_act_highest, 0, NULL},
  {"next-standard", MARKERS, {'t'}, 1, "to the next standard position above",
   NO_QUESTION, has_table, view_act_table, 1, NULL},
  {"previous-standard", MARKERS, {'T'}, 1, "to the next standard position below",
   NO_QUESTION, has_table, view_act_table, -1, NULL},
  {"mirror", MARKERS, {'m'}, 1, "to the mirrored place",
   NO_QUESTION, has_table, view_act_mirror, 0, NULL},
  {"row-up", MARKERS, {VIEW_KEY_UP}, 1, "to the line in the row above",
   NO_QUESTION, has_rows, view_act_row, -1, NULL},
  {"row-down", MARKERS, {VIEW_KEY_DOWN}, 1, "to the line in the row below",
   NO_QUESTION, has_rows, view_act_row, 1, NULL},
  {"open", MARKERS, {'o'}, 1, "to the next line that is not explained",
   NO_QUESTION, has_rows, view_act_open, 0, NULL},
  {"go", MARKERS, {'g'}, 1, "to a frequency",
   VIEW_ASK_PLACE, "Marker to (as in 19k or pilot): ", NULL, view_act_go, 0, NULL},
  {"point", MARKERS, {VIEW_KEY_CLICK}, 1, "to where the pointer is",
   NO_QUESTION, mouse_is_on, view_act_point, 0, NULL},
  {"name", MARKERS, {'N'}, 1, "name the marker",
   VIEW_ASK_TEXT, "Name of the marker: ", marker_is_on, NULL, 0, view_act_name},
  {"reference", MARKERS, {'d'}, 1, "read differences against this marker, or stop it",
   NO_QUESTION, marker_is_on, view_act_reference, 0, NULL},
  {"keep-line", MARKERS, {'K'}, 1, "keep the marker to its line (A=), or let it go",
   NO_QUESTION, marker_is_on, view_act_hold_line, 0, NULL},
  {"remove", MARKERS, {'x', VIEW_KEY_DELETE}, 1, "remove the marker",
   NO_QUESTION, marker_is_on, view_act_remove, 0, NULL},

  {"zoom-in", SPAN, {'+', '='}, 1, "narrower span about the marker",
   NO_QUESTION, NULL, view_act_zoom, 1, NULL},
  {"zoom-out", SPAN, {'-'}, 1, "wider span",
   NO_QUESTION, NULL, view_act_zoom, -1, NULL},
  {"shift-down", SPAN, {'('}, 1, "shift the span down",
   NO_QUESTION, NULL, view_act_shift, -0.25, NULL},
  {"shift-up", SPAN, {')'}, 1, "shift the span up",
   NO_QUESTION, NULL, view_act_shift, 0.25, NULL},
  {"wheel-in", SPAN, {VIEW_KEY_WHEEL_UP}, 1, "narrower span about the pointer",
   NO_QUESTION, mouse_is_on, view_act_wheel, 1, NULL},
  {"wheel-out", SPAN, {VIEW_KEY_WHEEL_DOWN}, 1, "wider span about the pointer",
   NO_QUESTION, mouse_is_on, view_act_wheel, -1, NULL},
  {"drag", SPAN, {VIEW_KEY_DRAG}, 1, "shift the span along with the pointer",
   NO_QUESTION, mouse_is_on, view_act_drag, 0, NULL},
  {"to-centre", SPAN, {'c'}, 1, "centre on the marker",
   NO_QUESTION, NULL, view_act_to_centre, 0, NULL},
  {"centre", SPAN, {'f'}, 1, "type the centre",
   VIEW_ASK_PLACE, "Centre (as in 19k or rds): ", NULL, view_act_centre, 0, NULL},
  {"span", SPAN, {'s'}, 1, "type the span",
   VIEW_ASK_FREQUENCY, "Span (as in 2k): ", NULL, view_act_span, 0, NULL},
  {"fit", SPAN, {VIEW_KEY_HOME, '0'}, 1, "the span that fits the signal",
   NO_QUESTION, NULL, view_act_fit, 0, NULL},
  {"whole", SPAN, {VIEW_KEY_END, '9'}, 1, "all that the capture holds",
   NO_QUESTION, NULL, view_act_whole, 0, NULL},
  {"back", SPAN, {'['}, 1, "back to the span before",
   NO_QUESTION, NULL, view_act_history, -1, NULL},
  {"forward", SPAN, {']'}, 1, "forward again",
   NO_QUESTION, NULL, view_act_history, 1, NULL},

  {"raise", LEVEL, {VIEW_KEY_PAGE_UP}, 1, "raise the level at the top by a division",
   NO_QUESTION, NULL, view_act_top, 1, NULL},
  {"lower", LEVEL, {VIEW_KEY_PAGE_DOWN}, 1, "lower the level at the top by a division",
   NO_QUESTION, NULL, view_act_top, -1, NULL},
  {"top", LEVEL, {'r'}, 1, "type the level at the top",
   VIEW_ASK_LEVEL, "Level at the top, in dB: ", NULL, view_act_reference_level, 0, NULL},
  {"finer", LEVEL, {'y'}, 1, "fewer decibels in a division",
   NO_QUESTION, NULL, view_act_division, 1, NULL},
  {"coarser", LEVEL, {'Y'}, 1, "more decibels in a division",
   NO_QUESTION, NULL, view_act_division, -1, NULL},
  {"follow", LEVEL, {'a'}, 1, "let the levels follow the trace again",
   NO_QUESTION, NULL, view_act_follow, 0, NULL},

  {"resolution", SPECTRUM, {'b'}, 1, "type the resolution bandwidth",
   VIEW_ASK_FREQUENCY, "Resolution bandwidth (0 follows the span): ", NULL, view_act_rbw, 0, NULL},
  {"next-window", SPECTRUM, {'w'}, 1, "the next window function",
   NO_QUESTION, NULL, view_act_window, 1, NULL},
  {"previous-window", SPECTRUM, {'W'}, 1, "the window function before",
   NO_QUESTION, NULL, view_act_window, -1, NULL},
  {"hold", SPECTRUM, {'k'}, 1, "keep the highest, both extremes, or neither",
   NO_QUESTION, NULL, view_act_hold, 0, NULL},
  {"strokes", SPECTRUM, {'u'}, 1, "draw a line of dots, filled bars, or plain characters",
   NO_QUESTION, NULL, view_act_glyphs, 0, NULL},
  {"longer", SPECTRUM, {'l'}, 1, "average over a longer passage",
   NO_QUESTION, NULL, view_act_length, 1, NULL},
  {"shorter", SPECTRUM, {'L'}, 1, "average over a shorter passage",
   NO_QUESTION, NULL, view_act_length, -1, NULL},

  {"play", TIME, {VIEW_KEY_SPACE}, 1, "play, or pause",
   NO_QUESTION, NULL, view_act_play, 0, NULL},
  {"later", TIME, {'.'}, 1, "step to the passage after this one",
   NO_QUESTION, can_seek, view_act_step, 1, NULL},
  {"earlier", TIME, {','}, 1, "step to the passage before this one",
   NO_QUESTION, can_seek, view_act_step, -1, NULL},
  {"jump", TIME, {'j'}, 1, "jump to a time",
   VIEW_ASK_TIME, "Jump to (as in 2.5 or 1:30): ", can_seek, view_act_jump, 0, NULL},
  {"section", TIME, {'P'}, 1, "play a section again: begin it, end it, give it up",
   NO_QUESTION, can_seek, view_act_loop, 0, NULL},
  {"faster", TIME, {'>'}, 1, "play faster",
   NO_QUESTION, can_seek, view_act_speed, 1, NULL},
  {"slower", TIME, {'<'}, 1, "play slower",
   NO_QUESTION, can_seek, view_act_speed, -1, NULL},
  {"all", TIME, {'*'}, 1, "average over all of the capture",
   NO_QUESTION, can_seek, view_act_all, 0, NULL},
  {"anew", TIME, {';'}, 1, "measure anew, without what came before",
   NO_QUESTION, is_live, view_wish_anew, 0, NULL},
  {"survey", TIME, {'X'}, 1, "stop what takes long (the survey), or let it go on",
   NO_QUESTION, NULL, view_act_hold_work, 0, NULL},

  {"save", FILES, {'S'}, 1, "save plot, trace or report: the ending says which",
   VIEW_ASK_FILE, "Save as: ", NULL, NULL, 0, view_errand_set},
  {"record", FILES, {'!'}, 1, "record what comes in and the seconds before, or end that",
   NO_QUESTION, is_live, view_wish_keep, 0, NULL},
  {"save-settings", FILES, {'Z'}, 1, "save the settings that the next start begins with",
   NO_QUESTION, NULL, view_errand_settings, 0, NULL},

  {"tune", FILES, {'@'}, 1, "tune the receiver",
   VIEW_ASK_FREQUENCY, "Tune to: ", is_receiver, view_wish_tune, 0, NULL},
  {"gain", FILES, {'#'}, 1, "set a gain of the receiver",
   VIEW_ASK_TEXT, "Gain in dB, or NAME=dB: ", is_receiver, NULL, 0, view_wish_gain},
  {"antenna", FILES, {'&'}, 1, "choose the receiver's antenna",
   VIEW_ASK_TEXT, "Antenna: ", is_receiver, NULL, 0, view_wish_antenna},
  {"bandwidth", FILES, {'^'}, 1, "set the bandwidth of the receiver's filter",
   VIEW_ASK_FREQUENCY, "Bandwidth: ", is_receiver, view_wish_bandwidth, 0, NULL},
  {"correction", FILES, {'%'}, 1, "have the receiver correct its own oscillator",
   VIEW_ASK_TEXT, "Parts per million: ", is_receiver, NULL, 0, view_wish_correction},

  {"help", PROGRAM, {'?'}, 1, "show the keys that work here",
   NO_QUESTION, NULL, view_act_cover, VIEW_COVER_HELP, NULL},
  {"command", PROGRAM, {':'}, 1, "type a command: any action by its name",
   NO_QUESTION, NULL, view_act_command, 0, NULL},
  {"mouse", PROGRAM, {'M'}, 1, "let the mouse act here, or leave it to the terminal",
   NO_QUESTION, NULL, view_act_mouse, 0, NULL},
  {"quit", PROGRAM, {'q'}, 1, "leave",
   NO_QUESTION, NULL, view_act_quit, 0, NULL},
};
/* clang-format on */

size_t view_actions(const struct view_action **table)
{
  *table = actions;
  return sizeof actions / sizeof *actions;
}
