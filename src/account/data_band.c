/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines of the composite about 57 kHz. Data at random have none. Groups that an encoder sends again
 * and again have one at each multiple of how often they come: their powers lie about the spectrum
 * of the data, (sin(w / 2) cos(w / 4))^2 where w is in radians per bit (computed from the shape of
 * the symbols, IEC 62106), and as the subcarrier is suppressed and its amplitude modulated, each
 * has an equal twin on the other side. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include "account/roles.h"
#include "account/words.h"

static const double data_lower_hz = 54600, data_upper_hz = 59400; /* 57 kHz +/-2.4 kHz */
static const double pi = 3.14159265358979323846;
/* The shortest cycle of a station: a name of eight characters takes four groups of 104 bits (IEC
 * 62106). */
static const double cycle_bits = 4 * 104;
/* Of composed names and codes of 3 to 15 s no line was above 12.2 times the mean of that cycle,
 * and none without a twin that stands apart above 8.9 times. */
static const double most_times = ACCOUNT_DATA_MOST_TIMES, most_alone_times = 10;
static const double twin_db = 2, sigmas = 4;
static const double total_most = 1.05; /* of the power of all the data */
/* Where their spectrum ends, symbols that are not shaped ideally have this left. */
static const double shape_least = 1e-5;
enum { TWINS_MIN = 16 };
/* A cycle of so many groups or fewer has steps that lines can be told to be off. Chance has 12 % of
 * all lines so near to a multiple as nearly all are then; what is off is farther away (our
 * choice). */
enum { GROUP_BITS = 104, GROUPS_MAX = 64 };
static const double on_steps = 0.9, on_share = 0.06, off_share = 0.15;

static bool is_in_band(const struct sc_line *line)
{
  return line->offset_hz.value >= data_lower_hz && line->offset_hz.value <= data_upper_hz;
}

static bool is_read(const struct sc_rds *rds)
{
  return rds->present == SC_YES && rds->blocks > rds->lost_blocks &&
         rds->subcarrier_hz.why == NULL && rds->bit_rate_bps.why == NULL &&
         rds->amplitude_rms.why == NULL && rds->bit_rate_bps.value > 0;
}

double account_data_line_power(const struct sc_rds *rds, double hz)
{
  const double bit_hz = rds->bit_rate_bps.value;
  const double away_hz = fabs(hz - rds->subcarrier_hz.value);
  const double phase = pi * away_hz / bit_hz;
  const double shape =
      away_hz < 2 * bit_hz ? fmax(pow(sin(phase / 2) * cos(phase / 4), 2), shape_least) : 0;
  /* the shape is a quarter on average over the 4 bit rates that it fills: its integral is one */
  return pow(rds->amplitude_rms.value, 2) * shape / cycle_bits;
}

bool account_is_in_data(const struct sc_result *result, const struct sc_line *line)
{
  return is_in_band(line) && is_read(&result->rds);
}

/* Of the line's power to the mean of lines there, of data that repeat in the shortest cycle. */
static double times_mean(const struct sc_rds *rds, const struct sc_line *line)
{
  return pow(line->tone.amplitude, 2) / 2 / account_data_line_power(rds, line->offset_hz.value);
}

static bool has_equal_twin(const struct account_composite *composite, const struct sc_line *line)
{
  const struct sc_quantity *middle_hz = &composite->scene->result->rds.subcarrier_hz;
  const double spread = hypot(line->offset_hz.uncertainty, 2 * middle_hz->uncertainty);
  const struct sc_line *twin =
      account_line_at(composite, line, 2 * middle_hz->value - line->offset_hz.value, spread);
  if (twin == NULL)
    return false;
  const double doubt = hypot(line->tone.level_db.uncertainty, twin->tone.level_db.uncertainty);
  return fabs(account_level_db(line) - account_level_db(twin)) <= fmax(twin_db, sigmas * doubt);
}

/* Lines of a cycle that is shorter, where it was found, are as many times stronger as fewer. */
static double times_cycle(const struct account_composite *composite)
{
  const double bit_hz = composite->scene->result->rds.bit_rate_bps.value;
  return fmax(composite->repeats_hz * cycle_bits / bit_hz, 1);
}

static bool may_be_of_data(const struct account_composite *composite, const struct sc_line *line)
{
  const double most =
      has_equal_twin(composite, line) ? most_times * times_cycle(composite) : most_alone_times;
  return line->verdict != SC_VERDICT_ARTEFACT && is_in_band(line) &&
         times_mean(&composite->scene->result->rds, line) <= most;
}

/* How far from a place of the data's lines, from the subcarrier on: at multiples of the step, or,
 * as differential coding turns the sign of each other cycle where its bits have an odd sum, in the
 * middle between them (`first`: 0 or a half). */
