/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <sidecomb/brief.h>

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include <sidecomb/fields.h>
#include <sidecomb/rows.h>

#include "common/number.h"
#include "common/text.h"
#include "report/absent.h"
#include "report/brief_row.h"

static const double pilot_hz = 19e3, pilot_within_hz = 2; /* ITU-R BS.450-3; 47 CFR 73.322(a)(1) */

static const double degree = 3.14159265358979323846 / 180;
/* Our choice: what hardly a receiver keeps. */
static const double separation_good_db = 60;

enum { OPEN_MOST = 4, CELL = 96 };

/* Our choice: of channels that are equal and opposite a mono receiver gets less than a tenth. */
static const double opposite_until = -0.995, opposite_within_db = 0.5;

void report_brief_add(struct sc_brief_row *row, const char *format, ...)
{
  const size_t length = strlen(row->text);
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(row->text + length, sizeof row->text - length, format, arguments);
  va_end(arguments);
}

struct answer {
  const char *label;
  void (*say)(struct sc_brief_row *row, const struct sc_result *result);
};

/* As many digits as its uncertainty deserves; the uncertainty itself stands below. */
void report_brief_quantity(struct sc_brief_row *row, struct sc_quantity quantity, int decimals,
                           const char *unit)
{
  const int deserved = sc_decimals(quantity.uncertainty, decimals);
  report_brief_add(row, "%s %s", common_number(quantity.value, deserved, false).text, unit);
}

/* ---- what was found in each part */

/* Only where it is beyond the tolerance, also when no clock is known: a limit stays open then,
 * though hardly a clock is that wrong. */
static void say_pilot(struct sc_brief_row *row, const struct sc_result *result)
{
  const struct sc_pilot *pilot = &result->pilot;
  const double error_hz = pilot->frequency_error_hz.value;
  if (pilot->frequency_error_hz.why != NULL || fabs(error_hz) <= pilot_within_hz)
    return;
  report_brief_add(row, "%s Hz %s 19 kHz, more than %.0f Hz",
                   common_number(fabs(error_hz), fabs(error_hz) < 10 ? 2 : 1, false).text,
                   error_hz > 0 ? "above" : "below", pilot_within_hz);
  if (pilot->within_tolerance == SC_UNKNOWN)
    report_brief_add(row, ", unless the sample clock is wrong by %.0f ppm or more (--clock-ppm)",
                     (fabs(error_hz) - pilot_within_hz) / pilot_hz * 1e6);
}

static const double seen_percent = 0.1;

static void say_subcarrier(struct sc_brief_row *row, const struct sc_result *result)
{
  const struct sc_stereo *stereo = &result->stereo;
  if (stereo->residual_present == SC_YES && stereo->residual_percent.why == NULL) {
    const double percent = stereo->residual_percent.value;
    report_brief_add(row, "left over, ");
    if (percent < seen_percent) /* two decimals would show none */
      report_brief_add(row, "%.2g %% of 75 kHz", percent);
    else
      report_brief_quantity(row, stereo->residual_percent, 2, "% of 75 kHz");
  } else if (stereo->residual_present == SC_YES) {
    report_brief_add(row, "left over");
    if (stereo->residual_level_db_pilot.why == NULL) {
      report_brief_add(row, ", ");
      report_brief_quantity(row, stereo->residual_level_db_pilot, 1, "dB re pilot");
    }
  } else if (stereo->residual_present == SC_NO) {
    report_brief_add(row, "none left over");
    if (stereo->residual_limit_percent.why == NULL) {
      report_brief_add(row, "; %.2g %% of 75 kHz would have been seen",
                       stereo->residual_limit_percent.value);
    }
  } else if (stereo->residual_present == SC_UNKNOWN && stereo->mode == SC_MODE_STEREO &&
             stereo->residual_level_db_pilot.why != NULL) {
    report_brief_add(row, "open: %s", stereo->residual_level_db_pilot.why);
    if (stereo->residual_limit_percent.why == NULL)
      report_brief_add(row, ", up to %.2g %% of 75 kHz", stereo->residual_limit_percent.value);
  }
}

