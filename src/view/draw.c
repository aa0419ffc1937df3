/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Puts the parts of the screen where the layout says. */
#include <stdio.h>
#include <string.h>

#include "view/account.h"
#include "view/action.h"
#include "view/caption.h"
#include "view/command.h"
#include "view/draw.h"
#include "view/help.h"
#include "view/layout.h"
#include "view/plot.h"
#include "view/prompt.h"
#include "view/sheet.h"
#include "view/timebar.h"
#include "view/values.h"
#include "view/words.h"

enum { TEXT_LENGTH = 1024, HINT_GAP = 2 };

/* Lines that the other markers want below the active one's. */
static int other_markers(const struct view_state *state)
{
  const struct view_pane *pane = view_state_shown(state);
  int count = 0;
  for (int m = 0; m < VIEW_MARKERS; m++)
    count += m != pane->active && pane->markers[m].on;
  return count;
}

static void draw_marker_text(struct view_grid *grid, struct view_box *box,
                             const struct view_state *state, const struct view_model *model, int m,
                             int lines)
{
  char text[TEXT_LENGTH];
  view_words_marker(state, model, m, text, sizeof text);
  if (text[0] == 0 || box->height <= 0)
    return;
  struct view_box part = *box;
  part.height = lines < box->height ? lines : box->height;
  int used = view_put_paragraph(grid, part, VIEW_STYLE_PLAIN, text);
  bool active = m == view_state_shown(state)->active;
  view_grid_style(grid, (struct view_box){box->x, box->y, 1, 1},
                  active ? VIEW_STYLE_ACTIVE : VIEW_STYLE_MARKER);
  box->y += used;
  box->height -= used;
}

/* Takes what was put off the box. */
static void move_to(struct view_box *box, int x)
{
  box->width -= x - box->x;
  box->x = x;
}

/* That there are limits and notices to be read, and where; what has no room here is counted there.
 */
static void put_cautions(struct view_grid *grid, struct view_box *box,
                         const struct view_model *model)
{
  char text[TEXT_LENGTH];
  const bool broken = view_caption_cautions(model, text, sizeof text);
  if (text[0] == 0 || box->width <= 0)
    return;
  move_to(box, view_put_cut(grid, box->x, box->y, box->width,
                            broken ? VIEW_STYLE_WARNING : VIEW_STYLE_LABEL, text) +
                   HINT_GAP);
}

static void put_urgent(struct view_grid *grid, struct view_box *box, const struct view_model *model)
{
  char urgent[TEXT_LENGTH];
  view_caption_live(model, urgent, sizeof urgent);
  move_to(box, view_put_cut(grid, box->x, box->y, box->width, VIEW_STYLE_WARNING, urgent));
}

/* Hints that fit as a whole, the more useful first. */
static void put_hints(struct view_grid *grid, struct view_box box, const char *const *hints)
{
  for (; *hints != NULL; hints++) {
    const int width = view_text_width(*hints, grid->ascii);
    if (width == 0 || width > box.width)
      continue;
    move_to(&box, view_put(grid, box.x, box.y, VIEW_STYLE_QUIET, *hints) + HINT_GAP);
  }
}

/* `cautions`: whether they stand here, or elsewhere on the screen. */
static void draw_hints(struct view_grid *grid, struct view_box box, bool cautions,
                       const struct view_state *state, const struct view_model *model)
{
  const int left = box.x;
  char views[48];
  snprintf(views, sizeof views, "%.30s views", view_action_views(state, model).text);
  if (state->sheet != VIEW_SHEET_NONE) {
    put_urgent(grid, &box, model);
    put_cautions(grid, &box, model);
    put_hints(grid, box,
              (const char *const[]){"Esc spectrum again",
                                    state->sheet == VIEW_SHEET_COURSE ? "+ - zoom" : "Up Down rows",
                                    views, "? keys", "q leaves", NULL});
    return;
  }
  if (cautions)
    put_cautions(grid, &box, model);
  put_hints(grid, box,
            (const char *const[]){views, "? keys", "q leaves", "Up Down rows",
                                  box.x > left ? "" : "e values", "+ - zoom",
                                  model->ended     ? ""
                                  : state->playing ? "Space pauses"
                                                   : "Space plays",
                                  model->info->live && !model->ended ? "; measures anew" : "",
                                  NULL});
}

/* A low screen has no row for the hints but this one, and who knows no key needs them more. */
static void draw_no_marker(struct view_grid *grid, struct view_box box, bool hinted,
                           const struct view_state *state, const struct view_model *model)
{
  if (!hinted && box.height > 0) {
    draw_hints(grid, box, false, state, model);
    box.y++;
    box.height--;
  }
  view_put_paragraph(grid, box, VIEW_STYLE_QUIET,
                     hinted ? "No marker: A sets one, h takes it to the highest peak, Down to the "
                              "account's first line."
                            : "No marker: A sets one, Down on a line.");
}

