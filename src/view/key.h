/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Keys: a character's code point, or one of these. */
#ifndef SIDECOMB_VIEW_KEY_H
#define SIDECOMB_VIEW_KEY_H

#include "view/format.h"

enum view_key {
  VIEW_KEY_NONE,
  VIEW_KEY_TAB = 9,
  VIEW_KEY_ENTER = 10,
  VIEW_KEY_REDRAW = 12, /* Ctrl-L */
  VIEW_KEY_ESCAPE = 27,
  VIEW_KEY_SPACE = 32,
  VIEW_KEY_BACKSPACE = 127,
  VIEW_KEY_LEFT = 0x110000, /* beyond Unicode */
  VIEW_KEY_RIGHT,
  VIEW_KEY_UP,
  VIEW_KEY_DOWN,
  VIEW_KEY_SHIFT_LEFT,
  VIEW_KEY_SHIFT_RIGHT,
  VIEW_KEY_PAGE_UP,
  VIEW_KEY_PAGE_DOWN,
  VIEW_KEY_HOME,
  VIEW_KEY_END,
  VIEW_KEY_DELETE,
  VIEW_KEY_BACKTAB,
  VIEW_KEY_CLICK, /* with state->pointer */
  VIEW_KEY_DRAG,
  VIEW_KEY_WHEEL_UP,
  VIEW_KEY_WHEEL_DOWN,
};

/* How help names a key: "n", "Left", "Space". */
struct view_number view_key_name(int key);

#endif
