/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a line of the composite is. A name needs evidence beside the position: a measured pilot,
 * an exact multiple of it, a twin on the other side of its double. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>

#include "account/changing.h"
#include "account/origins.h"
#include "account/roles.h"
#include "account/words.h"

/* 47 CFR 73.322(a): sum and difference carry 50 Hz to 15 kHz; rumble below is tone as well. */
static const double sum_lower_hz = 10, sum_upper_hz = 15000;
static const double difference_upper_hz = 15000;
static const double twin_db = 1, sigmas = 4;
/* In captures made with a second ray of 5 to 30 %, 1 to 10 us late, of tones and of music, no line
 * beside those of low order had more than 4 % of the envelope's rms movement as its index. */
static const double received_share = 0.1, received_least_percent = 1;
static const double centred_hz = 20; /* our choice: at 30 Hz an image's lines are told (tried) */
static const double weaker_db = 20;  /* than the line that amplitude modulation is beside */

bool account_is_at(const struct account_composite *composite, const struct sc_line *line, double hz,
                   double uncertainty_hz)
{
  double spread = hypot(line->offset_hz.uncertainty, uncertainty_hz);
  return fabs(line->offset_hz.value - hz) <= account_exact_hz(composite->list, spread);
}

const struct sc_line *account_line_at(const struct account_composite *composite,
                                      const struct sc_line *line, double hz, double uncertainty_hz)
{
  for (size_t i = 0; i < composite->list->count; i++) {
    const struct sc_line *other = &composite->list->lines[i];
    if (other != line && other->verdict != SC_VERDICT_ARTEFACT &&
        account_is_at(composite, other, hz, uncertainty_hz))
      return other;
  }
  return NULL;
}

static bool is_multiple(const struct account_composite *composite, const struct sc_line *line,
                        int times)
{
  return composite->pilot && account_is_at(composite, line, times * composite->pilot_hz,
                                           times * composite->pilot_uncertainty_hz);
}

/* "0.60 % of 75 kHz", or relative to the pilot where there is no scale. */
static void share_words(const struct sc_line *line, char name[ACCOUNT_NAME_LENGTH])
{
  if (line->deviation_khz.why == NULL)
    snprintf(name, ACCOUNT_NAME_LENGTH, "%.2f %% of 75 kHz", line->deviation_khz.value / 0.75);
  else if (line->level_db_pilot.why == NULL)
    snprintf(name, ACCOUNT_NAME_LENGTH, "%.1f dB below the pilot", -line->level_db_pilot.value);
  else
    snprintf(name, ACCOUNT_NAME_LENGTH, "%.1f dB", account_level_db(line));
}

static bool is_pilot(const struct account_composite *composite, const struct sc_line *line)
{
  double away = fabs(line->offset_hz.value - composite->pilot_hz);
  return composite->pilot && away <= composite->list->resolution_hz / 2;
}

/* ---- roles, each true when it was given */

static bool as_pilot(const struct account_composite *composite, struct sc_line *line)
{
  char share[ACCOUNT_NAME_LENGTH];
  if (!is_pilot(composite, line))
    return false;
  share_words(line, share);
  account_label(line, "pilot");
  account_verdict(line, SC_VERDICT_EXPLAINED, "the stereo pilot, a steady tone: %s",
                  line->deviation_khz.why == NULL ? share : "measured apart");
  return true;
}

/* Low notes of the difference come as close to 38 kHz: whether it is theirs the measurement of the
 * residual tells (sidecomb/stereo.h), where the capture is long enough for it. */
static bool may_be_low_notes(const struct sc_stereo *stereo)
{
  return stereo->residual_present == SC_NO ||
         (stereo->residual_present == SC_UNKNOWN && stereo->difference_rms_khz.why == NULL &&
          stereo->difference_rms_khz.value > 0);
}

static bool as_subcarrier_residual(const struct account_composite *composite, struct sc_line *line)
{
  char share[ACCOUNT_NAME_LENGTH];
  if (!is_multiple(composite, line, 2))
    return false;
  share_words(line, share);
  if (may_be_low_notes(&composite->scene->result->stereo)) {
    account_verdict(line, SC_VERDICT_UNKNOWN,
                    "a residual of the 38 kHz subcarrier, or the programme's low notes: %s", share);
    return true;
  }
  account_label(line, "38 kHz residual");
  account_verdict(line, SC_VERDICT_RESIDUAL,
                  "residual of the 38 kHz subcarrier, or second harmonic of the pilot: %s", share);
  return true;
}

static const struct sc_line *twin_of(const struct account_composite *composite,
                                     const struct sc_line *line)
{
  double wanted = 4 * composite->pilot_hz - line->offset_hz.value;
  double spread = hypot(line->offset_hz.uncertainty, 4 * composite->pilot_uncertainty_hz);
  return account_line_at(composite, line, wanted, spread);
}