/* A decoder takes the carrier of the difference from the pilot: by cos(phase) it hears the
 * difference weaker than the sum, and (1 + cos) / (1 - cos) is all the separation that is left.
 * Only where that is worth a word. */
static void say_phase(struct sc_brief_row *row, const struct sc_result *result)
{
  const struct sc_quantity *phase = &result->stereo.phase_error_deg;
  if (phase->why != NULL || result->stereo.mode != SC_MODE_STEREO)
    return;
  const double kept = fabs(cos(phase->value * degree));
  const double separation_db = 20 * log10((1 + kept) / (1 - kept));
  if (!(separation_db < separation_good_db) || !(fabs(phase->value) > 3 * phase->uncertainty))
    return;
  report_brief_quantity(row, *phase, 2, "degrees against the pilot");
  report_brief_add(row, ", which alone limits separation to %s dB",
                   common_number(separation_db, 1, false).text);
}

static void say_data(struct sc_brief_row *row, const struct sc_result *result)
{
  const struct sc_rds *rds = &result->rds;
  if (rds->present == SC_NO) {
    report_brief_add(row, "none");
    if (rds->detection_limit_khz.why == NULL) {
      report_brief_add(row, "; %.2g kHz would have been seen", rds->detection_limit_khz.value);
    }
  }
  if (rds->present != SC_YES)
    return;
  report_brief_add(row, "%s%s%s",
                   rds->data.pi[0] != '\0' ? rds->data.pi : "there, no station known",
                   rds->data.ps[0] != '\0' ? " " : "", rds->data.ps);
  if (rds->injection_khz.why == NULL) {
    report_brief_add(row, ", ");
    report_brief_quantity(row, rds->injection_khz, 2, "kHz");
  }
  if (rds->block_error_rate.why == NULL)
    report_brief_add(row, ", %s %% of the blocks with errors",
                     common_number(100 * rds->block_error_rate.value, 1, false).text);
  if (rds->phase_within == SC_NO && rds->phase_deg.why == NULL) {
    report_brief_add(row, "; ");
    report_brief_quantity(row, rds->phase_deg, 1,
                          "degrees against the pilot's third harmonic, not within 10 of 0 or 90");
  }
}

/* "(band: RDS", and of what is none of the services "(tone, no service: ...". */
static void say_kind(struct sc_brief_row *row, const struct sc_injection *one)
{
  static const char none[] = "none: ";
  const char *label = one->label != NULL ? one->label : "";
  const bool is_none = strncmp(label, none, strlen(none)) == 0;
  report_brief_add(row, " (%s%s%s", sc_injection_kind_name(one->kind),
                   is_none         ? ", no service: "
                   : label[0] != 0 ? ": "
                                   : "",
                   is_none ? label + strlen(none) : label);
}

/* Where its middle is not known, what it stands out of the noise between. */
static void say_place(struct sc_brief_row *row, const struct sc_injection *one)
{
  if (one->offset_hz.why == NULL)
    report_brief_add(row, "%s kHz", common_number(one->offset_hz.value * 1e-3, 1, false).text);
  else
    report_brief_add(row, "within %s to %s kHz", common_number(one->lower_hz * 1e-3, 1, false).text,
                     common_number(one->upper_hz * 1e-3, 1, false).text);
}

static void say_others(struct sc_brief_row *row, const struct sc_result *result)
{
  const struct sc_injections *all = &result->injections;
  if (all->why != NULL)
    return;
  if (all->count == 0)
    report_brief_add(row, "nothing");
  for (size_t i = 0; i < all->count; i++) {
    const struct sc_injection *one = &all->at[i];
    report_brief_add(row, "%s", i > 0 ? "; " : "");
    say_place(row, one);
    if (one->deviation_khz.why == NULL) {
      report_brief_add(row, ", ");
      report_brief_quantity(row, one->deviation_khz, 2, "kHz");
    }
    if (one->injection_percent.why == NULL) {
      report_brief_add(row, ", ");
      report_brief_quantity(row, one->injection_percent, 1, "%");
    }
    say_kind(row, one);
    report_brief_add(row, "%s%s)", one->customary != NULL ? "; customary " : "",
                     one->customary != NULL ? one->customary : "");
  }
}

