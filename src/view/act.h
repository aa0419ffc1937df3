/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The functions behind the actions, by subject. `number` is said in action.c's table. */
#ifndef SIDECOMB_VIEW_ACT_H
#define SIDECOMB_VIEW_ACT_H

#include "view/state.h"

#define VIEW_ACT(name)                                                                             \
  void name(struct view_state *state, const struct view_model *model, double number)

/* act_marker.c */
VIEW_ACT(view_act_marker);  /* number: which */
VIEW_ACT(view_act_cycle);   /* number: 1 or -1 */
VIEW_ACT(view_act_columns); /* number: dots to move by */
VIEW_ACT(view_act_peak);    /* number: direction */
VIEW_ACT(view_act_highest);
VIEW_ACT(view_act_table); /* number: direction */
VIEW_ACT(view_act_mirror);
VIEW_ACT(view_act_row); /* number: direction */
VIEW_ACT(view_act_open);
VIEW_ACT(view_act_go); /* number: typed frequency */
VIEW_ACT(view_act_reference);
VIEW_ACT(view_act_remove);
VIEW_ACT(view_act_hold_line);

/* Names the active marker; empty text takes the name away. */
void view_act_name(struct view_state *state, const char *text);

/* act_pointer.c: where state->pointer is */
VIEW_ACT(view_act_mouse);
VIEW_ACT(view_act_point);
VIEW_ACT(view_act_wheel); /* number: 1 in, -1 out */
VIEW_ACT(view_act_drag);

/* act_span.c */
VIEW_ACT(view_act_view); /* number: which */
VIEW_ACT(view_act_next_view);
VIEW_ACT(view_act_sheet); /* number: which */
VIEW_ACT(view_act_two);
VIEW_ACT(view_act_other_side);
VIEW_ACT(view_act_zoom);  /* number: 1 in, -1 out */
VIEW_ACT(view_act_shift); /* number: share of the span */
VIEW_ACT(view_act_to_centre);
VIEW_ACT(view_act_centre); /* number: typed frequency */
VIEW_ACT(view_act_span);   /* number: typed frequency */
VIEW_ACT(view_act_fit);
VIEW_ACT(view_act_whole);
VIEW_ACT(view_act_history); /* number: -1 back, 1 forward */
VIEW_ACT(view_act_absolute);

/* Narrows (direction 1) or widens the span so that `hz` stays where it is on the screen. */
void view_act_zoom_about(struct view_state *state, const struct view_model *model, double hz,
                         int direction);

/* act_level.c */
VIEW_ACT(view_act_top);             /* number: divisions */
VIEW_ACT(view_act_reference_level); /* number: typed level */
VIEW_ACT(view_act_division);        /* number: 1 finer, -1 coarser */
VIEW_ACT(view_act_follow);
VIEW_ACT(view_act_rbw);    /* number: typed frequency, 0 follows the span */
VIEW_ACT(view_act_window); /* number: 1 or -1 */
VIEW_ACT(view_act_hold);
VIEW_ACT(view_act_glyphs);
VIEW_ACT(view_act_order);
VIEW_ACT(view_act_expected);
VIEW_ACT(view_act_against);

/* act_time.c */
VIEW_ACT(view_act_play);
VIEW_ACT(view_act_step);   /* number: passages to move by */
VIEW_ACT(view_act_jump);   /* number: typed time within the file */
VIEW_ACT(view_act_length); /* number: 1 longer, -1 shorter */
VIEW_ACT(view_act_speed);  /* number: 1 faster, -1 slower */
VIEW_ACT(view_act_loop);
VIEW_ACT(view_act_all);
VIEW_ACT(view_act_hold_work);
VIEW_ACT(view_act_cover);
VIEW_ACT(view_act_command);
VIEW_ACT(view_act_quit);

#endif
