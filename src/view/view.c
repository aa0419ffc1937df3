/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The loop: keys, signals and new measurements in, pictures out. */
#include <errno.h>
#include <limits.h>
#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "view/action.h"
#include "view/against.h"
#include "view/clock.h"
#include "view/draw.h"
#include "view/engine.h"
#include "view/halves.h"
#include "view/keep.h"
#include "view/layout.h"
#include "view/plot.h"
#include "view/save.h"
#include "view/signals.h"
#include "view/terminal.h"
#include "view/twin.h"
#include "view/view.h"
#include "view/wish.h"

/* Pictures a second while playing. */
static const int tick_ms = 50, silence_ms = 1000;
/* Resolution bandwidths in the span of a picture over time. */
static const double course_resolutions = 400;

struct viewer {
  struct view_terminal *terminal;
  struct view_engine *engine;
  struct view_against *against; /* NULL: none */
  const struct sc_source_options *options;
  struct sc_source *source;
  const struct view_settings *settings;
  struct view_keep *keep;  /* NULL: nothing is recorded */
  struct view_twin *twin;  /* NULL: one view, or live */
  struct view_model other; /* of the side that is not the engine's */
  struct view_grid grid, half;
  struct view_state state;
  struct view_model model;
  int signals;      /* descriptor */
  int ended_by;     /* signal; 0: none */
  double played_at; /* monotonic time of the last tick; negative: not playing */
  struct view_clock clock;
  bool dirty;
};

