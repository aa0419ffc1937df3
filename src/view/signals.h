/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Signals as events of the viewer's loop. */
#ifndef SIDECOMB_VIEW_SIGNALS_H
#define SIDECOMB_VIEW_SIGNALS_H

#include <stdbool.h>

struct view_signals {
  bool resized, suspend, resumed;
  int ending; /* SIGTERM, SIGINT, SIGHUP or SIGQUIT; 0: none */
};

/* Starts catching; returns a descriptor that becomes readable on a signal, -1: it cannot. Call it
 * before curses starts: curses ignores the stop signal while it draws, and loses one that comes
 * then, unless it finds that signal caught when it starts. A stop signal that was ignored stays
 * so: there is no job control to stop for. */
int view_signals_open(void);
/* What has come in since the last call. */
struct view_signals view_signals_take(void);
/* Stops this process as the terminal's stop key would; returns when it goes on, and at once where
 * nobody could let it go on (POSIX: the process group is orphaned). */
void view_signals_stop(void);
/* Gives the signals back; harmless when they are not caught. */
void view_signals_close(void);
/* Blocks these signals in the calling thread, so that the loop's thread gets them; `undo`
 * lets them through again. */
void view_signals_block(bool undo);

#endif