/* Notes that change within a record leave peaks on either side of 38 kHz that are no twins of each
 * other. Such a peak is not in all records, or not alike. */
static bool is_of_changing_notes(const struct account_composite *composite,
                                 const struct sc_line *line)
{
  return composite->changes && (line->tone.moment_count < composite->list->records ||
                                account_is_unsteady(composite->list, line));
}

static void say_changing(struct sc_line *line, const char *name)
{
  account_label(line, "difference %s", name);
  account_verdict(line, SC_VERDICT_EXPLAINED,
                  "about %s from 38 kHz, of the stereo difference: it comes and goes, as the "
                  "programme's notes do, whose twins are then unequal",
                  name);
}

static bool as_difference(const struct account_composite *composite, struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH];
  double audio = fabs(line->offset_hz.value - 2 * composite->pilot_hz);
  const double doubt = hypot(line->offset_hz.uncertainty, 2 * composite->pilot_uncertainty_hz);
  if (!composite->pilot || audio > difference_upper_hz + account_exact_hz(composite->list, doubt))
    return false;
  const struct sc_line *twin = twin_of(composite, line);
  account_frequency_words(audio, name);
  if (twin == NULL && is_of_changing_notes(composite, line)) {
    say_changing(line, name);
    return true;
  }
  if (twin == NULL) {
    account_verdict(line, SC_VERDICT_UNKNOWN,
                    "in the difference band without a twin at the other side of 38 kHz%s",
                    composite->changes             ? ", and steady while the programme changes"
                    : composite->list->records < 2 ? "; one record does not tell whether it is "
                                                     "steady or a note that changes"
                                                   : "");
    return true;
  }
  double unequal = fabs(account_level_db(line) - account_level_db(twin));
  double spread = hypot(line->tone.level_db.uncertainty, twin->tone.level_db.uncertainty);
  account_label(line, "difference %s", name);
  if (unequal <= fmax(twin_db, sigmas * spread))
    account_verdict(line, SC_VERDICT_EXPLAINED,
                    "side band of %s at 38 kHz, the stereo difference; its twin is equal", name);
  else if (is_of_changing_notes(composite, line) || is_of_changing_notes(composite, twin))
    say_changing(line, name);
  else
    account_verdict(line, SC_VERDICT_UNKNOWN,
                    "side band of %s at 38 kHz, but its twin differs by %.1f dB", name, unequal);
  return true;
}

static bool as_pilot_harmonic(const struct account_composite *composite, struct sc_line *line)
{
  for (int times = 4; times <= 5; times++) {
    if (!is_multiple(composite, line, times))
      continue;
    account_label(line, "%d x pilot", times);
    account_verdict(line, SC_VERDICT_UNKNOWN, "possible product: %d times the pilot falls here",
                    times);
    return true;
  }
  return false;
}

static bool as_sum(const struct account_composite *composite, struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH];
  const double exact_hz = account_exact_hz(composite->list, line->offset_hz.uncertainty);
  if (line->offset_hz.value < sum_lower_hz || line->offset_hz.value > sum_upper_hz + exact_hz)
    return false;
  account_frequency_words(line->offset_hz.value, name);
  account_label(line, "sum %s", name);
  account_verdict(line, SC_VERDICT_EXPLAINED, "a tone of %s in the sum of left and right", name);
  return true;
}

/* ---- what a capture on air adds */

/* Of a tone's first lines on air, relative to the carrier; NAN: there is no air. */
static double ratio_on_air(const struct account_composite *composite, const struct sc_line *line)
{
  const bool on_air = composite->scene->result->capture.info.kind == SC_KIND_IQ;
  return on_air && line->deviation_khz.why == NULL
             ? 1e3 * line->deviation_khz.value / line->offset_hz.value / 2
             : (double)NAN;
}

static bool as_rounding(const struct account_composite *composite, struct sc_line *line)
{
  const bool captured = composite->scene->result->composite_full_scale > 0;
  const double size = captured ? line->tone.amplitude : ratio_on_air(composite, line);
  if (!account_is_rounding(composite->scene, composite->list, &line->offset_hz, size))
    return false;
  account_say_rounding(composite->scene, line);
  return true;
}

/* A tone so weak that it, or its lines on air, would be lost among those of the converter. */
static bool as_quantisation(const struct account_composite *composite, struct sc_line *line)
{
  const struct sc_result *result = composite->scene->result;
  const double ratio = ratio_on_air(composite, line);
  const bool captured = result->composite_full_scale > 0;
  if (captured
          ? !account_tone_below_converter(result, line)
          : !account_below_converter(result, result->carrier.level_dbfs.value + 20 * log10(ratio)))
    return false;
  account_verdict(line, SC_VERDICT_UNKNOWN,
                  "so weak that a converter of %u bits may make it by its steps",
                  result->capture.info.bits);
  return true;
}

