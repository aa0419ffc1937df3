/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The help is the table of actions, in as many columns as fit. */
#include <stdio.h>
#include <string.h>

#include "view/action.h"
#include "view/help.h"
#include "view/page.h"
#include "view/text.h"

/* The widest key is "Shift-Right or }". */
enum { KEY_COLUMNS = 19, KEY_NARROW = 18, NARROW = 60, HELP_COLUMNS = 76, LINES_MAX = 400 };
/* Narrower than that the text stands beneath the keys. */
enum { BESIDE_LEAST = 34, BENEATH = 3 };

/* A group's title, an action, or what of the action above did not fit its line. */
struct line {
  const char *title, *text;
  const struct view_action *action;
  size_t bytes; /* of `text` */
};

static int key_columns(int width)
{
  return width < BESIDE_LEAST ? BENEATH : width < NARROW ? KEY_NARROW : KEY_COLUMNS;
}

static int page_width(const struct view_page *page)
{
  return page->box.width / page->columns;
}

/* Returns how many lines are used then. */
static size_t gather_action(const struct view_action *action, int width, struct line *lines,
                            size_t used)
{
  const int columns = width - key_columns(width) - 1;
  const char *text = action->help, *next = text;
  size_t bytes = width < BESIDE_LEAST ? 0 : view_text_line(text, columns, false, &next);
  lines[used++] = (struct line){.action = action, .text = text, .bytes = bytes};
  while (used < LINES_MAX && (bytes = view_text_line(text = next, columns, false, &next)) > 0)
    lines[used++] = (struct line){.text = text, .bytes = bytes};
  return used;
}

static size_t gather(const struct view_state *state, const struct view_model *model, int width,
                     struct line *lines)
{
  const struct view_action *actions;
  size_t count = view_actions(&actions), used = 0;
  int group = -1;
  for (size_t i = 0; i < count && used + 2 < LINES_MAX; i++) {
    if (!view_action_applies(&actions[i], state, model))
      continue;
    if ((int)actions[i].group != group) {
      group = (int)actions[i].group;
      lines[used++] = (struct line){.title = view_group_name(actions[i].group)};
    }
    used = gather_action(&actions[i], width, lines, used);
  }
  return used;
}

static void draw_line(struct view_grid *grid, struct view_box at, const struct line *line)
{
  if (line->title != NULL) {
    view_put_cut(grid, at.x, at.y, at.width, VIEW_STYLE_HEAD, line->title);
    return;
  }
  const int keys = key_columns(at.width);
  char text[HELP_COLUMNS * 2];
  snprintf(text, sizeof text, "%.*s", (int)line->bytes, line->text);
  if (line->action != NULL)
    view_put_cut(grid, at.x + 1, at.y, keys == BENEATH ? at.width - 1 : keys - 1, VIEW_STYLE_LABEL,
                 view_action_keys(line->action).text);
  if (line->bytes == 0)
    return;
  view_put_cut(grid, at.x + keys, at.y, at.width - keys, VIEW_STYLE_PLAIN, text);
}

void view_help(struct view_grid *grid, struct view_box box, const struct view_state *state,
               const struct view_model *model)
{
  static const char title[] = "Keys that work here. Up and Down scroll, Esc goes back.";
  struct view_page page = view_page_open(grid, box, title, "Keys that work here.", HELP_COLUMNS);
  struct line lines[LINES_MAX];
  size_t count = gather(state, model, page_width(&page), lines),
         first = view_page_first(&page, state, count);
  view_page_number(grid, &page, first, count);
  for (size_t i = first; i < count && i - first < page.size; i++)
    draw_line(grid, view_page_place(&page, i - first), &lines[i]);
}

int view_help_last(struct view_box box, const struct view_state *state,
                   const struct view_model *model)
{
  const struct view_page page = view_page_in(box, HELP_COLUMNS);
  struct line lines[LINES_MAX];
  return view_page_last(&page, gather(state, model, page_width(&page), lines));
}
