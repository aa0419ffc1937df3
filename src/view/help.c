/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The help is the table of actions, in as many columns as fit. */
#include <string.h>

#include "view/action.h"
#include "view/help.h"
#include "view/page.h"

enum { KEY_COLUMNS = 19, HELP_COLUMNS = 76, LINES_MAX = 160 };

/* A line is a group's title (action NULL) or an action. */
struct line {
  const char *title;
  const struct view_action *action;
};

static size_t gather(const struct view_state *state, const struct view_model *model,
                     struct line *lines)
{
  const struct view_action *actions;
  size_t count = view_actions(&actions), used = 0;
  int group = -1;
  for (size_t i = 0; i < count && used + 3 < LINES_MAX; i++) {
    if (!view_action_applies(&actions[i], state, model))
      continue;
    if ((int)actions[i].group != group) {
      group = (int)actions[i].group;
      lines[used++] = (struct line){view_group_name(actions[i].group), NULL};
    }
    lines[used++] = (struct line){NULL, &actions[i]};
  }
  return used;
}

static void draw_line(struct view_grid *grid, struct view_box at, const struct line *line)
{
  if (line->action == NULL) {
    view_put_cut(grid, at.x, at.y, at.width, VIEW_STYLE_HEAD, line->title);
    return;
  }
  int keys = at.width < 60 ? 13 : KEY_COLUMNS;
  view_put_cut(grid, at.x + 1, at.y, keys - 1, VIEW_STYLE_LABEL,
               view_action_keys(line->action).text);
  view_put_cut(grid, at.x + keys, at.y, at.width - keys - 1, VIEW_STYLE_PLAIN, line->action->help);
}

void view_help(struct view_grid *grid, struct view_box box, const struct view_state *state,
               const struct view_model *model)
{
  static const char title[] = "Keys that work here. Up and Down scroll, other keys go back.";
  struct view_page page = view_page_open(grid, box, title, "Keys that work here.", HELP_COLUMNS);
  struct line lines[LINES_MAX];
  size_t count = gather(state, model, lines), first = view_page_first(&page, state, count);
  view_page_number(grid, &page, first, count);
  for (size_t i = first; i < count && i - first < page.size; i++)
    draw_line(grid, view_page_place(&page, i - first), &lines[i]);
}

int view_help_last(struct view_box box, const struct view_state *state,
                   const struct view_model *model)
{
  const struct view_page page = view_page_in(box, HELP_COLUMNS);
  struct line lines[LINES_MAX];
  return view_page_last(&page, gather(state, model, lines));
}
