/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The terminal: shows a grid, gives keys. The only place that knows curses. */
#ifndef SIDECOMB_VIEW_TERMINAL_H
#define SIDECOMB_VIEW_TERMINAL_H

#include <stdbool.h>

#include <sidecomb/error.h>

#include "view/grid.h"
#include "view/key.h"
#include "view/state.h"

struct view_terminal;

/* Takes over the terminal of standard input and output, or the controlling terminal where
 * standard input is something else (a capture). SC_CANNOT_OPEN with a message otherwise, the
 * terminal then untouched. `no_colour`: attributes only. */
enum sc_error view_terminal_open(bool no_colour, struct view_terminal **terminal,
                                 struct sc_message *message);
/* Whether its locale lacks UTF-8. */
bool view_terminal_is_ascii(const struct view_terminal *terminal);
void view_terminal_size(const struct view_terminal *terminal, int *width, int *height);
/* File descriptor that is readable when a key waits. */
int view_terminal_descriptor(const struct view_terminal *terminal);
/* The next key that waits; VIEW_KEY_NONE: none. Of the keys that are the mouse's doing,
 * *pointer says where. */
int view_terminal_key(struct view_terminal *terminal, struct view_pointer *pointer);
/* Takes the mouse, or leaves it to the terminal; cheap when nothing changes. */
void view_terminal_mouse(struct view_terminal *terminal, bool on);
/* Sends what differs from what the terminal shows. */
void view_terminal_show(struct view_terminal *terminal, const struct view_grid *grid);
/* After the window has changed its size: takes up the new one. */
void view_terminal_resize(struct view_terminal *terminal);
/* Sends everything again. */
void view_terminal_redraw(struct view_terminal *terminal);
/* Gives the terminal back for a while, and takes it again. */
void view_terminal_leave(struct view_terminal *terminal);
void view_terminal_return(struct view_terminal *terminal);
/* Restores the terminal. Accepts NULL. */
void view_terminal_close(struct view_terminal *terminal);

#endif