static double off_step_hz(const struct account_composite *composite, const struct sc_line *line,
                          double step_hz, double first)
{
  const double away_hz = line->offset_hz.value - composite->scene->result->rds.subcarrier_hz.value;
  const double steps = away_hz / step_hz - first;
  return fabs(steps - round(steps)) * step_hz;
}

static bool are_on_steps(const struct account_composite *composite, double step_hz, double first)
{
  double on = 0, all = 0;
  for (size_t i = 0; i < composite->list->count; i++) {
    const struct sc_line *line = &composite->list->lines[i];
    const bool counts = may_be_of_data(composite, line);
    all += counts;
    on += counts && off_step_hz(composite, line, step_hz, first) <= on_share * step_hz;
  }
  return on >= on_steps * all;
}

/* The largest step, that of the shortest cycle; 0: of none. */
static double find_step(struct account_composite *composite)
{
  const double bits_s = composite->scene->result->rds.bit_rate_bps.value;
  for (size_t tries = 2; tries < 2 * (GROUPS_MAX + 1); tries++) {
    const double step_hz = bits_s / (double)(GROUP_BITS * (tries / 2));
    composite->repeats_first = tries % 2 == 0 ? 0 : 0.5;
    if (are_on_steps(composite, step_hz, composite->repeats_first))
      return step_hz;
  }
  return 0;
}

void account_find_repeats(struct account_composite *composite)
{
  const struct sc_rds *rds = &composite->scene->result->rds;
  size_t twins = 0;
  double power = 0;
  for (size_t i = 0; is_read(rds) && i < composite->list->count; i++) {
    const struct sc_line *line = &composite->list->lines[i];
    if (!may_be_of_data(composite, line))
      continue;
    twins += has_equal_twin(composite, line);
    power += pow(line->tone.amplitude, 2) / 2;
  }
  composite->repeats = twins >= TWINS_MIN && power <= total_most * pow(rds->amplitude_rms.value, 2);
  if (composite->repeats)
    composite->repeats_hz = find_step(composite);
}

/* Where the cycle is known, what is at no multiple of how often it comes is not of it. */
static bool is_off_steps(const struct account_composite *composite, const struct sc_line *line)
{
  const double step_hz = composite->repeats_hz;
  const double reach_hz = account_exact_hz(composite->list, line->offset_hz.uncertainty);
  return step_hz > 0 && off_step_hz(composite, line, step_hz, composite->repeats_first) >
                            fmax(reach_hz, off_share * step_hz);
}

/* Of data that hardly repeat a few records show the strongest lines alone. */
static bool is_of_pair(const struct account_composite *composite, const struct sc_line *line)
{
  return is_read(&composite->scene->result->rds) && may_be_of_data(composite, line) &&
         has_equal_twin(composite, line);
}

static void judge(const struct account_composite *composite, struct sc_line *line)
{
  if (!composite->repeats && is_of_pair(composite, line)) {
    account_label(line, "data");
    account_verdict(line, SC_VERDICT_EXPLAINED,
                    "of the data: it stands in an equal pair about their subcarrier, as what they "
                    "are made of does, and is no stronger than lines of data are");
  } else if (!composite->repeats) {
    account_verdict(line, SC_VERDICT_UNKNOWN, "inside the data band, made of random data");
  } else if (is_off_steps(composite, line)) {
    account_verdict(line, SC_VERDICT_UNKNOWN,
                    "inside the data band, whose data repeat and have lines in steps of %.4f Hz: "
                    "this one is not at them",
                    composite->repeats_hz);
  } else if (may_be_of_data(composite, line)) {
    account_label(line, "data");
    account_verdict(line, SC_VERDICT_EXPLAINED,
                    "of the data, whose groups repeat: such lines stand in equal pairs about their "
                    "subcarrier, and this one is no stronger than they are");
  } else {
    account_verdict(line, SC_VERDICT_UNKNOWN,
                    "inside the data band, and %.0f dB above the lines that repeating data have "
                    "here on average",
                    fmin(10 * log10(times_mean(&composite->scene->result->rds, line)), 99));
  }
}

bool account_as_data(const struct account_composite *composite, struct sc_line *line)
{
  const enum sc_truth data = composite->scene->result->rds.present;
  const double third_hz = 3 * composite->pilot_hz;
  if (!is_in_band(line))
    return false;
  if (composite->pilot &&
      account_is_at(composite, line, third_hz, 3 * composite->pilot_uncertainty_hz))
    account_verdict(line, SC_VERDICT_UNKNOWN,
                    "three times the pilot: its third harmonic or a data subcarrier's residual");
  else if (data == SC_YES)
    judge(composite, line);
  else if (data == SC_UNKNOWN)
    account_verdict(line, SC_VERDICT_UNKNOWN,
                    "inside the data band; whether there is data cannot be told here");
  else
    return false;
  return true;
}
