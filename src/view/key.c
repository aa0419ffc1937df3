/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Names of keys. */
#include <stdio.h>

#include "view/key.h"

struct view_number view_key_name(int key)
{
  static const struct {
    int key;
    const char *name;
  } names[] = {
      {VIEW_KEY_TAB, "Tab"},
      {VIEW_KEY_ENTER, "Enter"},
      {VIEW_KEY_REDRAW, "Ctrl-L"},
      {VIEW_KEY_ESCAPE, "Esc"},
      {VIEW_KEY_SPACE, "Space"},
      {VIEW_KEY_BACKSPACE, "Backspace"},
      {VIEW_KEY_LEFT, "Left"},
      {VIEW_KEY_RIGHT, "Right"},
      {VIEW_KEY_UP, "Up"},
      {VIEW_KEY_DOWN, "Down"},
      {VIEW_KEY_SHIFT_LEFT, "Shift-Left"},
      {VIEW_KEY_SHIFT_RIGHT, "Shift-Right"},
      {VIEW_KEY_PAGE_UP, "PageUp"},
      {VIEW_KEY_PAGE_DOWN, "PageDown"},
      {VIEW_KEY_HOME, "Home"},
      {VIEW_KEY_END, "End"},
      {VIEW_KEY_DELETE, "Delete"},
      {VIEW_KEY_BACKTAB, "Shift-Tab"},
      {VIEW_KEY_CLICK, "click"},
      {VIEW_KEY_DRAG, "drag"},
      {VIEW_KEY_WHEEL_UP, "wheel up"},
      {VIEW_KEY_WHEEL_DOWN, "wheel down"},
  };
  struct view_number out = {""};
  for (size_t i = 0; i < sizeof names / sizeof *names; i++)
    if (names[i].key == key)
      snprintf(out.text, sizeof out.text, "%s", names[i].name);
  if (out.text[0] == 0 && key > ' ' && key < 127)
    snprintf(out.text, sizeof out.text, "%c", key);
  return out;
}
