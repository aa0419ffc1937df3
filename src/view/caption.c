/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* How the picture was made, how it goes on, and what it waits for. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <sidecomb/rows.h>

#include "view/beside.h"
#include "view/caption.h"
#include "view/format.h"
#include "view/overlay.h"

/* Common practice, no source: a decibel of room tells a strong signal from one that will clip. */
static const double nearly_full_db = -1;
/* Longer than files that are written in blocks take from one to the next, mostly. */
static const double silence_s = 2;

static struct view_number resolution(double hz)
{
  struct view_number out;
  if (hz >= 1000)
    snprintf(out.text, sizeof out.text, "%.3g kHz", hz / 1000);
  else
    snprintf(out.text, sizeof out.text, "%.*f Hz", hz < 1 ? 3 : hz < 10 ? 2 : hz < 100 ? 1 : 0, hz);
  return out;
}

/* "all 2.40 s", "0.50 to 1.00 s of 2.40 s", live "the last 1.00 s". */
static void add_passage(const struct view_state *state, const struct view_model *model, char *out,
                        size_t size)
{
  const struct view_spectrum *spectrum = &model->spectrum;
  double resolution_s = spectrum->to_s - spectrum->from_s < 0.1 ? 0.001 : 0.01;
  struct view_number whole = view_time(view_model_duration(model), resolution_s);
  struct view_number from = view_time(model->start_s + spectrum->from_s, resolution_s);
  struct view_number to = view_time(model->start_s + spectrum->to_s, resolution_s);
  char *unit = strstr(from.text, " s");
  if (unit != NULL && strstr(to.text, " s") != NULL)
    *unit = 0;
  /* Of a fine resolution a record is longer than what is asked for. */
  const double last_s = fmax(state->length_s, spectrum->trace.record_s);
  if (model->info->frames == 0)
    view_append(out, size, ", the last %s", view_time(last_s, last_s < 0.1 ? 0.001 : 0.01).text);
  else if (spectrum->to_s - spectrum->from_s > view_model_duration(model) - 1e-6)
    view_append(out, size, ", all %s", whole.text);
  else
    view_append(out, size, ", %s to %s of %s", from.text, to.text, whole.text);
}

/* Before anything else: what clips makes lines that no transmitter sent. */
static void add_strength(const struct view_model *model, bool brief, char *out, size_t size)
{
  if (model->ended)
    return;
  if (model->clipped_frames > 0)
    view_append(out, size, "CLIPPED %llu times in 1 s%s: lower gain%s. ",
                (unsigned long long)model->clipped_frames, brief ? "" : ", believe no spur",
                brief ? "" : " or coupling");
  else if (model->peak_dbfs > nearly_full_db)
    view_append(out, size, "PEAKS %.1f dB %s full scale: lower gain%s. ", fabs(model->peak_dbfs),
                model->peak_dbfs > 0 ? "above" : "below", brief ? "" : " or coupling");
}

/* Two digits or three, and no power of ten of what goes on for minutes. */
static struct view_number seconds_lost(double seconds)
{
  struct view_number out;
  if (seconds < 10)
    snprintf(out.text, sizeof out.text, "%.2g", seconds);
  else
    snprintf(out.text, sizeof out.text, "%.0f", seconds);
  return out;
}

/* What a device lost, and what the viewer could not keep up with: a person who sees it asks less of
 * the machine. */
static void add_losses(const struct view_model *model, char *out, size_t size)
{
  double rate = model->info->sample_rate_hz;
  const struct sc_losses *losses = &model->losses;
  uint64_t gaps = losses->overruns + losses->drops + losses->suspends;
  double lost_s = (double)(losses->overrun_frames + losses->dropped_frames) / rate;
  if (gaps > 0)
    view_append(out, size, ", %llu gap%s", (unsigned long long)gaps, gaps == 1 ? "" : "s");
  if (gaps > 0 && lost_s > 0)
    view_append(out, size, " (%s s lost)", seconds_lost(lost_s).text);
  if (model->undrawn_frames > 0)
    view_append(out, size, ", %s s not drawn",
                seconds_lost((double)model->undrawn_frames / rate).text);
  if (model->unmeasured_frames > 0)
    view_append(out, size, ", %s s not measured",
                seconds_lost((double)model->unmeasured_frames / rate).text);
}

static void add_silence(const struct view_model *model, const char *before, char *out, size_t size)
{
  view_append(out, size, "%sNOTHING CAME for %.0f s", before, floor(model->silent_s));
}

static bool is_silent(const struct view_model *model)
{
  return model->info->live && !model->ended && model->silent_s >= silence_s;
}

/* What stands still is not live, however the source is called. */
static void add_live_pace(const struct view_state *state, const struct view_model *model, char *out,
                          size_t size)
{
  const bool silent = is_silent(model);
  if (model->ended)
    view_append(out, size, ", ended");
  else if (!state->playing)
    view_append(out, size, ", held");
  else if (!silent)
    view_append(out, size, ", live");
  if (silent)
    add_silence(model, ", ", out, size);
}

static void add_pace(const struct view_state *state, const struct view_model *model, char *out,
                     size_t size)
{
  if (model->info->live)
    add_live_pace(state, model, out, size);
  else if (state->playing && state->speed == 1)
    view_append(out, size, ", playing");
  else if (state->playing)
    view_append(out, size, ", playing at %g times the speed", state->speed);
  else if (model->spectrum.refining)
    view_append(out, size, ", %s%.0f %% of it read", state->held ? "stopped, " : "",
                floor(100 * model->spectrum.share));
}