static double seconds_of(clockid_t clock)
{
  struct timespec time;
  clock_gettime(clock, &time);
  return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static double now_s(void)
{
  return seconds_of(CLOCK_MONOTONIC);
}

/* ---- requests */

/* Over time a file is shown as a whole, with a column of the picture for a resolution. */
static void ask_course(const struct view_state *state, const struct view_model *model,
                       struct view_request *request)
{
  request->course = true;
  request->expected = false;
  if (view_state_shown(state)->rbw_hz <= 0)
    request->rbw_hz = request->span_hz / course_resolutions;
  if (request->follow || model->info->frames == 0)
    return;
  request->from_s = 0;
  request->length_s = view_model_duration(model);
}

static struct view_request request_of(const struct view_state *state,
                                      const struct view_model *model)
{
  struct view_range range = view_state_range(state, model);
  struct view_request request;
  memset(&request, 0, sizeof request); /* compared as bytes */
  request.view = state->view;
  request.centre_hz = (range.low_hz + range.high_hz) / 2;
  request.span_hz = range.high_hz - range.low_hz;
  request.rbw_hz = view_state_rbw(state, model);
  request.window = state->window;
  request.window_parameter = state->window_parameter;
  request.expected = state->expected;
  request.noise_dbfs_hz = sc_sight_noise_dbfs_hz(model->result);
  request.length_s = state->length_s;
  request.follow = state->playing;
  if (!state->playing)
    request.from_s = state->position_s;
  else
    request.until_s = state->position_s + state->length_s;
  if (state->sheet == VIEW_SHEET_COURSE)
    ask_course(state, model, &request);
  return request;
}

/* The engine that measures serves the left side, and live the one that the keys act on. */
static bool is_first(const struct viewer *viewer)
{
  return viewer->twin == NULL || viewer->state.side == 0;
}

static struct view_model *model_shown(struct viewer *viewer)
{
  return is_first(viewer) ? &viewer->model : &viewer->other;
}

static void ask(struct viewer *viewer)
{
  struct view_state *state = &viewer->state;
  view_engine_hold(viewer->engine, state->held);
  if (viewer->model.info->live && !state->playing)
    return; /* paused: the picture stays */
  bool lent = state->two && viewer->twin == NULL && !view_halves_reads(state->sheet);
  bool swapped = !is_first(viewer) || lent; /* live: the other side may have the engine */
  if (swapped)
    view_state_swap(state);
  struct view_request request = request_of(state, &viewer->model);
  view_engine_ask(viewer->engine, &request);
  view_against_ask(viewer->against, &request, &viewer->model, state->held);
  view_state_swap(state);
  if (state->two && viewer->twin != NULL) {
    request = request_of(state, &viewer->other);
    request.expected = false;
    view_twin_ask(viewer->twin, &request, state->held);
  }
  if (!swapped)
    view_state_swap(state);
}

/* Opens or closes what the second view reads with. */
static void follow_two(struct viewer *viewer)
{
  struct view_state *state = &viewer->state;
  struct sc_message message = {"view: not enough memory"};
  if (!state->two) {
    view_twin_stop(viewer->twin);
    viewer->twin = NULL;
  } else if (viewer->twin == NULL && !viewer->model.info->live) {
    view_signals_block(false);
    viewer->twin = view_twin_start(viewer->options, &message);
    view_signals_block(true);
    state->two = viewer->twin != NULL;
    if (!state->two)
      view_state_say(state, "%.150s", message.text);
  }
  if (state->two)
    viewer->other = view_halves_model(state, &viewer->model, view_twin_take(viewer->twin));
}

/* ---- pictures */

/* Where the plot is that the keys and the pointer act on. */
static void place(struct viewer *viewer, int width, int height)
{
  struct view_state *state = &viewer->state;
  struct view_box box = view_halves_box(state, state->side, width, height);
  bool strip = view_model_has_length(&viewer->model);
  struct view_box plot = view_plot_area(view_layout(box.width, box.height, strip).plot);
  state->plot_columns = plot.width > 0 ? plot.width : 1;
  state->plot_rows = plot.height;
  state->plot_x = box.x + plot.x;
  state->plot_y = plot.y;
}

static void draw(struct viewer *viewer)
{
  int width, height;
  view_terminal_size(viewer->terminal, &width, &height);
  if (width != viewer->grid.width || height != viewer->grid.height)
    view_grid_resize(&viewer->grid, width, height);
  viewer->state.screen_columns = width;
  viewer->state.screen_rows = height;
  place(viewer, width, height);
  view_terminal_mouse(viewer->terminal, viewer->state.mouse);
  if (view_halves_shown(&viewer->state, width))
    view_halves_draw(&viewer->grid, &viewer->half, &viewer->state, model_shown(viewer),
                     is_first(viewer) ? &viewer->other : &viewer->model);
  else
    view_draw(&viewer->grid, &viewer->state, model_shown(viewer));
  view_terminal_show(viewer->terminal, &viewer->grid);
  viewer->dirty = false;
}

/* ---- time */

/* Moves on by what has passed since the last tick. */
static void play(struct viewer *viewer)
{
  struct view_state *state = &viewer->state;
  if (!state->playing || viewer->model.info->live) {
    viewer->played_at = -1;
    return;
  }
  double now = now_s(), before = viewer->played_at;
  viewer->played_at = now;
  if (before >= 0)
    view_state_advance(state, &viewer->model, now - before);
  viewer->dirty = true;
}

/* ---- signals */

static void suspend(struct viewer *viewer)
{
  view_terminal_leave(viewer->terminal);
  view_signals_stop();
  view_terminal_return(viewer->terminal);
  viewer->played_at = -1;
  viewer->dirty = true;
}

static void take_signals(struct viewer *viewer)
{
  struct view_signals signals = view_signals_take();
  if (signals.ending != 0) {
    viewer->ended_by = signals.ending;
    viewer->state.quit = true;
    return;
  }
  if (signals.suspend)
    suspend(viewer);
  else if (signals.resumed) { /* after a stop that cannot be caught; the shell had the terminal */
    view_terminal_leave(viewer->terminal);
    view_terminal_return(viewer->terminal);
  }
  if (signals.resized || signals.resumed) {
    view_terminal_resize(viewer->terminal);
    viewer->dirty = true;
  }
}

/* ---- live sources */

static void take_measurements(struct viewer *viewer);

/* Four digits or more, and no power of ten of what goes on for hours. */
static struct view_number seconds_kept(const struct sc_record_summary *summary)
{
  struct view_number out;
  snprintf(out.text, sizeof out.text, summary->seconds < 1000 ? "%.4g s" : "%.0f s",
           summary->seconds);
  return out;
}

static enum sc_error end_keeping(struct viewer *viewer)
{
  char name[VIEW_KEEP_NAME];
  struct sc_record_summary summary;
  struct sc_message message = {""};
  if (viewer->keep == NULL)
    return SC_OK;
  enum sc_error error = view_keep_stop(viewer->keep, name, &summary, &message);
  viewer->keep = NULL;
  viewer->dirty = true;
  if (error != SC_OK)
    view_state_say(&viewer->state, "%.60s holds %s: %.90s", name, seconds_kept(&summary).text,
                   message.text);
  else if (summary.frames == 0)
    view_state_say(&viewer->state, "Nothing came: there is no recording.");
  else
    view_state_say(&viewer->state, "%.60s: %s were recorded.", name, seconds_kept(&summary).text);
  return error;
}

static void begin_keeping(struct viewer *viewer)
{
  struct sc_message message = {""};
  struct view_intake *intake = view_engine_intake(viewer->engine);
  if (intake == NULL)
    return;
  view_signals_block(false);
  if (view_keep_start(intake, viewer->model.info, &viewer->keep, &message) != SC_OK)
    view_state_say(&viewer->state, "%.150s", message.text);
  view_signals_block(true);
  if (viewer->model.ended) /* no more will come: what is kept of it is all */
    (void)end_keeping(viewer);
}

static void look_at_keeping(struct viewer *viewer)
{
  struct sc_record_summary summary;
  struct sc_message message = {""};
  const bool good = view_keep_look(viewer->keep, &summary, &message);
  if (!good || viewer->model.ended) /* no more will come */
    (void)end_keeping(viewer);
  viewer->model.keeping = viewer->keep != NULL;
  viewer->model.kept_s = summary.seconds;
}

static void look_at_clock(struct viewer *viewer)
{
  char text[160];
  if (viewer->model.info->live &&
      view_clock_look(&viewer->clock, seconds_of(CLOCK_REALTIME), now_s(), text, sizeof text))
    view_state_say(&viewer->state, "%s", text);
}

/* The measuring begins anew: nothing from before the change belongs to it, and a recording ends.
 * What the receiver cannot do changes nothing. */
static void tune(struct viewer *viewer)
{
  struct sc_message message = {""}, trouble = {""};
  char granted[80], kept[VIEW_MESSAGE_LENGTH] = "";
  if (sc_source_can_tune(viewer->source, &viewer->state.wish.tuning, &message) != SC_OK) {
    view_state_say(&viewer->state, "%.150s", message.text);
    return;
  }
  if (viewer->keep != NULL) {
    (void)end_keeping(viewer);
    (void)snprintf(kept, sizeof kept, "%.90s ", viewer->state.message);
  }
  view_engine_stop(viewer->engine);
  enum sc_error error = sc_source_tune(viewer->source, &viewer->state.wish.tuning, &message);
  view_wish_learn(&viewer->state, viewer->source);
  view_wish_granted(&viewer->state, granted, sizeof granted);
  if (error != SC_OK)
    view_state_say(&viewer->state, "%s%.150s", kept, message.text);
  else
    view_state_say(&viewer->state, "%sThe receiver took it%s, at %.10g MHz; measuring begins anew.",
                   kept, granted, sc_source_info(viewer->source)->centre_hz * 1e-6);
  view_signals_block(false);
  error = view_engine_start(viewer->source, viewer->options, &viewer->settings->analysis,
                            &viewer->engine, &trouble);
  view_signals_block(true);
  if (error != SC_OK)
    viewer->state.quit = true;
  else
    take_measurements(viewer);
}

static void grant_wishes(struct viewer *viewer)
{
  struct view_wish *wish = &viewer->state.wish;
  if (wish->keep && viewer->keep != NULL)
    (void)end_keeping(viewer);
  else if (wish->keep)
    begin_keeping(viewer);
  if (wish->tune)
    tune(viewer);
  else if (wish->anew)
    view_engine_anew(viewer->engine);
  wish->keep = wish->tune = wish->anew = false;
}

/* ---- the loop */

static void take_keys(struct viewer *viewer)
{
  int key;
  while (!viewer->state.quit &&
         (key = view_terminal_key(viewer->terminal, &viewer->state.pointer)) != VIEW_KEY_NONE) {
    viewer->dirty = true;
    if (key == VIEW_KEY_REDRAW)
      view_terminal_redraw(viewer->terminal);
    else
      view_key(&viewer->state, model_shown(viewer), key);
    follow_two(viewer);
  }
}

static void take_measurements(struct viewer *viewer)
{
  view_engine_take(viewer->engine, &viewer->model);
  look_at_keeping(viewer);
  look_at_clock(viewer);
  view_against_take(viewer->against, &viewer->model);
  if (viewer->state.two)
    viewer->other = view_halves_model(&viewer->state, &viewer->model, view_twin_take(viewer->twin));
  view_state_follow(&viewer->state, model_shown(viewer));
  if (viewer->state.two) {
    view_state_swap(&viewer->state);
    view_state_follow(&viewer->state, is_first(viewer) ? &viewer->other : &viewer->model);
    view_state_swap(&viewer->state);
  }
  viewer->dirty = true;
}

/* How long to wait when nothing happens; -1: for ever. */
static int patience_ms(const struct viewer *viewer)
{
  if (viewer->model.info->live)
    return viewer->model.ended ? -1 : silence_ms;
  return viewer->state.playing ? tick_ms : -1;
}

static void wait_and_take(struct viewer *viewer)
{
  struct pollfd fds[] = {
      {.fd = view_terminal_descriptor(viewer->terminal), .events = POLLIN},
      {.fd = viewer->signals, .events = POLLIN},
      {.fd = view_engine_descriptor(viewer->engine), .events = POLLIN},
      {.fd = view_against_descriptor(viewer->against), .events = POLLIN},
      {.fd = view_twin_descriptor(viewer->twin), .events = POLLIN},
  };
  const int ready = poll(fds, sizeof fds / sizeof *fds, patience_ms(viewer));
  if (ready < 0 && errno != EINTR)
    viewer->state.quit = true;
  if (ready == 0 && viewer->model.info->live)
    take_measurements(viewer); /* which say for how long nothing has come */
  if (fds[1].revents != 0)
    take_signals(viewer);
  if (fds[2].revents != 0 || fds[3].revents != 0 || fds[4].revents != 0)
    take_measurements(viewer);
  if (fds[0].revents & (POLLHUP | POLLERR | POLLNVAL))
    viewer->state.quit = true; /* the terminal is gone */
  take_keys(viewer);
  view_save(&viewer->state, model_shown(viewer));
  if (!viewer->state.quit)
    grant_wishes(viewer);
  play(viewer);
}

static void loop(struct viewer *viewer)
{
  viewer->dirty = true;
  while (!viewer->state.quit) {
    ask(viewer);
    if (viewer->dirty)
      draw(viewer);
    wait_and_take(viewer);
  }
}

static enum sc_error start(struct viewer *viewer, struct sc_source *source,
                           const struct sc_source_options *options,
                           const struct view_settings *settings, struct sc_message *message)
{
  const char *no_colour = getenv("NO_COLOR");
  char path[PATH_MAX];
  struct view_choices choices;
  struct sc_message wrong = {""};
  view_choices_path(path, sizeof path);
  if (settings->no_settings)
    path[0] = '\0';
  (void)view_choices_read(path, &choices, &wrong); /* what is wrong is said on the screen */
  bool plain_colour =
      settings->no_colour || choices.colour == 0 || (no_colour != NULL && no_colour[0] != 0);
  viewer->signals = view_signals_open(); /* before the terminal: see there */
  enum sc_error error = view_terminal_open(plain_colour, &viewer->terminal, message);
  if (error != SC_OK)
    return error;
  view_signals_block(false);
  error = view_engine_start(source, options, &settings->analysis, &viewer->engine, message);
  const struct view_capture *second = settings->against;
  if (error == SC_OK && second != NULL)
    error = view_against_start(second->source, second->options, &second->analysis, &viewer->against,
                               message);
  view_signals_block(true);
  if (error != SC_OK)
    return error;
  viewer->grid.ascii =
      settings->plain || choices.plain == 1 || view_terminal_is_ascii(viewer->terminal);
  view_engine_take(viewer->engine, &viewer->model);
  view_against_take(viewer->against, &viewer->model);
  view_state_start(&viewer->state, &viewer->model, viewer->grid.ascii);
  view_choices_apply(&choices, &viewer->state, &viewer->model);
  viewer->state.tunable = options->receiver != NULL;
  view_wish_learn(&viewer->state, source);
  view_state_say(&viewer->state, "%.150s", wrong.text);
  return SC_OK;
}

/* What became of a recording that still ran is said where the shell is back. */
static enum sc_error finish(struct viewer *viewer, struct sc_message *message)
{
  const bool keeping = viewer->keep != NULL;
  const enum sc_error error = end_keeping(viewer);
  view_terminal_close(viewer->terminal);
  if (error != SC_OK && viewer->ended_by == 0)
    (void)sc_fail(message, error, "%s", viewer->state.message);
  else if (keeping)
    fprintf(stderr, "%s\n", viewer->state.message);
  view_signals_close();
  view_against_stop(viewer->against);
  view_twin_stop(viewer->twin);
  view_engine_stop(viewer->engine);
  view_grid_free(&viewer->grid);
  view_grid_free(&viewer->half);
  return error;
}

enum sc_error view_run(struct sc_source *source, const struct sc_source_options *options,
                       const struct view_settings *settings, struct sc_message *message)
{
  struct viewer viewer = {
      .played_at = -1, .options = options, .source = source, .settings = settings};
  enum sc_error error = start(&viewer, source, options, settings, message);
  if (error == SC_OK)
    loop(&viewer);
  const enum sc_error kept = finish(&viewer, message);
  if (viewer.ended_by != 0)
    raise(viewer.ended_by);
  return error == SC_OK ? kept : error;
}

void view_keys_print(FILE *stream)
{
  const struct view_action *actions;
  size_t count = view_actions(&actions);
  for (size_t i = 0; i < count; i++) {
    if (i == 0 || actions[i].group != actions[i - 1].group)
      fprintf(stream, "%s%s\n", i == 0 ? "" : "\n", view_group_name(actions[i].group));
    fprintf(stream, "  %-18s %s\n", view_action_keys(&actions[i]).text, actions[i].help);
  }
}