static bool are_opposite(const struct sc_stereo *stereo)
{
  return stereo->correlation.why == NULL && stereo->correlation.value < opposite_until &&
         stereo->balance_db.why == NULL && fabs(stereo->balance_db.value) < opposite_within_db;
}

static void say_channels(struct sc_brief_row *row, const struct sc_result *result)
{
  const struct sc_stereo *stereo = &result->stereo;
  const char *order = sc_channel_order_name(result->audio.order);
  const bool audio = result->capture.info.kind == SC_KIND_AUDIO;
  const char *mode = audio ? NULL : sc_stereo_mode_name(stereo->mode);
  if (mode == NULL && order == NULL)
    return;
  for (const char *c = mode; c != NULL && *c != '\0'; c++)
    report_brief_add(row, "%c", *c == '_' ? ' ' : *c);
  if (!audio && are_opposite(stereo))
    report_brief_add(row,
                     "; left and right are opposite, so a mono receiver hears next to nothing");
  if (order != NULL)
    report_brief_add(row, "%sthe channels are %s", mode != NULL ? "; " : "", order);
  else if (stereo->mode == SC_MODE_STEREO)
    report_brief_add(row, "; which is left only the test audio tells");
  if (sc_audio_inverted(&result->audio))
    report_brief_add(row, "%sone channel is inverted", row->text[0] != '\0' ? ", but " : "");
}

/* `unseen`: what to say of the bound where there is no value. */
static void say_one_separation(struct sc_brief_row *row, const char *way, struct sc_quantity value,
                               const char *unseen, struct sc_quantity bound)
{
  if (value.why != NULL && bound.why != NULL)
    return;
  report_brief_add(row, "%s%s%s: ", row->text[0] != '\0' ? "; " : "", way,
                   value.why == NULL ? "" : unseen);
  report_brief_quantity(row, value.why == NULL ? value : bound, 1, "dB");
}

/* The test audio's, else that of steady tones. */
static void say_separation(struct sc_brief_row *row, const struct sc_result *result)
{
  const struct sc_audio *audio = &result->audio;
  const struct sc_stereo *stereo = &result->stereo;
  if (audio->order == SC_ORDER_NORMAL || audio->order == SC_ORDER_SWAPPED) {
    static const char unseen[] = ", nothing in the other channel, seen up to";
    say_one_separation(row, "left to right", audio->separation_left_to_right_db, unseen,
                       audio->separation_limit_db);
    say_one_separation(row, "right to left", audio->separation_right_to_left_db, unseen,
                       audio->separation_limit_db);
  } else if (result->capture.info.kind != SC_KIND_AUDIO) {
    static const char unseen[] = ", at least";
    say_one_separation(row, "left to right", stereo->separation_left_to_right_db, unseen,
                       stereo->separation_left_to_right_at_least_db);
    say_one_separation(row, "right to left", stereo->separation_right_to_left_db, unseen,
                       stereo->separation_right_to_left_at_least_db);
  }
}

static void say_preemphasis(struct sc_brief_row *row, const struct sc_result *result)
{
  const char *law = sc_audio_law_name(result->audio.law);
  if (result->preemphasis.tau_us.why == NULL)
    report_brief_quantity(row, result->preemphasis.tau_us, 0, "µs");
  else if (result->capture.info.kind == SC_KIND_AUDIO && law != NULL)
    report_brief_add(row, "%s", law);
  else if (result->preemphasis.basis != NULL && result->capture.info.kind != SC_KIND_AUDIO)
    report_brief_add(row, "open: %s", result->preemphasis.basis);
}

static void say_deviation(struct sc_brief_row *row, const struct sc_result *result)
{
  const struct sc_deviation *deviation = &result->deviation;
  const bool clean = deviation->corrected_khz.why == NULL;
  if (!clean && deviation->peak_khz.why != NULL)
    return;
  report_brief_quantity(row, clean ? deviation->corrected_khz : deviation->peak_khz, 2,
                        clean ? "kHz, held peak without noise" : "kHz, held peak, raw");
}

