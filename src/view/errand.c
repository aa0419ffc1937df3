/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Names of files, and the question before one is replaced. */
#include <ctype.h>
#include <stdio.h>
#include <string.h>

#include "view/errand.h"

enum { STEM_LENGTH = 40 };

static const struct {
  const char *ending;
  enum view_written kind;
  bool of_view; /* what is written belongs to the view that is shown */
} endings[VIEW_SUGGESTIONS] = {
    {".pdf", VIEW_WRITTEN_PLOT, true},          {".svg", VIEW_WRITTEN_PLOT, true},
    {".png", VIEW_WRITTEN_PLOT, true},          {".csv", VIEW_WRITTEN_TRACE, true},
    {".json", VIEW_WRITTEN_REPORT_JSON, false}, {".txt", VIEW_WRITTEN_REPORT, false},
};

enum view_written view_errand_kind(const char *path)
{
  size_t length = strlen(path);
  for (int i = 0; i < VIEW_SUGGESTIONS; i++) {
    size_t tail = strlen(endings[i].ending);
    if (length > tail && strcmp(path + length - tail, endings[i].ending) == 0)
      return endings[i].kind;
  }
  return VIEW_WRITTEN_UNKNOWN;
}

/* Letters, digits, dots, hyphens; nothing that hides the file or looks like an option. */
static void make_stem(const char *name, char stem[STEM_LENGTH])
{
  size_t used = 0;
  const char *dot = strrchr(name, '.');
  for (const char *at = name; *at != '\0' && at != dot && used + 1 < STEM_LENGTH; at++) {
    bool plain = isalnum((unsigned char)*at) || (used > 0 && strchr("._-", *at) != NULL);
    if (plain)
      stem[used++] = *at;
  }
  stem[used] = '\0';
  if (used == 0)
    snprintf(stem, STEM_LENGTH, "capture");
}

void view_errand_suggest(struct view_state *state, const struct view_model *model)
{
  char stem[STEM_LENGTH];
  make_stem(model->info->name, stem);
  for (int i = 0; i < VIEW_SUGGESTIONS; i++)
    snprintf(state->prompt.files[i], sizeof state->prompt.files[i], "%s-%s%s", stem,
             endings[i].of_view ? view_id_word(state->view) : "report", endings[i].ending);
}

void view_errand_set(struct view_state *state, const char *path)
{
  state->errand = (struct view_errand){.pending = true};
  snprintf(state->errand.path, sizeof state->errand.path, "%s", path);
}

void view_errand_settings(struct view_state *state, const struct view_model *model, double number)
{
  (void)model, (void)number;
  state->errand = (struct view_errand){.pending = true, .settings = true};
  view_choices_path(state->errand.path, sizeof state->errand.path);
}

void view_errand_confirm(struct view_state *state)
{
  state->prompt = (struct view_prompt){.confirm = true};
  snprintf(state->prompt.text, sizeof state->prompt.text,
           "%.120s is there already. Replace it? y n", state->errand.path);
}

void view_errand_answer(struct view_state *state, int key)
{
  state->prompt.confirm = false;
  if (key != 'y' && key != 'Y') {
    view_state_say(state, "Nothing was written.");
    return;
  }
  state->errand.pending = state->errand.replace = true;
}
