/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The table of sheets. */
#include <string.h>

#include "view/account.h"
#include "view/data.h"
#include "view/deviation.h"
#include "view/picture.h"
#include "view/sheet.h"
#include "view/stereo.h"

enum { TEXT_LENGTH = 768 };

static const struct {
  const char *word;
  void (*sentence)(const struct view_state *state, const struct view_model *model, char *out,
                   size_t size);
  bool unmeasured; /* it needs no result of the analysis */
  void (*draw)(struct view_grid *grid, struct view_box box, const struct view_state *state,
               const struct view_model *model);
  int (*last)(struct view_box box, bool ascii, const struct view_model *model); /* NULL: no rows */
} sheets[VIEW_SHEET_COUNT] = {
    [VIEW_SHEET_DATA] = {"data", view_data_sentence, false, view_data, view_data_last},
    [VIEW_SHEET_STEREO] = {"stereo", view_stereo_sentence, false, view_stereo, view_stereo_last},
    [VIEW_SHEET_COURSE] = {"over-time", view_picture_sentence, true, view_picture, NULL},
    [VIEW_SHEET_DEVIATION] = {"deviation", view_deviation_sentence, false, view_deviation,
                              view_deviation_last},
};

const char *view_sheet_word(enum view_sheet sheet)
{
  return sheets[sheet].word;
}

void view_sheet_sentence(struct view_grid *grid, struct view_box box,
                         const struct view_state *state, const struct view_model *model)
{
  char text[TEXT_LENGTH];
  if (model->trouble != NULL) {
    view_account_sentence(grid, box, state, model);
    return;
  }
  sheets[state->sheet].sentence(state, model, text, sizeof text);
  view_put_paragraph(grid, box, VIEW_STYLE_PLAIN, text);
  if (box.height > 0)
    view_grid_style(grid, (struct view_box){box.x, box.y, (int)strcspn(text, ":"), 1},
                    VIEW_STYLE_HEAD);
}

struct view_layout view_sheet_layout(int width, int height, const struct view_state *state,
                                     const struct view_model *model)
{
  struct view_layout layout = view_layout(width, height, view_model_has_length(model));
  char text[TEXT_LENGTH];
  if (model->trouble != NULL)
    return layout;
  sheets[state->sheet].sentence(state, model, text, sizeof text);
  view_layout_sentence(&layout, view_text_lines(text, width, state->ascii));
  return layout;
}

void view_sheet(struct view_grid *grid, struct view_box box, const struct view_state *state,
                const struct view_model *model)
{
  view_grid_blank(grid, box);
  if (model->result == NULL && box.height > 0 && !sheets[state->sheet].unmeasured)
    view_put_cut(grid, box.x, box.y, box.width, VIEW_STYLE_QUIET, "Nothing was measured yet.");
  else
    sheets[state->sheet].draw(grid, box, state, model);
}

int view_sheet_last(struct view_box box, const struct view_state *state,
                    const struct view_model *model)
{
  if (model->result == NULL || sheets[state->sheet].last == NULL)
    return 0;
  return sheets[state->sheet].last(box, state->ascii, model);
}