/* The bound stands where nothing rose above the capture's noise. */
static void say_noise(struct sc_brief_row *row, struct sc_quantity value, struct sc_quantity bound,
                      const char *more)
{
  if (value.why != NULL && bound.why != NULL)
    return;
  report_brief_add(row, "%s", value.why != NULL ? "at most " : "");
  report_brief_quantity(row, value.why == NULL ? value : bound, 1, "dB");
  report_brief_add(row, "%s", more);
}

static void say_am(struct sc_brief_row *row, const struct sc_result *result)
{
  const struct sc_noise *noise = &result->noise;
  say_noise(row, noise->am_unmodulated_db, noise->am_unmodulated_at_most_db, ", without programme");
  if (row->text[0] == '\0')
    say_noise(row, noise->am_synchronous_db, noise->am_synchronous_at_most_db, ", under programme");
  if (row->text[0] == '\0' && noise->envelope_percent.why == NULL &&
      noise->am_synchronous_at_most_db.why != NULL) {
    report_brief_add(row, "open: %s; the envelope moves by ", noise->am_synchronous_at_most_db.why);
    report_brief_quantity(row, noise->envelope_percent, 2, "%");
  }
}

static void say_hum(struct sc_brief_row *row, const struct sc_result *result)
{
  const struct sc_noise *noise = &result->noise;
  say_noise(row, noise->fm_noise_db, noise->fm_noise_at_most_db, " re 75 kHz");
  if (row->text[0] == '\0' && result->composite_why == NULL && noise->fm_noise_db.why != NULL)
    report_brief_add(row, "open: %s", noise->fm_noise_db.why);
}

static void say_width(struct sc_brief_row *row, const struct sc_result *result)
{
  if (result->occupancy.obw99_hz.why == NULL)
    report_brief_add(row, "%s kHz hold 99 %% of the power",
                     common_number(result->occupancy.obw99_hz.value * 1e-3, 1, false).text);
}

static const struct answer answers[] = {
    {"not explained on air", report_brief_air},
    {"  in the composite", report_brief_composite},
    {"deviation", say_deviation},
    {"width", say_width},
    {"pilot", say_pilot},
    {"38 kHz carrier", say_subcarrier},
    {"  its phase", say_phase},
    {"data (RDS)", say_data},
    {"above 53 kHz", say_others},
    {"left and right", say_channels},
    {"separation", say_separation},
    {"pre-emphasis", say_preemphasis},
    {"AM", say_am},
    {"hum and noise", say_hum},
};

/* ---- limits */

static void say_broken(struct sc_brief_row *row, const struct sc_limit *limit,
                       const struct sc_limit_verdict *verdict)
{
  char value[CELL];
  const struct sc_value *judged = verdict->bound.field != NULL ? &verdict->bound : &verdict->value;
  const struct report_label label = report_label(limit->section, judged->field);
  sc_format_value(judged, value, sizeof value);
  report_brief_add(row, "%s, %s%s%s: %s%s", limit->section->title, label.above, label.colon,
                   label.own, value,
                   verdict->sure ? "" : ", within twice its uncertainty of the limit");
  if (limit->source[0] != '\0')
    report_brief_add(row, " (%s)", limit->source);
}

/* What is open must not pass for kept. */
static void say_open_limits(struct sc_brief_row *row, const struct sc_limits *limits,
                            const struct sc_result *result)
{
  size_t open = 0;
  for (size_t i = 0; i < limits->count; i++) {
    const struct sc_limit *limit = &limits->limits[i];
    if (sc_limit_judge(limit, result).kept != SC_UNKNOWN)
      continue;
    const struct report_label label = report_label(limit->section, limit->field);
    if (open++ < OPEN_MOST)
      report_brief_add(row, "%s%s, %s%s%s", open == 1 ? "; open: " : "; ", limit->section->title,
                       label.above, label.colon, label.own);
  }
  if (open > OPEN_MOST)
    report_brief_add(row, "; and %zu more", open - OPEN_MOST);
}

