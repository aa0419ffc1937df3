/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The table of what stereo is judged by. Bounds are those of the standards, named beside them. */
#include <math.h>
#include <stdio.h>

#include <sidecomb/stereo.h>

#include "common/number.h"
#include "view/facts.h"
#include "view/find.h"
#include "view/format.h"
#include "view/stereo.h"
#include "view/verdict.h"

enum { FACTS_MAX = 32, LINE_LENGTH = 256 };

#define NO_BOUND (double)NAN, (double)NAN
#define ROW(cause, field)                                                                          \
  {                                                                                                \
    cause, field, NULL, "", NO_BOUND                                                               \
  }

static const struct view_fact levels[] = {
    ROW("left", "stereo.left_rms_khz"),
    ROW("right", "stereo.right_rms_khz"),
    ROW("left against right", "stereo.balance_db"),
    ROW("sum", "sum.rms_khz"),
    ROW("difference", "difference.rms_khz"),
    {"left with right alike", "stereo.correlation", NULL, "1 mono, -1 inverted", NO_BOUND},
};

static const struct view_fact others[] = {
    {"left ahead of right", "stereo.interchannel_phase_deg", NULL, "0 in the middle", NO_BOUND},
    ROW("order of the channels", "stereo.channel_order"),
    ROW("sum into difference", "noise.crosstalk_sum_to_difference_db"),
    ROW("difference into sum", "noise.crosstalk_difference_to_sum_db"),
    {"pilot off 19 kHz", "pilot.frequency_error_hz", NULL, "±2 Hz (BS.450-3)", -2, 2},
    {"pilot", "pilot.deviation_khz", NULL, "6 to 7.5 (BS.450-3)", 6, 7.5},
    {"subcarrier on pilot", "difference.phase_error_deg", NULL, "0 (BS.450-3)", NO_BOUND},
    {"38 kHz carrier left", "difference.carrier_residual_percent", NULL, "up to 1 % (BS.450-3)",
     (double)NAN, 1},
    {"  stands out of noise", "difference.carrier_residual_present", NULL, "", NO_BOUND},
    {"  would be seen from", "difference.carrier_residual_limit_percent", NULL, "", NO_BOUND},
};

static const struct view_fact of_audio[] = {
    ROW("L/R separation", "audio.separation_left_to_right_db"),
    ROW("R/L separation", "audio.separation_right_to_left_db"),
    ROW("  would be seen up to", "audio.separation_limit_db"),
    ROW("left against right", "audio.balance_db"),
    {"left with right alike", "audio.correlation", NULL, "1 mono, -1 inverted", NO_BOUND},
    {"left ahead of right", "audio.phase_deg", NULL, "0 in the middle", NO_BOUND},
    ROW("order of the channels", "stereo.channel_order"),
    ROW("test audio", "audio.test_audio_evidence"),
};

#define COUNT(table) (sizeof table / sizeof *table)

struct list {
  struct view_fact facts[FACTS_MAX];
  size_t count;
  char lines[3][LINE_LENGTH]; /* texts of facts */
};

static void add(struct list *list, const struct view_fact *facts, size_t count)
{
  for (size_t i = 0; i < count && list->count < FACTS_MAX; i++)
    list->facts[list->count++] = facts[i];
}

/* A bound where the other channel shows nothing of the tone. */
static void add_separation(struct list *list, const struct sc_stereo *stereo)
{
  bool left = stereo->separation_left_to_right_db.why != NULL &&
              stereo->separation_left_to_right_at_least_db.why == NULL;
  bool right = stereo->separation_right_to_left_db.why != NULL &&
               stereo->separation_right_to_left_at_least_db.why == NULL;
  const struct view_fact facts[] = {
      {left ? "L/R separation, least" : "L/R separation",
       left ? "stereo.separation_left_to_right_at_least_db" : "stereo.separation_left_to_right_db",
       NULL, "a tone on the left", NO_BOUND},
      {right ? "R/L separation, least" : "R/L separation",
       right ? "stereo.separation_right_to_left_at_least_db" : "stereo.separation_right_to_left_db",
       NULL, "a tone on the right", NO_BOUND},
  };
  add(list, facts, COUNT(facts));
}

