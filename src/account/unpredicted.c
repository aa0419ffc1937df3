/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines on air that the measured composite does not make: what they may be, by their place in the
 * capture, their mirror line, and what else makes lines. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>

#include "account/changing.h"
#include "account/origins.h"
#include "account/roles.h"
#include "account/words.h"
#include "common/number.h"

static const double ripple_apart_hz = 1000; /* a carrier nearer has side lines of its own there */
static const double alone_db = 30;  /* over what is at the mirrored place: that is no twin */
static const double one_side = 0.3; /* of a line, at its mirrored place */
static const double sigmas = 4;
static const double one_kind = 0.2; /* of AM beside FM, and the other way round */

static bool as_direct_current(const struct account_scene *scene, struct sc_line *line)
{
  if (!account_is_direct_current(scene->result, line))
    return false;
  account_label(line, "direct current");
  account_verdict(line, SC_VERDICT_ARTEFACT,
                  "direct current of the receiver: it stands at 0 Hz of the capture");
  return true;
}

/* The mains of the receiver ripple about its direct current, wherever the transmitter is. */
static bool as_ripple(const struct account_scene *scene, struct sc_line *line)
{
  char words[ACCOUNT_NAME_LENGTH];
  const struct sc_result *result = scene->result;
  if (fabs(result->carrier.offset_hz.value) <= ripple_apart_hz || !scene->direct_current ||
      !account_mains_words(fabs(line->tone.frequency_hz.value), words, sizeof words))
    return false;
  account_label(line, "hum of the receiver");
  account_verdict(line, SC_VERDICT_ARTEFACT,
                  "mains hum of the receiver: %s beside its direct current at 0 Hz of the capture",
                  words);
  return true;
}

static bool as_clock(const struct account_scene *scene, struct sc_line *line)
{
  int numerator, denominator;
  const struct sc_result *result = scene->result;
  if (line->mirror >= 0 ||
      !account_is_rate_share(&result->air_lines, &line->tone.frequency_hz,
                             result->capture.info.sample_rate_hz, &numerator, &denominator))
    return false;
  account_label(line, "clock %d/%d", numerator, denominator);
  account_verdict(line, SC_VERDICT_ARTEFACT,
                  "clock line of the receiver: exactly %d/%d of the sample rate from the middle "
                  "of the capture, with no line at the mirrored place",
                  numerator, denominator);
  return true;
}

static bool agrees(const struct sc_line *line, double expected)
{
  return account_agrees(account_amplitude(line), account_amplitude_uncertainty(line), expected);
}

static bool as_image(const struct account_scene *scene, struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH];
  if (!agrees(line, account_image_expected(scene, line)))
    return false;
  double of_hz = -line->offset_hz.value - 2 * scene->result->carrier.offset_hz.value;
  bool carrier = fabs(of_hz) < account_reach_hz(&scene->result->air_lines, 0);
  account_frequency_words(fabs(of_hz), name);
  account_label(line, "mirror image");
  account_verdict(line, SC_VERDICT_ARTEFACT,
                  "mirror image of the %s%s, made by unequal I and Q of the receiver: "
                  "all are %.1f dB down",
                  carrier     ? "carrier"
                  : of_hz < 0 ? "line at -"
                              : "line at +",
                  carrier ? "" : name, -20 * log10(scene->image));
  return true;
}

/* What stands at the mirrored place is two lines, of which the search on air made none, or one. */
static bool as_image_of_pair(const struct account_scene *scene, struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH];
  const struct sc_line *of = account_image_of_pair(scene, line);
  if (of == NULL)
    return false;
  account_frequency_words(round(fabs(of->offset_hz.value)), name);
  account_label(line, "mirror image");
  account_verdict(line, SC_VERDICT_ARTEFACT,
                  "mirror image of one of two lines at %s%s that are not told apart, made by "
                  "unequal I and Q of the receiver: all are %.1f dB down",
                  of->offset_hz.value < 0 ? "-" : "+", name, -20 * log10(scene->image));
  return true;
}