static void add_resolution(const struct sc_trace *trace, bool brief, char *out, size_t size)
{
  const char *limited = !trace->rbw_limited ? ""
                        : brief             ? " (limit)"
                                            : " (its length allows no finer)";
  view_append(out, size, "%s%s%s", resolution(trace->rbw_hz).text, brief ? "" : " resolution",
              limited);
}

/* Of an average that forgets, all that ever came says nothing: so many independent ones it is
 * worth. */
static void add_records(const struct view_state *state, const struct view_model *model, bool brief,
                        char *out, size_t size)
{
  const struct sc_trace *trace = &model->spectrum.trace;
  if (model->info->live || state->playing) {
    const double worth = trace->independent_records;
    view_append(out, size, worth < 999.5 ? ", worth %.3g record%s" : ", worth %.0f record%s", worth,
                worth == 1 ? "" : "s"); /* exact: one alone */
    return;
  }
  view_append(out, size, ", %llu %s%s", (unsigned long long)trace->records,
              trace->records == 1 ? "record" : "records", brief ? "" : " averaged");
}

static void add_recording(const struct view_model *model, const char *before, char *out,
                          size_t size)
{
  if (model->keeping)
    view_append(out, size, "%s: %.0f s", before, model->kept_s);
}

static void add_settings(const struct view_state *state, const struct view_model *model, bool brief,
                         char *out, size_t size)
{
  const struct sc_trace *trace = &model->spectrum.trace;
  view_append(out, size, "%s%s, ", sc_window_name(trace->window), brief ? "" : " window");
  add_resolution(trace, brief, out, size);
  add_records(state, model, brief, out, size);
  add_passage(state, model, out, size);
  add_pace(state, model, out, size);
  if (model->info->live)
    add_losses(model, out, size);
  add_recording(model, ", recording", out, size);
}

/* What changes by itself comes first: the end may be cut. */
static void add_live_settings(const struct view_state *state, const struct view_model *model,
                              char *out, size_t size)
{
  const struct sc_trace *trace = &model->spectrum.trace;
  add_resolution(trace, true, out, size);
  add_live_pace(state, model, out, size);
  add_recording(model, ", recording", out, size);
  add_losses(model, out, size);
  add_passage(state, model, out, size);
  add_records(state, model, true, out, size);
  view_append(out, size, ", %s", sc_window_name(trace->window));
}

void view_caption_settings(const struct view_state *state, const struct view_model *model,
                           bool brief, char *out, size_t size)
{
  static const char *const holds[VIEW_HOLD_COUNT] = {"", ", highest held",
                                                     ", highest and lowest held"};
  const bool live = model->info->live;
  out[0] = 0;
  if (!view_model_has_trace(model, state->view)) {
    add_recording(model, "Recording", out, size);
    return;
  }
  if (live)
    add_strength(model, brief, out, size);
  if (live && brief)
    add_live_settings(state, model, out, size);
  else
    add_settings(state, model, brief, out, size);
  view_beside_settings(state, model, brief, out, size);
  bool expected = view_overlay_is_on(state, model);
  view_append(out, size, "%s%s.", holds[state->hold],
              !expected ? ""
              : brief   ? ", o expected"
                        : ", o expected of the composite");
}

void view_caption_live(const struct view_model *model, char *out, size_t size)
{
  out[0] = 0;
  if (!model->info->live)
    return;
  add_strength(model, true, out, size);
  if (is_silent(model)) {
    add_silence(model, "", out, size);
    view_append(out, size, ". ");
  }
  if (model->keeping)
    view_append(out, size, "Recording: %.0f s. ", model->kept_s);
}

bool view_caption_cautions(const struct view_model *model, char *out, size_t size)
{
  struct sc_cautions cautions = {0};
  out[0] = 0;
  if (model->result != NULL)
    cautions = sc_cautions_count(model->result, NULL);
  if (cautions.broken > 0)
    view_append(out, size, "e %zu limit%s not kept", cautions.broken,
                cautions.broken == 1 ? "" : "s");
  if (cautions.notices > 0)
    view_append(out, size, "%s%zu notice%s", cautions.broken > 0 ? ", " : "e ", cautions.notices,
                cautions.notices == 1 ? "" : "s");
  return cautions.broken > 0;
}

/* ---- before there is a picture */

/* Shorter ones are there before anybody has read about them. */
static const double long_record_s = 0.5;

void view_caption_waiting(const struct view_state *state, const struct view_model *model, char *out,
                          size_t size)
{
  const bool is_of_view = model->spectrum.view == state->view;
  const struct sc_trace *trace = &model->spectrum.trace;
  const bool is_long = is_of_view && trace->record_s >= long_record_s;
  out[0] = 0;
  if (is_of_view && model->spectrum.why != NULL)
    view_append(out, size, "%s", model->spectrum.why);
  else if (model->ended && is_long)
    view_append(out, size,
                "Nothing more comes in, and a resolution of %s takes a record of %.3g s.",
                resolution(trace->rbw_hz).text, trace->record_s);
  else if (model->ended)
    view_append(out, size, "Nothing more comes in.");
  else if (model->info->live && !state->playing)
    view_append(out, size, "Held: Space goes on, and then this is measured.");
  else if (is_long)
    view_append(out, size, "Reading: at a resolution of %s the first record takes %.3g s.",
                resolution(trace->rbw_hz).text, trace->record_s);
  else
    view_append(out, size, "Reading ...");
  if (is_silent(model))
    add_silence(model, " ", out, size);
}
