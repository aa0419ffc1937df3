/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Signals as events of the viewer's loop. */
#ifndef SIDECOMB_VIEW_SIGNALS_H
#define SIDECOMB_VIEW_SIGNALS_H

#include <stdbool.h>

struct view_signals {
  bool resized, suspend, resumed;
  int ending; /* SIGTERM, SIGINT, SIGHUP or SIGQUIT; 0: none */
};

/* Starts catching; returns a descriptor that becomes readable on a signal, -1: it cannot. */
int view_signals_open(void);
/* What has come in since the last call. */
struct view_signals view_signals_take(void);
/* Stops this process as the terminal's stop key would; returns when it goes on. */
void view_signals_stop(void);
/* Gives the signals back. */
void view_signals_close(void);
/* Blocks these signals in the calling thread, so that the loop's thread gets them; `undo`
 * lets them through again. */
void view_signals_block(bool undo);

#endif