static void say_limits(struct sc_brief_row *row, const struct sc_limits *limits,
                       const struct sc_result *result)
{
  size_t judged = 0, broken = 0;
  for (size_t i = 0; i < limits->count; i++) {
    const struct sc_limit_verdict verdict = sc_limit_judge(&limits->limits[i], result);
    judged += verdict.kept != SC_UNKNOWN;
    if (verdict.kept != SC_NO)
      continue;
    report_brief_add(row, "%s", broken++ > 0 ? "; " : "not kept: ");
    say_broken(row, &limits->limits[i], &verdict);
  }
  if (judged == 0)
    report_brief_add(row, "none of %zu could be judged", limits->count);
  else if (broken == 0)
    report_brief_add(row, "%zu of %zu kept", judged, limits->count);
  if (judged > 0)
    say_open_limits(row, limits, result);
}

/* False: the standards have none for what was measured. */
static bool take_standard(const struct sc_result *result, struct sc_limits *limits)
{
  struct sc_message message;
  return result->composite_why == NULL &&
         sc_limits_parse(sc_limits_standard(), "standard", limits, &message) == SC_OK;
}

static void say_standard(struct sc_brief_row *row, const struct sc_result *result)
{
  struct sc_limits limits;
  if (take_standard(result, &limits))
    say_limits(row, &limits, result);
}

static void say_masks(struct sc_brief_row *row, const struct sc_result *result)
{
  for (size_t i = 0; i < result->mask_count; i++) {
    const struct sc_mask_result *mask = &result->masks[i];
    report_brief_add(row, "%s%s: %s", i > 0 ? "; " : "", mask->name,
                     mask->pass == SC_YES  ? "kept where it was judged"
                     : mask->pass == SC_NO ? "not kept"
                                           : "open");
    if (mask->worst_margin_db.why == NULL) {
      report_brief_add(row, ", worst margin ");
      report_brief_quantity(row, mask->worst_margin_db, 1, "dB");
    }
  }
}

/* ---- rows */

static struct sc_brief_row *begin(struct sc_brief *brief, const char *label)
{
  struct sc_brief_row *row = &brief->rows[brief->count];
  *row = (struct sc_brief_row){.label = label};
  return row;
}

/* A row that says nothing is none. */
static void end(struct sc_brief *brief)
{
  struct sc_brief_row *row = &brief->rows[brief->count];
  common_clean_string(row->text);
  brief->count += row->text[0] != '\0';
}

void sc_brief_make(const struct sc_result *result, const struct sc_limits *limits,
                   struct sc_brief *brief)
{
  _Static_assert(sizeof answers / sizeof answers[0] + 2 <= SC_BRIEF_ROWS_MAX, "limits and masks");
  brief->count = 0;
  if (result->unmeasured != NULL)
    return;
  for (size_t i = 0; i < sizeof answers / sizeof answers[0]; i++) {
    answers[i].say(begin(brief, answers[i].label), result);
    end(brief);
  }
  struct sc_brief_row *row = begin(brief, limits != NULL ? "limits" : "limits of standards");
  if (limits != NULL)
    say_limits(row, limits, result);
  else
    say_standard(row, result);
  end(brief);
  say_masks(begin(brief, "masks"), result);
  end(brief);
}

struct sc_cautions sc_cautions_count(const struct sc_result *result, const struct sc_limits *limits)
{
  struct sc_cautions cautions = {.notices = result->capture.notices.count + result->warnings.count};
  struct sc_limits standard;
  if (limits == NULL && result->unmeasured == NULL && take_standard(result, &standard))
    limits = &standard;
  for (size_t i = 0; limits != NULL && i < limits->count; i++)
    cautions.broken += sc_limit_judge(&limits->limits[i], result).kept == SC_NO;
  for (size_t i = 0; i < result->mask_count; i++)
    cautions.broken += result->masks[i].pass == SC_NO;
  return cautions;
}
