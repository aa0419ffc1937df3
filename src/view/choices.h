/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a user wants every time: read from a file when the viewer starts, and written there.
 *
 * The file is $XDG_CONFIG_HOME/sidecomb/viewer.cfg, or .config/sidecomb/viewer.cfg in the home
 * folder (XDG Base Directory Specification 0.8), in the language of libconfig: `hold = "both";`.
 * What it does not set stays as it is without it. */
#ifndef SIDECOMB_VIEW_CHOICES_H
#define SIDECOMB_VIEW_CHOICES_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/error.h>

struct view_state;
struct view_model;

enum { VIEW_NOT_CHOSEN = -1 };
/* Words and yes or no are VIEW_NOT_CHOSEN where nothing is chosen, numbers are 0. */
struct view_choices {
  int view;    /* enum view_id */
  int strokes; /* enum view_glyphs */
  int window;  /* enum sc_window */
  double window_parameter;
  int hold; /* enum view_hold */
  int rows; /* enum view_order, of every view */
  double average_s;
  int tuned, expected, mouse; /* 1: yes */
  int colour, plain;
};
void view_choices_none(struct view_choices *choices);

/* Path of the file; empty where the environment names no place for it. */
void view_choices_path(char *path, size_t size);
/* A file that is not there chooses nothing. On failure the message says which line is wrong; the
 * rest of the file still counts, unless it cannot be parsed at all. */
enum sc_error view_choices_read(const char *path, struct view_choices *choices,
                                struct sc_message *message);
/* The same from a text; `name` stands in the message. */
enum sc_error view_choices_parse(const char *text, const char *name, struct view_choices *choices,
                                 struct sc_message *message);
/* The file's text, every setting with its meaning; free() it. NULL: memory. */
char *view_choices_text(const struct view_choices *choices);

/* Onto a state that was just started; a view that the capture has not is left out. */
void view_choices_apply(const struct view_choices *choices, struct view_state *state,
                        const struct view_model *model);
/* What the state has now, over what was read. */
struct view_choices view_choices_of(const struct view_state *state);

#endif
