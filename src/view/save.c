/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What is written is composed in memory first, so that a failure leaves no half of a file. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/file.h>
#include <sidecomb/plot.h>
#include <sidecomb/report.h>

#include "view/beside.h"
#include "view/errand.h"
#include "view/paper.h"
#include "view/save.h"

struct contents {
  char *bytes;
  size_t size;
};

/* Spectra need a trace, and are what is shown, or a file would hold another thing than the screen;
 * reports need a result. */
static const char *missing(const struct view_state *state, const struct view_model *model,
                           enum view_written kind)
{
  bool of_trace = kind == VIEW_WRITTEN_TRACE || kind == VIEW_WRITTEN_PLOT;
  if (of_trace && state->sheet != VIEW_SHEET_NONE)
    return "no spectrum is shown: press Escape first, or save .txt or .json";
  if (of_trace && !view_model_has_trace(model, state->view))
    return "there is no trace yet";
  if (!of_trace && model->result == NULL)
    return "nothing is measured yet";
  return NULL;
}

static enum sc_error compose_report(const struct view_model *model, bool json,
                                    struct contents *contents)
{
  const struct sc_report_settings settings = {.utf8 = true};
  enum sc_error error = json ? sc_report_json(model->result, &settings, &contents->bytes)
                             : sc_report_text(model->result, &settings, &contents->bytes);
  contents->size = error == SC_OK ? strlen(contents->bytes) : 0;
  return error;
}

/* What is drawn on the screen, the second capture's trace where that is shown; as numbers for a
 * trace. */
static enum sc_error compose_plot(const struct view_state *state, const struct view_model *model,
                                  bool numbers, struct contents *contents,
                                  struct sc_message *message)
{
  struct sc_plot_marker markers[SC_PLOT_MARKERS_MAX];
  struct sc_plot plot = view_paper_plot(state, model, markers);
  struct sc_plot_other other;
  if (view_beside_is_on(state, model)) {
    other = view_beside_paper(model);
    plot.other = &other;
  }
  enum sc_error error;
  if (numbers) {
    error = sc_plot_csv(&plot, &contents->bytes);
    contents->size = error == SC_OK ? strlen(contents->bytes) : 0;
    return error;
  }
  enum sc_plot_format format;
  unsigned char *bytes;
  if (!sc_plot_format(state->errand.path, &format))
    return SC_BAD_ARGUMENT;
  error = sc_plot_make(&plot, format, &bytes, &contents->size, message);
  contents->bytes = (char *)bytes;
  return error;
}

static enum sc_error compose(const struct view_state *state, const struct view_model *model,
                             enum view_written kind, struct contents *contents,
                             struct sc_message *message)
{
  switch (kind) {
  case VIEW_WRITTEN_TRACE:
    return compose_plot(state, model, true, contents, message);
  case VIEW_WRITTEN_REPORT:
  case VIEW_WRITTEN_REPORT_JSON:
    return compose_report(model, kind == VIEW_WRITTEN_REPORT_JSON, contents);
  case VIEW_WRITTEN_PLOT:
    return compose_plot(state, model, false, contents, message);
  default:
    return SC_BAD_ARGUMENT;
  }
}

static void write_file(struct view_state *state, const struct view_model *model,
                       enum view_written kind)
{
  struct contents contents = {NULL, 0};
  struct sc_message message = {""};
  enum sc_error error = compose(state, model, kind, &contents, &message);
  if (error == SC_OK)
    error = sc_file_save(state->errand.path, contents.bytes, contents.size, state->errand.replace,
                         &message);
  free(contents.bytes);
  if (error != SC_OK)
    view_state_say(state, "%.150s", message.text[0] != '\0' ? message.text : sc_error_text(error));
  else
    view_state_say(state, "Saved %.100s, %.1f kB%s.", state->errand.path,
                   (double)contents.size * 1e-3,
                   model->survey_done || model->result == NULL ? "" : ", measured so far");
}

static void save_settings(struct view_state *state)
{
  struct sc_message message = {""};
  if (state->errand.path[0] == '\0') {
    view_state_say(state, "Nowhere to save to: neither XDG_CONFIG_HOME nor HOME is a folder.");
    return;
  }
  if (!state->errand.replace && sc_file_exists(state->errand.path)) {
    view_errand_confirm(state);
    return;
  }
  struct view_choices choices = view_choices_of(state);
  char *text = view_choices_text(&choices);
  sc_file_make_folders(state->errand.path);
  enum sc_error error = text == NULL ? SC_NO_MEMORY
                                     : sc_file_save(state->errand.path, text, strlen(text),
                                                    state->errand.replace, &message);
  free(text);
  if (error != SC_OK)
    view_state_say(state, "%.150s", message.text[0] != '\0' ? message.text : sc_error_text(error));
  else
    view_state_say(state, "Saved %.120s.", state->errand.path);
}

void view_save(struct view_state *state, const struct view_model *model)
{
  if (!state->errand.pending)
    return;
  state->errand.pending = false;
  if (state->errand.settings) {
    save_settings(state);
    return;
  }
  enum view_written kind = view_errand_kind(state->errand.path);
  const char *why = kind != VIEW_WRITTEN_UNKNOWN ? missing(state, model, kind) : NULL;
  if (kind == VIEW_WRITTEN_UNKNOWN)
    view_state_say(state, "'%.60s': end the name in .csv, .txt, .json, .svg, .png or .pdf.",
                   state->errand.path);
  else if (why != NULL)
    view_state_say(state, "Nothing to save: %s.", why);
  else if (!state->errand.replace && sc_file_exists(state->errand.path))
    view_errand_confirm(state);
  else
    write_file(state, model, kind);
}