/* Of a captured composite such a line may as well be anything that has a place. */
static bool as_steps(const struct account_composite *composite, struct sc_line *line)
{
  return composite->scene->result->composite_full_scale > 0 && as_quantisation(composite, line);
}

/* Amplitude modulation beside what stands on the composite. */
static bool as_am_product(const struct account_composite *composite, struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH], of[ACCOUNT_NAME_LENGTH];
  if (composite->scene->am_count > 0 && account_is_hum(composite, line))
    return false;
  for (size_t i = 0; i < composite->scene->am_count; i++)
    for (size_t k = 0; k < composite->list->count; k++) {
      const struct sc_line *other = &composite->list->lines[k];
      double am_hz = composite->scene->ams[i].frequency_hz;
      double away = fabs(line->offset_hz.value - other->offset_hz.value);
      double spread = hypot(line->offset_hz.uncertainty, other->offset_hz.uncertainty);
      if (account_level_db(line) > account_level_db(other) - weaker_db ||
          fabs(away - am_hz) > account_exact_hz(composite->list, spread))
        continue;
      account_frequency_words(am_hz, name);
      account_component_words(other, of);
      account_verdict(line, SC_VERDICT_UNKNOWN,
                      "possible product: the amplitude modulation of %s on the line at %s", name,
                      of);
      return true;
    }
  return false;
}

/* Where a one-sided line on air has its beat, but of another strength. */
static bool as_odd_beat(const struct account_composite *composite, struct sc_line *line)
{
  const struct sc_line_list *air = &composite->scene->result->air_lines;
  for (size_t i = 0; i < air->count; i++) {
    const struct sc_line *other = &air->lines[i];
    double away = fabs(line->offset_hz.value - fabs(other->offset_hz.value));
    double spread = hypot(line->offset_hz.uncertainty, other->offset_hz.uncertainty);
    if (other->mirror >= 0 || away > account_exact_hz(composite->list, spread) ||
        account_mostly_predicted(composite->scene, other))
      continue;
    account_verdict(line, SC_VERDICT_UNKNOWN,
                    "the one-sided line at %+.3f kHz on air beats here, but not alone: the level "
                    "is another",
                    other->offset_hz.value / 1e3);
    return true;
  }
  return false;
}

/* A second ray r exp(j t) of the signal adds r sin(t) to its phase and r cos(t) to its envelope,
 * where t goes with the modulation (derived
 * here), and so does any weak signal beside it (S. O. Rice, Bell Syst. Tech. J. 27, 1948, from
 * memory): as a rule both move alike. What the envelope moves by, less the amplitude modulation
 * that was told, is shared by all the lines that this makes. */
static double received_index(const struct account_scene *scene)
{
  const struct sc_result *result = scene->result;
  const struct sc_quantity *envelope = &result->noise.envelope_percent;
  if (result->capture.info.kind != SC_KIND_IQ || result->composite_truncated ||
      envelope->why != NULL || !(envelope->value > received_least_percent))
    return 0;
  double power = pow(envelope->value / 100, 2);
  for (size_t i = 0; i < scene->am_count; i++)
    power -= scene->ams[i].of_data ? 0 : pow(cabs(scene->ams[i].index), 2) / 2;
  return power > pow(received_least_percent / 100, 2) ? received_share * sqrt(power) : 0;
}

/* So near to the capture's centre the receiver's image falls onto the modulation's own lines, and
 * its direct current onto the carrier: of a share K both turn the carrier by K at most, as above.
 */
static double centred_index(const struct account_scene *scene)
{
  const struct sc_result *result = scene->result;
  const struct sc_quantity *envelope = &result->noise.envelope_percent;
  const struct sc_quantity *image = &result->noise.image;
  if (result->capture.info.kind != SC_KIND_IQ || result->carrier.offset_hz.why != NULL ||
      !(fabs(result->carrier.offset_hz.value) < centred_hz))
    return 0;
  return fmax(image->why == NULL ? image->value : 0,
              envelope->why == NULL ? sqrt(2) * envelope->value / 100 : 0);
}

static bool as_centred(const struct account_composite *composite, struct sc_line *line)
{
  const double index = composite->centred_index;
  if (line->deviation_khz.why != NULL || !(account_index(line) < index))
    return false;
  account_verdict(line, SC_VERDICT_UNKNOWN,
                  "the receiver may make it, tuned right onto the carrier: its image and direct "
                  "current fall onto the modulation and make tones of up to %.2g kHz here; tune it "
                  "50 kHz beside",
                  index * line->offset_hz.value / 1e3);
  return true;
}