/* The active marker first, at least one line for each of the others while there is room. */
static void draw_readout(struct view_grid *grid, const struct view_layout *layout,
                         const struct view_state *state, const struct view_model *model)
{
  struct view_box box = layout->readout;
  const struct view_pane *pane = view_state_shown(state);
  int others = other_markers(state), active_lines = box.height - others;
  if (active_lines < 2)
    active_lines = box.height < 3 ? box.height : 2;
  if (!pane->markers[pane->active].on) {
    draw_no_marker(grid, box, layout->hints, state, model);
    return;
  }
  draw_marker_text(grid, &box, state, model, pane->active, active_lines);
  for (int m = 0; m < VIEW_MARKERS; m++)
    if (m != pane->active && pane->markers[m].on)
      draw_marker_text(grid, &box, state, model, m, 1);
}

/* Words that complete what is typed, from x on. */
static void draw_matches(struct view_grid *grid, int x, int y, const struct view_state *state,
                         const struct view_model *model)
{
  const char *matches[VIEW_MATCHES_MAX], *typed;
  size_t count = view_command_matches(state, model, matches, &typed);
  for (size_t i = 0; i < count && x < grid->width; i++)
    x = view_put_cut(grid, x, y, grid->width - x, VIEW_STYLE_QUIET, matches[i]) + 2;
}

/* The end of the text stays in sight. */
static int draw_prompt(struct view_grid *grid, struct view_box box, const struct view_state *state)
{
  int x = view_put_cut(grid, box.x, box.y, box.width, VIEW_STYLE_HEAD, view_prompt_question(state));
  const char *text = state->prompt.confirm ? "" : state->prompt.text;
  uint32_t code;
  while (*text != 0 && x + view_text_width(text, grid->ascii) >= box.width)
    text += view_text_decode(text, &code);
  x = view_put(grid, x, box.y, VIEW_STYLE_PLAIN, text);
  view_put(grid, x, box.y, VIEW_STYLE_ACTIVE, " ");
  return x + 2;
}

/* In the last row, beside what is asked; what does not fit there lies over the rows above. */
static void draw_message(struct view_grid *grid, struct view_box box, int x, const char *text)
{
  if (view_text_width(text, grid->ascii) <= box.width - x) {
    view_put(grid, x, box.y, VIEW_STYLE_WARNING, text);
    return;
  }
  const int last = x > box.x ? box.y - 1 : box.y,
            rows = view_text_lines(text, box.width, grid->ascii);
  struct view_box over = {box.x, last - rows + 1, box.width, rows};
  if (over.y < 0) {
    over.height += over.y;
    over.y = 0;
  }
  view_grid_blank(grid, over);
  (void)view_put_paragraph(grid, over, VIEW_STYLE_WARNING, text);
}

/* What is asked or to be said lies over the last row. */
static void draw_bottom(struct view_grid *grid, const struct view_layout *layout,
                        const struct view_state *state, const struct view_model *model)
{
  struct view_box box = layout->bottom;
  bool asked = view_prompt_is_open(state);
  if (state->message[0] == 0 && !asked) {
    if (layout->hints || state->sheet != VIEW_SHEET_NONE) /* a sheet leaves the row free */
      draw_hints(grid, box, true, state, model);
    return;
  }
  view_grid_blank(grid, box);
  int x = asked ? draw_prompt(grid, box, state) : box.x;
  if (state->message[0] != 0)
    draw_message(grid, box, x, state->message);
  else if (!state->prompt.confirm)
    draw_matches(grid, x, box.y, state, model);
}

/* On a low screen, which has no row for hints, the cautions stand here. */
static void draw_settings(struct view_grid *grid, struct view_box box, bool hinted,
                          const struct view_state *state, const struct view_model *model)
{
  char text[TEXT_LENGTH];
  if (!hinted && box.height > 0)
    put_cautions(grid, &box, model);
  view_caption_settings(state, model, false, text, sizeof text);
  if (view_text_width(text, grid->ascii) > box.width * box.height)
    view_caption_settings(state, model, true, text, sizeof text);
  view_put_paragraph(grid, box, VIEW_STYLE_QUIET, text);
}

void view_draw(struct view_grid *grid, const struct view_state *state,
               const struct view_model *model)
{
  struct view_layout layout = view_layout(grid->width, grid->height, view_model_has_length(model));
  view_grid_clear(grid);
  struct view_box all = {0, 0, grid->width, grid->height};
  if (state->cover == VIEW_COVER_HELP)
    view_help(grid, all, state, model);
  if (state->cover == VIEW_COVER_VALUES)
    view_values(grid, all, state, model);
  if (state->cover != VIEW_COVER_NONE)
    return;
  if (state->sheet != VIEW_SHEET_NONE) {
    layout = view_sheet_layout(grid->width, grid->height, state, model);
    view_sheet_sentence(grid, layout.sentence, state, model);
    view_sheet(grid, view_layout_sheet(&layout), state, model);
    draw_bottom(grid, &layout, state, model);
    return;
  }
  view_account_sentence(grid, layout.sentence, state, model);
  view_account_rows(grid, layout.account, state, model);
  view_plot(grid, layout.plot, state, model);
  view_time_bar(grid, layout.time, state, model);
  draw_settings(grid, layout.settings, layout.hints, state, model);
  draw_readout(grid, &layout, state, model);
  draw_bottom(grid, &layout, state, model);
}