/* Of one line alone an image cannot be told from a line that happens to stand there, as steps of
 * one reference do on both sides of a round frequency. */
static bool as_lone_image(const struct account_scene *scene, struct sc_line *line)
{
  const struct sc_line *of = scene->image > 0 ? NULL : account_mirrored(scene, line);
  char name[ACCOUNT_NAME_LENGTH];
  if (of == NULL || account_mostly_predicted(scene, line) || account_is_no_image(scene, line, of))
    return false;
  account_frequency_words(fabs(of->offset_hz.value), name);
  account_label(line, "mirror image?");
  account_verdict(line, SC_VERDICT_UNKNOWN,
                  "possible mirror image of the line at %s%s, %.1f dB down: just as far from the "
                  "capture's centre; there are not enough other lines to tell",
                  of->offset_hz.value < 0 ? "-" : "+", name,
                  of->level_dbc.value - line->level_dbc.value);
  return true;
}

/* The line, or what the prediction leaves of it. */
static bool as_rounding(const struct account_scene *scene, struct sc_line *line)
{
  const struct account_rest rest = account_rest_of(scene, line);
  double size = rest.is_complex ? cabs(rest.value) : account_amplitude(line);
  if (!account_is_rounding(scene, &scene->result->air_lines, &line->tone.frequency_hz, size))
    return false;
  account_say_rounding(scene, line);
  return true;
}

static bool as_rounded_anew(const struct account_scene *scene, struct sc_line *line)
{
  if (!account_is_rounded_anew(scene, line))
    return false;
  account_say_rounded_anew(scene, line);
  return true;
}

static bool is_own(const struct account_am *am, const struct sc_line *line)
{
  return fabs(fabs(line->offset_hz.value) - am->frequency_hz) < 1;
}

static void say_of_data(const struct account_am *am, struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH];
  account_frequency_words(am->frequency_hz, name);
  account_label(line, "data squared %s", name);
  account_verdict(line, SC_VERDICT_EXPLAINED,
                  "second order of the data: their square has a line at %s, which FM puts %s", name,
                  is_own(am, line) ? "beside the carrier" : "beside a line of the modulation too");
}

static bool as_am(const struct account_scene *scene, struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH], times[ACCOUNT_NAME_LENGTH];
  const struct account_am *am = account_am_of(scene, line);
  if (am == NULL)
    return false;
  if (am->of_data) {
    say_of_data(am, line);
    return true;
  }
  bool mains = account_mains_words(am->frequency_hz, times, sizeof times);
  account_frequency_words(am->frequency_hz, name);
  line->am_hz = am->frequency_hz;
  account_label(line, "AM %s", name);
  account_verdict(line, SC_VERDICT_SPURIOUS,
                  "amplitude modulation of %.2g %% at %s%s%s, which no composite makes%s",
                  100 * cabs(am->index), name, mains ? ", mains hum of " : "", mains ? times : "",
                  is_own(am, line) ? ": both sides alike" : ", beside a line of the modulation");
  return true;
}

/* Too weak for its phase to tell, or of data that repeat. */
static bool as_data(const struct account_scene *scene, struct sc_line *line)
{
  if (!account_is_of_data(scene, fabs(line->offset_hz.value), 2 * account_amplitude(line)))
    return false;
  account_verdict(line, SC_VERDICT_UNKNOWN,
                  "not predicted; the square of the data may have a line here, and a stronger one");
  return true;
}

static bool as_other_signal(const struct account_scene *scene, struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH];
  const double *other_hz = account_other_of(scene, line);
  if (other_hz == NULL)
    return false;
  account_frequency_words(fabs(*other_hz), name);
  account_label(line, "other signal %s%s", *other_hz < 0 ? "-" : "+", name);
  account_verdict(line, SC_VERDICT_UNKNOWN,
                  "of another modulated signal around %s%s: a neighbour station, or a spurious one",
                  *other_hz < 0 ? "-" : "+", name);
  return true;
}

