/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the user has chosen: views, spans, markers, levels, the passage that is looked at.
 *
 * Plain data and pure functions. Actions (action.h) lead from one state to the next; drawing
 * and the engine only read it. */
#ifndef SIDECOMB_VIEW_STATE_H
#define SIDECOMB_VIEW_STATE_H

#include <stdbool.h>
#include <stddef.h>

#include "view/choices.h"
#include "view/find.h"
#include "view/model.h"

enum {
  VIEW_MARKERS = 10,
  VIEW_SPANS = 32,
  VIEW_DIVISIONS = 10,
  VIEW_LEAST_SPAN_HZ = 1,
  VIEW_KAISER_BETA = 12, /* side lobes near -90 dB */
  VIEW_MESSAGE_LENGTH = 160,
  VIEW_NAME_LENGTH = 16,
  VIEW_TWO_COLUMNS = 160
};

/* How traces are drawn. */
enum view_glyphs { VIEW_GLYPHS_DOTS, VIEW_GLYPHS_BARS, VIEW_GLYPHS_PLAIN, VIEW_GLYPHS_COUNT };
/* Which extremes are drawn beside the mean. */
enum view_hold { VIEW_HOLD_NONE, VIEW_HOLD_HIGHEST, VIEW_HOLD_BOTH, VIEW_HOLD_COUNT };
/* How the account's rows are sorted. */
enum view_order { VIEW_ORDER_OPEN, VIEW_ORDER_FREQUENCY, VIEW_ORDER_LEVEL, VIEW_ORDER_COUNT };

/* A part of the frequency axis. span_hz 0: the one that fits the view. */
struct view_span {
  double centre_hz, span_hz;
};

struct view_marker {
  bool on;
  bool locked;                 /* stays on the measured line that it stands on */
  double reach_hz;             /* how far from it that line may be: half a dot of the plot that it
                                  was set in by eye; what was typed has none */
  double hz;                   /* in the capture's own frequencies */
  char name[VIEW_NAME_LENGTH]; /* given by the user; empty: its letter only */
};

/* All that belongs to one view. */
struct view_pane {
  struct view_span spans[VIEW_SPANS];
  size_t span_count, span_at; /* spans[span_at] is shown; those after it lie "forward" */
  bool level_set;             /* by the user; else it follows the trace */
  bool level_found;           /* a trace had one; else what follows stands for silence */
  double top, per_division;   /* level at the plot's upper edge, dB per division */
  double rbw_hz;              /* 0: follows the span */
  struct view_marker markers[VIEW_MARKERS];
  int active, reference; /* reference -1: none */
  enum view_order order;
};

enum { VIEW_PROMPT_LENGTH = 256, VIEW_HISTORY = 32, VIEW_SUGGESTIONS = 6 };
struct view_action;
/* The line in which something is typed: the argument of an action, or a whole command. */
struct view_prompt {
  const struct view_action *action; /* whose argument; NULL: none */
  bool command;
  char text[VIEW_PROMPT_LENGTH];
  bool offered;                     /* the text is a suggestion: what is typed takes its place */
  bool confirm;                     /* the text is a question, and the next key its answer */
  char files[VIEW_SUGGESTIONS][64]; /* names that a file may have */
  size_t back; /* history: so many commands before the newest are shown; 0: a new one */
};
struct view_history {
  char lines[VIEW_HISTORY][VIEW_PROMPT_LENGTH]; /* the newest at count - 1, round */
  size_t count;
};

/* What is wanted of a live source; see wish.h. */
struct view_wish {
  bool keep, tune, anew;
  struct sc_tuning tuning;
};

/* A file that waits to be written; the name's ending says what it holds. */
struct view_errand {
  bool pending, replace;
  bool settings; /* the viewer's own, where they are read from */
  char path[VIEW_PROMPT_LENGTH];
};

/* The pointer's last doing, in cells of the screen. */
struct view_pointer {
  int x, y;
  int moved;    /* drawn: columns since the last event */
  bool goes_on; /* drawn: the button was not let go since the last event */
};

/* What stands in the place of the spectrum and its account. */
enum view_sheet {
  VIEW_SHEET_NONE,
  VIEW_SHEET_STEREO,
  VIEW_SHEET_DEVIATION,
  VIEW_SHEET_COURSE,
  VIEW_SHEET_DATA,
  VIEW_SHEET_COUNT
};

/* How much of a section to be played again and again is set. */
enum view_loop { VIEW_LOOP_NONE, VIEW_LOOP_FROM, VIEW_LOOP_ON };

/* A page over the whole screen. */
enum view_cover { VIEW_COVER_NONE, VIEW_COVER_HELP, VIEW_COVER_VALUES };