/* What the account says of the line at twice the pilot's frequency. */
static void add_line(struct list *list, const struct view_model *model, enum view_id view,
                     double offset_hz, const char *cause, char *text)
{
  const struct sc_line_list *lines = view_model_lines(model, view);
  double hz = view_model_origin(model, view) + offset_hz;
  ptrdiff_t at = view_find_line(model, view, hz, fmax(2 * lines->resolution_hz, 2));
  if (at < 0) {
    snprintf(text, LINE_LENGTH, "no line stands out of the noise");
  } else {
    const struct sc_line *line = &lines->lines[at];
    snprintf(text, LINE_LENGTH, "%c %s %s, %s: %s", view_verdict_mark(line->verdict),
             common_number(view_model_line_level(model, view, line), 1, false).text,
             view_model_scale(model, view).unit, sc_verdict_name(line->verdict),
             line->cause[0] != 0 ? line->cause : line->label);
  }
  struct view_fact fact = {cause, NULL, text, "", NO_BOUND};
  add(list, &fact, 1);
}

static void add_lines(struct list *list, const struct view_model *model)
{
  const struct sc_pilot *pilot = &model->result->pilot;
  double hz =
      2 * (pilot->frequency_hz.why == NULL ? pilot->frequency_hz.value : SC_PILOT_NOMINAL_HZ);
  add_line(list, model, VIEW_COMPOSITE, hz, "  line on composite", list->lines[0]);
  if (model->info->kind != SC_KIND_IQ)
    return;
  add_line(list, model, VIEW_AIR, hz, "  on air at +38 kHz", list->lines[1]);
  add_line(list, model, VIEW_AIR, -hz, "  on air at -38 kHz", list->lines[2]);
}

static void gather(const struct view_model *model, struct list *list)
{
  list->count = 0;
  if (model->info->kind == SC_KIND_AUDIO) {
    add(list, of_audio, COUNT(of_audio));
    return;
  }
  add(list, levels, COUNT(levels));
  add_separation(list, &model->result->stereo);
  add(list, others, COUNT(others));
  add_lines(list, model);
}

void view_stereo_sentence(const struct view_state *state, const struct view_model *model, char *out,
                          size_t size)
{
  (void)state;
  const struct sc_result *result = model->result;
  if (result == NULL)
    snprintf(out, size, "stereo: nothing is measured yet.");
  else if (model->info->kind == SC_KIND_AUDIO)
    snprintf(out, size, "stereo: what the recording keeps apart. %s", result->account);
  else
    snprintf(out, size, "stereo: %s: %s.",
             result->stereo.mode == SC_MODE_STEREO                     ? "pilot and difference"
             : result->stereo.mode == SC_MODE_MONO                     ? "mono"
             : result->stereo.mode == SC_MODE_PILOT_ONLY               ? "the pilot alone"
             : result->stereo.mode == SC_MODE_UNMODULATED              ? "no modulation"
             : result->stereo.mode == SC_MODE_DIFFERENCE_WITHOUT_PILOT ? "a difference, no pilot"
                                                                       : "open",
             result->stereo.evidence);
}

void view_stereo(struct view_grid *grid, struct view_box box, const struct view_state *state,
                 const struct view_model *model)
{
  struct list list;
  if (model->result == NULL)
    return;
  gather(model, &list);
  view_facts(grid, box, model->result, list.facts, list.count, state->sheet_first);
}

int view_stereo_last(struct view_box box, bool ascii, const struct view_model *model)
{
  struct list list;
  gather(model, &list);
  return view_facts_last(box, ascii, model->result, list.facts, list.count);
}