static bool as_quantisation(const struct account_scene *scene, struct sc_line *line)
{
  if (!account_below_converter(scene->result, line->tone.level_db.value) ||
      account_is_above_rounding(scene, line))
    return false;
  account_verdict(line, SC_VERDICT_UNKNOWN,
                  "not predicted; so weak that a converter of %u bits may make it by its steps",
                  scene->result->capture.info.bits);
  return true;
}

static bool as_unreached(const struct account_scene *scene, struct sc_line *line)
{
  if (!account_is_unreached(scene, line) || account_is_far(scene, line))
    return false;
  account_verdict(line, SC_VERDICT_UNKNOWN,
                  "%zu tones make more lines than can be predicted: those of %.0f dBc and less may "
                  "be of FM",
                  scene->prediction.component_count + scene->prediction.weak_count,
                  20 * log10(account_unreached(scene)));
  return true;
}

/* Names the line by its side and offset; the latter's words go to `name` too. */
static const char *label_carrier(struct sc_line *line, char name[ACCOUNT_NAME_LENGTH])
{
  const char *side = line->offset_hz.value < 0 ? "-" : "+";
  account_place_words(&line->offset_hz, name);
  account_label(line, "carrier at %s%s", side, name);
  return side;
}

/* What goes neither with the carrier nor stays is blurred, and its blur has lines that come and go.
 */
static bool as_blurred(const struct account_scene *scene, struct sc_line *line)
{
  const struct sc_line_list *list = &scene->result->air_lines;
  if (!list->followed || line->tone.still ||
      (line->tone.moment_count >= list->records && !account_is_unsteady(list, line)))
    return false;
  if (as_unreached(scene, line)) /* where lines are so close, one is not fitted in every record */
    return true;
  account_verdict(line, SC_VERDICT_UNKNOWN,
                  "not predicted; it does not go with the carrier, which drifts, as a steady line "
                  "would: perhaps of the receiver's mirror image, which goes the other way");
  return true;
}

/* An oscillator of its own, whatever its mirrored place holds. */
static bool as_still(const struct account_scene *scene, struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH];
  if (!line->tone.still)
    return false;
  const char *side = label_carrier(line, name);
  const struct sc_carrier *carrier = &scene->result->carrier;
  char moves[64];
  if (carrier->wanders == SC_YES)
    snprintf(moves, sizeof moves, "wanders within %s Hz",
             common_number(carrier->wander_span_hz.value, 0, false).text);
  else
    snprintf(moves, sizeof moves, "drifts by %s Hz/s",
             common_number(carrier->drift_hz_s.value, 1, true).text);
  account_verdict(line, SC_VERDICT_SPURIOUS,
                  "a carrier of its own, no modulation: it stays where it is, %s%s from the "
                  "transmitter's mean, while that %s: it is of another oscillator (the receiver's, "
                  "or another signal's)",
                  side, name, moves);
  return true;
}

/* By how much the line exceeds what is at the mirrored place, or could be there unseen. */
static double over_mirror_db(const struct account_scene *scene, const struct sc_line *line)
{
  return line->mirror < 0 ? account_margin_db(&scene->result->air_lines, line)
                          : line->level_dbc.value - line->mirror_level_dbc.value;
}

/* AM and FM have two sides alike; of what stands at the mirrored place next to nothing is left when
 * the modulation's own line there is taken away. */
static bool is_beside_modulation(const struct account_scene *scene, const struct sc_line *line)
{
  if (line->mirror < 0)
    return false;
  const struct sc_line *mirror = &scene->result->air_lines.lines[line->mirror];
  const struct account_rest rest = account_rest_of(scene, mirror);
  return rest.is_complex && account_mostly_predicted(scene, mirror) &&
         cabs(rest.value) + sigmas * rest.uncertainty < one_side * account_amplitude(line);
}