/* Which of two is the cause, such a line does not tell; a stronger one is none of these. */
static bool as_received(const struct account_composite *composite, struct sc_line *line)
{
  const double index = composite->received_index;
  if (line->deviation_khz.why != NULL || !(account_index(line) < index))
    return false;
  account_verdict(
      line, SC_VERDICT_UNKNOWN,
      "reception may make it: the envelope moves by %.2g %%, as a reflection or another "
      "signal moves it, and such makes tones of up to %.2g kHz here",
      composite->scene->result->noise.envelope_percent.value, index * line->offset_hz.value / 1e3);
  return true;
}

/* What does not drift along with the carrier beats with it, and that beat moves. */
static bool as_moving(const struct account_composite *composite, struct sc_line *line)
{
  if (!composite->scene->result->air_lines.followed || account_is_steady(composite->list, line))
    return false;
  account_verdict(
      line, SC_VERDICT_UNKNOWN,
      "it moves or comes and goes while the carrier drifts, as a steady tone would not: "
      "perhaps the beat of something on air that does not go with the carrier");
  return true;
}

static void as_free_tone(const struct account_composite *composite, struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH], away[ACCOUNT_NAME_LENGTH];
  account_frequency_words(line->offset_hz.value, name);
  account_frequency_words(fabs(line->nearest_distance_hz), away);
  account_label(line, "tone at %s", name);
  if (fabs(line->nearest_distance_hz) <= line->nearest->tolerance_hz)
    account_verdict(line, SC_VERDICT_UNKNOWN,
                    "a bare tone at the place of: %s; nothing else tells that it is one",
                    line->nearest->name);
  else if (!as_centred(composite, line) && !as_received(composite, line) &&
           !as_moving(composite, line))
    account_verdict(line, SC_VERDICT_SPURIOUS,
                    "a tone at %s, where no standard has one; nearest is %s, %s away", name,
                    line->nearest->name, away);
}

static void give_role(const struct account_composite *composite, struct sc_line *line)
{
  static bool (*const roles[])(const struct account_composite *,
                               struct sc_line *) = {as_pilot,
                                                    as_rounding,
                                                    as_subcarrier_residual,
                                                    account_as_folded,
                                                    account_as_clock,
                                                    account_as_reference,
                                                    as_steps,
                                                    as_difference,
                                                    account_as_unlocked,
                                                    account_as_data,
                                                    account_as_service,
                                                    as_pilot_harmonic,
                                                    as_quantisation,
                                                    as_am_product,
                                                    account_as_beside_mains,
                                                    as_odd_beat,
                                                    account_as_pilot_product,
                                                    account_as_product,
                                                    account_as_mains,
                                                    as_sum};
  for (size_t i = 0; i < sizeof roles / sizeof roles[0]; i++)
    if (roles[i](composite, line))
      return;
  as_free_tone(composite, line);
}

static ptrdiff_t find_pilot(const struct account_composite *composite)
{
  for (size_t i = 0; i < composite->list->count; i++)
    if (is_pilot(composite, &composite->list->lines[i]))
      return (ptrdiff_t)i;
  return -1;
}

static void take_strong(struct account_composite *composite, size_t index)
{
  const struct sc_line *lines = composite->list->lines;
  size_t at =
      composite->strong_count < ACCOUNT_STRONG_MAX ? composite->strong_count++ : ACCOUNT_STRONG_MAX;
  for (; at > 0 &&
         account_level_db(&lines[composite->strong[at - 1]]) < account_level_db(&lines[index]);
       at--)
    if (at < ACCOUNT_STRONG_MAX)
      composite->strong[at] = composite->strong[at - 1];
  if (at < ACCOUNT_STRONG_MAX)
    composite->strong[at] = index;
}

void account_give_roles(const struct account_scene *scene)
{
  struct sc_result *result = scene->result;
  const struct sc_pilot *pilot = &result->pilot;
  struct account_composite composite = {.scene = scene,
                                        .list = &result->composite_lines,
                                        .centred_index = centred_index(scene),
                                        .received_index = received_index(scene),
                                        .changes = account_programme_changes(scene),
                                        .pilot = pilot->present == SC_YES &&
                                                 pilot->frequency_hz.why == NULL,
                                        .pilot_hz = pilot->frequency_hz.value,
                                        .pilot_uncertainty_hz = pilot->frequency_hz.uncertainty};
  for (size_t i = 0; i < composite.list->count; i++)
    if (composite.list->lines[i].verdict != SC_VERDICT_ARTEFACT)
      take_strong(&composite, i);
  composite.pilot_line = find_pilot(&composite);
  account_find_unlocked(&composite);
  account_find_mains(&composite);
  account_find_repeats(&composite);
  for (size_t i = 0; i < composite.list->count; i++)
    if (composite.list->lines[i].verdict != SC_VERDICT_ARTEFACT)
      give_role(&composite, &composite.list->lines[i]);
}
