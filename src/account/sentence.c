/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The sentence that a report and a screen begin with. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "account/account.h"
#include "account/recording.h"
#include "account/roles.h"
#include "account/scaled.h"
#include "account/words.h"
#include "common/number.h"

static const double pilot_hz = 19000;        /* ITU-R BS.450-3, 2.2 */
static const double overload_share = 0.01;   /* fewer frames are a notice only */
static const double apart_hz = 0.1;          /* as words tell frequencies */
static const double encoder_off_percent = 1; /* our choice; crystals keep 0.01 % */

SC_PRINTF(2, 3) static void say(struct sc_result *result, const char *format, ...)
{
  size_t length = strlen(result->account);
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(result->account + length, sizeof result->account - length, format, arguments);
  va_end(arguments);
}

/* Before anything that it puts in doubt. */
static void say_overload(struct sc_result *result)
{
  const struct sc_capture_facts *capture = &result->capture;
  const double share = (double)capture->clipped / fmax(1.0, (double)capture->frames);
  if (share >= overload_share)
    say(result,
        "Overloaded: %.3g %% of the frames are at an end of the range, so do not rely on the "
        "numbers and lines below; record with less gain. ",
        100.0 * share);
}

/* It makes numbers and verdicts of nothing; how full the range is cannot be told either. */
static bool say_type(struct sc_result *result)
{
  const char *type = result->capture.info.likely_type;
  if (type[0] == '\0')
    return false;
  say(result,
      "The samples look like %s and were read as another type (--type %s), so do not rely on the "
      "numbers and lines below. ",
      type, type);
  return true;
}

static void say_carrier(struct sc_result *result)
{
  const struct sc_carrier *carrier = &result->carrier;
  if (carrier->present != SC_YES)
    say(result, "No carrier is measured: %s", carrier->why != NULL ? carrier->why : "no evidence");
  else if (result->carrier_frequency_hz.why == NULL)
    say(result, "A carrier at %.6f MHz", result->carrier_frequency_hz.value / 1e6);
  else if (carrier->offset_hz.why == NULL)
    say(result, "A carrier %s Hz from the centre",
        common_number(carrier->offset_hz.value, 1, true).text);
  else
    say(result, "A carrier whose frequency is not measurable here");
}

/* What a carrier that moves makes of its lines. */
static const char *effect_on(const struct sc_line_list *lines)
{
  return lines->jumped     ? "those of a stretch between its jumps"
         : lines->followed ? "followed"
                           : "blurred by that";
}

static void say_wander(struct sc_result *result)
{
  const struct sc_carrier *carrier = &result->carrier;
  const double rms_hz = carrier->wander_rms_hz.value, record_s = result->air_lines.record_s;
  char period[64] = "";
  if (carrier->wander_period_s.why == NULL)
    snprintf(period, sizeof period, ", to and fro in %.3g s", carrier->wander_period_s.value);
  say(result, " that %s within %s Hz%s", result->air_lines.jumped ? "jumps" : "wanders",
      common_number(carrier->wander_span_hz.value, carrier->wander_span_hz.value < 100, false).text,
      period);
  if (result->air_lines.why == NULL && (result->air_lines.followed || rms_hz * record_s > 1))
    say(result, "; its lines are %s", effect_on(&result->air_lines));
  say(result, " (its oscillator, or the receiver's, is not steady)");
}

/* Where it blurs the lines on air: in a record of T by more than 1 / T. What a fitted tone leaves
 * of such a line passes for noise that hides it. */
static void say_drift(struct sc_result *result)
{
  const struct sc_carrier *carrier = &result->carrier;
  const double record_s = result->air_lines.record_s;
  if (carrier->present == SC_YES && carrier->wanders == SC_YES)
    say_wander(result);
  else if (carrier->present == SC_YES && carrier->drifts == SC_YES &&
           result->air_lines.why == NULL &&
           (result->air_lines.followed ||
            fabs(carrier->drift_hz_s.value) * record_s * record_s > 1))
    say(result, " that drifts by %s Hz/s, %s (let it and the receiver warm up)",
        common_number(carrier->drift_hz_s.value, 1, true).text,
        result->air_lines.followed ? "in which its lines are followed" : "which blurs its lines");
}