/* The view that the keys do not act on, where there are two. */
struct view_other {
  enum view_id view;
  enum view_sheet sheet;
  int sheet_first;
};

struct view_state {
  enum view_id view;
  struct view_pane panes[VIEW_COUNT];
  enum sc_window window;
  double window_parameter;
  enum view_hold hold;
  enum view_glyphs glyphs;
  bool absolute;     /* frequencies as tuned, not offsets from the carrier */
  double position_s; /* start of the passage, within the selected part */
  double length_s;   /* how much is averaged */
  bool playing;
  enum view_loop loop;
  double loop_from_s, loop_to_s; /* the section that is played again and again */
  bool held;                     /* what takes long (the survey, a long average) stands still */
  double speed;
  int plot_columns;              /* of the last layout: what one key step is worth */
  int plot_x, plot_y, plot_rows; /* where on the screen that is */
  bool mouse;                    /* the pointer acts here, not for the terminal */
  struct view_pointer pointer;
  bool expected;         /* on air: beside the trace what the composite makes */
  bool against;          /* a second capture's trace, and the difference */
  enum view_sheet sheet; /* in the spectrum's place */
  int sheet_first;       /* its first row that is shown */
  bool two;              /* a second view beside, where the screen has VIEW_TWO_COLUMNS */
  int side;              /* 0: the keys act on the left one, 1: on the right one */
  int screen_columns, screen_rows;
  bool ascii;              /* the screen shows no UTF-8 */
  struct view_other other; /* the view on the other side */
  enum view_cover cover;
  int page_first; /* line of the page that covers the screen */
  struct view_prompt prompt;
  struct view_history history;
  struct view_errand errand;
  struct view_wish wish;
  bool tunable;                           /* the source is a receiver ... */
  struct sc_tuning tuned;                 /* ... which says that it is set to this */
  struct sc_device_names antennas, gains; /* and has these; gains as they are typed: "LNA=" */
  struct view_choices choices;            /* as they were read */
  char message[VIEW_MESSAGE_LENGTH];
  bool quit;
};

/* A state to start with. `ascii`: plain characters. */
void view_state_start(struct view_state *state, const struct view_model *model, bool ascii);
/* Takes in new measurements: locked markers follow their lines, the level its trace. */
void view_state_follow(struct view_state *state, const struct view_model *model);

/* Lets what acts on the view act on the other one. */
void view_state_swap(struct view_state *state);

/* Lets the level follow the trace from now on. */
void view_state_find_level(struct view_state *state, const struct view_model *model);

static inline struct view_pane *view_state_pane(struct view_state *state)
{
  return &state->panes[state->view];
}
static inline const struct view_pane *view_state_shown(const struct view_state *state)
{
  return &state->panes[state->view];
}

/* The part of the axis that is shown, never empty and within the view's limits. */
struct view_range view_state_range(const struct view_state *state, const struct view_model *model);
/* Shows another part and remembers the one before. */
void view_state_set_span(struct view_state *state, const struct view_model *model, double centre_hz,
                         double span_hz);
/* Changes the span that is shown, and does not remember what it was. */
void view_state_change_span(struct view_state *state, const struct view_model *model,
                            double centre_hz, double span_hz);
/* Resolution bandwidth wanted for the shown span. */
double view_state_rbw(const struct view_state *state, const struct view_model *model);
/* Index of the measured line that marker `m` stands on; -1: none, or the marker is off. That is
 * the nearest within the lines' own resolution; or, of a marker that was set by eye, the strongest
 * within the dot of the plot of then, which is what was seen there. */
ptrdiff_t view_state_line(const struct view_state *state, const struct view_model *model, int m);
/* Puts the active marker to `hz`, onto the line there if there is one, and into the picture: by
 * eye, or as it was typed. */
void view_state_move(struct view_state *state, const struct view_model *model, double hz);
void view_state_place(struct view_state *state, const struct view_model *model, double hz);
/* Moves the shown part so that `hz` is in it, keeping its width. */
void view_state_show(struct view_state *state, const struct view_model *model, double hz);
/* A frequency as it was typed, in the capture's own: an offset from the carrier, or on air the
 * tuned frequency when the axis shows that or the number is too large for an offset. */
double view_state_typed(const struct view_state *state, const struct view_model *model, double hz);
/* One line for the user; a later one replaces it. */
void view_state_say(struct view_state *state, const char *format, ...) SC_PRINTF(2, 3);
/* Plays on by so many seconds of the clock: to the end, or round the section. */
void view_state_advance(struct view_state *state, const struct view_model *model, double seconds);
/* Longest passage in seconds that can be shown from the start; live: one minute. */
double view_state_longest(const struct view_model *model);

#endif