static bool as_carrier_beside(const struct account_scene *scene, struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH];
  if (!is_beside_modulation(scene, line))
    return false;
  const char *side = label_carrier(line, name);
  account_verdict(line, SC_VERDICT_SPURIOUS,
                  "a carrier of its own, no modulation: not predicted, and at %s%s there is but "
                  "the modulation's own line, as it is predicted",
                  side[0] == '-' ? "+" : "-", name);
  return true;
}

static bool as_pair(const struct account_scene *scene, struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH];
  if (line->mirror < 0 || over_mirror_db(scene, line) > alone_db)
    return false;
  struct account_parts parts = account_divide(scene, line);
  double other = fmax(cabs(parts.am), parts.one_sided);
  /* Far out both verdicts hold for what no programme makes, whatever it is. */
  enum sc_verdict verdict = account_is_far(scene, line) ? SC_VERDICT_SPURIOUS : SC_VERDICT_UNKNOWN;
  account_place_words(&line->offset_hz, name);
  if (parts.known && other < fmax(one_kind * parts.loose_fm, parts.limit))
    account_verdict(line, verdict, "a pair like FM at %s, of which the composite shows no tone",
                    name);
  else
    account_verdict(line, verdict,
                    "on both sides of the carrier, not predicted, neither AM nor FM alone");
  return true;
}

static bool as_carrier(const struct account_scene *scene, struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH];
  const struct sc_result *result = scene->result;
  if (line->mirror < 0 && !account_mirror_visible(result, line))
    return false;
  const char *side = label_carrier(line, name);
  account_verdict(line, SC_VERDICT_SPURIOUS,
                  "a carrier of its own, no modulation: not predicted, and nothing within %.0f dB "
                  "of it at %s%s",
                  over_mirror_db(scene, line), side[0] == '-' ? "+" : "-", name);
  return true;
}

/* Its mirror cannot be seen, but modulation does not reach so far. */
static bool as_far(const struct account_scene *scene, struct sc_line *line)
{
  char name[ACCOUNT_NAME_LENGTH];
  if (!account_is_far(scene, line))
    return false;
  label_carrier(line, name);
  account_verdict(line, SC_VERDICT_SPURIOUS,
                  "no programme reaches so far: not predicted, beyond Carson's bandwidth of %.0f "
                  "kHz; a mirror line could not be seen",
                  scene->result->occupancy.carson_hz.value / 1e3);
  return true;
}

static bool as_beside_data(const struct account_scene *scene, struct sc_line *line)
{
  const double beside = account_data_beside(scene, line->offset_hz.value);
  if (account_amplitude(line) > sqrt(ACCOUNT_DATA_MOST_TIMES) * beside)
    return false;
  account_verdict(line, SC_VERDICT_UNKNOWN,
                  "not predicted; data that repeat may have a line here, beside one of the "
                  "modulation");
  return true;
}

bool account_as_receivers(const struct account_scene *scene, struct sc_line *line)
{
  return as_direct_current(scene, line) || as_ripple(scene, line) || as_clock(scene, line) ||
         as_lone_image(scene, line) || account_as_reference_beside(scene, line) ||
         as_other_signal(scene, line) || as_quantisation(scene, line);
}

void account_judge_unpredicted(const struct account_scene *scene, struct sc_line *line)
{
  static bool (*const kinds[])(const struct account_scene *, struct sc_line *) = {
      as_direct_current,
      as_blurred,
      as_ripple,
      as_rounded_anew,
      as_clock,
      as_image,
      as_image_of_pair,
      as_lone_image,
      account_as_reference_beside,
      as_rounding,
      as_am,
      as_data,
      as_other_signal,
      as_quantisation,
      as_unreached,
      as_still,
      account_as_mixing,
      as_carrier_beside,
      as_pair,
      as_carrier,
      as_far,
      as_beside_data,
  };
  for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
    if (kinds[i](scene, line))
      return;
  account_verdict(line, SC_VERDICT_UNKNOWN,
                  "not predicted; whether it has a mirror line cannot be seen here");
}
