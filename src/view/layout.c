/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The layout. Heights are given out in the order of what a small screen needs most: plot,
 * marker readout, sentence, rows, settings, hints. */
#include "view/layout.h"

enum { BESIDE_WIDTH = 100, BESIDE_HEIGHT = 16, GAP = 2, TIME_FROM_ROWS = 16 };

static int clamp(int value, int low, int high)
{
  return value < low ? low : value > high ? high : value;
}

/* Takes `height` rows off the top of `rest`. */
static struct view_box take_top(struct view_box *rest, int height)
{
  struct view_box part = *rest;
  part.height = clamp(height, 0, rest->height);
  rest->y += part.height;
  rest->height -= part.height;
  return part;
}

static struct view_box take_bottom(struct view_box *rest, int height)
{
  struct view_box part = *rest;
  part.height = clamp(height, 0, rest->height);
  rest->height -= part.height;
  part.y = rest->y + rest->height;
  return part;
}

static int sentence_rows(int width, int height)
{
  if (height < 8)
    return height >= 3;
  return height >= 30 || (width < 100 && height >= 28) ? 3 : 2;
}

static int readout_rows(int height)
{
  return height >= 34 ? 4 : height >= 24 ? 3 : height >= 10 ? 2 : height >= 4;
}

static void stack(struct view_layout *layout, struct view_box rest, bool time)
{
  layout->settings = take_bottom(&rest, rest.height >= 7);
  layout->time = take_bottom(&rest, time && rest.height >= TIME_FROM_ROWS);
  int rows = rest.height >= 17 ? rest.height * 2 / 5 : rest.height / 3;
  layout->account = take_top(&rest, rest.height >= 6 ? rows : 0);
  layout->plot = rest;
}

static void set_beside(struct view_layout *layout, struct view_box rest, bool time)
{
  layout->beside = true;
  layout->account = rest;
  layout->account.width = clamp(rest.width * 9 / 20, 50, 120);
  rest.x += layout->account.width + GAP;
  rest.width -= layout->account.width + GAP;
  layout->settings = take_bottom(&rest, rest.width < 90 ? 2 : 1);
  layout->time = take_bottom(&rest, time);
  layout->plot = rest;
}

struct view_layout view_layout(int width, int height, bool time)
{
  struct view_box rest = {0, 0, width, height};
  struct view_layout layout = {.hints = height >= 16};
  layout.bottom = (struct view_box){0, height - 1, width, 1};
  if (layout.hints)
    take_bottom(&rest, 1);
  layout.sentence = take_top(&rest, sentence_rows(width, height));
  layout.readout = take_bottom(&rest, readout_rows(height));
  if (width >= BESIDE_WIDTH && height >= BESIDE_HEIGHT)
    set_beside(&layout, rest, time);
  else
    stack(&layout, rest, time);
  return layout;
}

void view_layout_sentence(struct view_layout *layout, int lines)
{
  const int least = layout->sentence.height, most = layout->bottom.y / 6;
  layout->sentence.height = clamp(lines, least, most > least ? most : least);
}

struct view_box view_layout_sheet(const struct view_layout *layout)
{
  const int top = layout->sentence.y + layout->sentence.height;
  return (struct view_box){0, top, layout->bottom.width, layout->bottom.y - top};
}