/* A hint. Near to its place an encoder's own oscillator may be off as well. */
static void say_scaled(struct sc_result *result)
{
  struct account_scaled scaled;
  if (!account_find_scaled(result, &scaled))
    return;
  const double scale = scaled.hz / pilot_hz, off_percent = 100 * fabs(scale - 1);
  say(result, ", but a tone at %.1f Hz%s: it is the pilot ", scaled.hz,
      scaled.has_pairs ? " and pairs about twice that" : "");
  if (off_percent < encoder_off_percent)
    say(result, "if the encoder is off by %.2g %%, or ", off_percent);
  say(result, "if the sample rate is stated %.5g times as high as it is", scale);
}

static void say_pilot(struct sc_result *result)
{
  const struct sc_pilot *pilot = &result->pilot;
  if (pilot->present == SC_NO)
    say(result, "no stereo pilot%s",
        result->stereo.mode == SC_MODE_DIFFERENCE_WITHOUT_PILOT
            ? ", but the difference signal of stereo"
            : "");
  else if (pilot->present == SC_UNKNOWN)
    say(result, "a stereo pilot cannot be told");
  else if (pilot->deviation_khz.why == NULL)
    say(result, "a stereo pilot at %.2f Hz with %.2f kHz", pilot->frequency_hz.value,
        pilot->deviation_khz.value);
  else
    say(result, "a stereo pilot at %.2f Hz", pilot->frequency_hz.value);
}

/* A corner in the composite makes lines all over; the pilot is in it only where it comes after. */
static void say_cut_off(struct sc_result *result)
{
  const struct sc_quantity *khz = &result->deviation.cut_off_khz;
  if (khz->why == NULL && khz->value > 0)
    say(result, "; the composite is cut off at %.0f kHz with its pilot, which makes lines far out",
        khz->value);
}

static void say_audio(struct sc_result *result)
{
  const char *order = sc_channel_order_name(result->audio.order);
  if (result->audio.sequence == SC_UNKNOWN)
    return;
  if (result->audio.sequence == SC_NO)
    say(result, "; the test audio is not in it");
  else if (order != NULL)
    say(result, "; the test audio is in it, the channels are %s", order);
  else
    say(result, "; the test audio is in it");
  if (sc_audio_inverted(&result->audio))
    say(result, "%s one channel is inverted", order != NULL ? ", but" : ",");
}

/* Measured: a neighbour 200 kHz away that moves it by 10 % adds 0.3 % to the rms deviation, one
 * that moves it by 19 % adds 4.8 %, and one of less than 4 % nothing that shows. */
static const double much_percent = 4;

bool account_envelope_moves(const struct sc_result *result)
{
  const struct sc_quantity *envelope = &result->noise.envelope_percent;
  return result->composite_why == NULL && result->capture.info.kind == SC_KIND_IQ &&
         !result->composite_truncated && envelope->why == NULL && envelope->value > much_percent;
}

static size_t count_of(const struct sc_line_list *list, enum sc_verdict verdict)
{
  size_t count = 0;
  for (size_t i = 0; i < list->count; i++)
    count += list->lines[i].verdict == verdict;
  return count;
}

static void say_verdicts(struct sc_result *result)
{
  static const enum sc_verdict order[] = {SC_VERDICT_EXPLAINED, SC_VERDICT_RESIDUAL,
                                          SC_VERDICT_SPURIOUS, SC_VERDICT_ARTEFACT,
                                          SC_VERDICT_UNKNOWN};
  const struct sc_line_list *list = &result->air_lines;
  if (list->why != NULL)
    return;
  if (list->count == 0) {
    say(result, " No steady line stands out on air.");
    return;
  }
  say(result, " Of %zu line%s on air", list->count, list->count == 1 ? "" : "s");
  const char *before = " ";
  for (size_t i = 0; i < sizeof order / sizeof order[0]; i++) {
    size_t count = count_of(list, order[i]);
    if (count == 0)
      continue;
    say(result, "%s%zu %s %s", before, count, count == 1 ? "is" : "are", sc_verdict_name(order[i]));
    before = ", ";
  }
  say(result, ".");
}

enum { AM_NAMED = 4 };

/* Lines that one or more amplitude modulations make. */
struct am_lines {
  double hz[AM_NAMED];
  size_t count, named; /* lines; frequencies */
  bool more;           /* frequencies than those */
  bool mains;          /* all are multiples of it */
};

/* By rising frequency, each once, as far as words tell them apart; of more than there is room for
 * the lowest stay. */
static void count_am(struct am_lines *am, double hz)
{
  char words[ACCOUNT_NAME_LENGTH];
  size_t at = 0;
  am->count++;
  am->mains = am->mains && account_mains_words(hz, words, sizeof words);
  while (at < am->named && am->hz[at] < hz - apart_hz)
    at++;
  if (at < am->named && fabs(am->hz[at] - hz) <= apart_hz)
    return;
  am->more = am->more || am->named == AM_NAMED;
  am->named += am->named < AM_NAMED;
  for (size_t i = am->named; at < am->named && --i > at;)
    am->hz[i] = am->hz[i - 1];
  if (at < am->named)
    am->hz[at] = hz;
}

/* One fault makes many lines: amplitude modulation has a pair beside each of the modulation's. */
static void say_am(struct sc_result *result)
{
  const struct sc_line_list *list = &result->air_lines;
  struct am_lines am = {.mains = true};
  char words[ACCOUNT_NAME_LENGTH];
  for (size_t i = 0; list->why == NULL && i < list->count; i++)
    if (list->lines[i].am_hz > 0 && list->lines[i].verdict == SC_VERDICT_SPURIOUS)
      count_am(&am, list->lines[i].am_hz);
  if (am.count < 2)
    return;
  say(result, " %zu spurious lines are of %s", am.count,
      am.named == 1 ? "one amplitude modulation, of " : "amplitude modulation, of ");
  for (size_t i = 0; i < am.named; i++) {
    const char *between = i == 0 ? "" : i + 1 == am.named && !am.more ? " and " : ", ";
    account_frequency_words(am.hz[i], words);
    say(result, "%s%s", between, words);
  }
  say(result, "%s", am.more ? " and more" : "");
  if (am.mains)
    say(result, ": %s of the mains', as of a supply that hums",
        am.named == 1 ? "a multiple" : "multiples");
  say(result, ".");
}

void account_sentence(struct sc_result *result)
{
  const char *kind = result->capture.info.kind == SC_KIND_AUDIO ? "Audio" : "A composite";
  char recording[sizeof result->account];
  result->account[0] = '\0';
  const bool mistyped = say_type(result);
  if (!mistyped)
    say_overload(result);
  if (result->capture.info.kind == SC_KIND_IQ) {
    say_carrier(result);
    say_drift(result);
  } else {
    say(result, "%s of %.2f s", kind, result->capture.duration_s);
  }
  if (result->capture.info.kind != SC_KIND_IQ && result->unmeasured != NULL)
    say(result, ": %s", result->unmeasured);
  if (result->capture.info.kind == SC_KIND_AUDIO)
    say_audio(result);
  account_recording_words(result, recording, sizeof recording);
  say(result, "%s", recording);
  if (result->composite_why == NULL) {
    say(result, "; ");
    say_pilot(result);
    if (!mistyped)
      say_scaled(result);
    say_cut_off(result);
    if (account_envelope_moves(result))
      say(result, "; its envelope moves by %.2g %%, as that of FM does not",
          result->noise.envelope_percent.value);
  } else if (result->carrier.present == SC_YES) {
    say(result, "; no composite: %s", result->composite_why);
  }
  say(result, ".");
  if (result->baseline_refused)
    say(result, " The baseline is not used: it holds an FM signal in this channel.");
  say_verdicts(result);
  say_am(result);
}
