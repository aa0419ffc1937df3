/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/lines_course.h"

#include <math.h>

#include "measure/drift.h"

static const double pi = 3.14159265358979323846;
static const double matters_bins = 0.2; /* of them the loss is a tenth of a decibel */
static const double sigmas = 4;
/* Our choice; noise makes the weakest lines vary by less than that. */
static const double alike_db = 1, steady_bins = 0.25;
static const float steady_times = 3;
/* As the carrier passes by, and as the one that moves is known worse. */
static const double passed_least_bins = 2, moves_times = 2;
enum { RECORDS_LEAST = 3 };
/* From record to record a drift is told by six means, or by two moves in a row (our choice). */
enum { MEANS_LEAST = 6, IN_ROW = 2 };
static const double even_share = 0.25; /* steps from mean to mean differ by no more (our choice) */
/* Our choice: a tone that grows by so much within a record loses half a decibel (the integral of
 * exp(j pi b u^2) over it), and one that moved by so much is not averaged with itself. */
static const double blurred_bins = 1.5;
static const double jumps_bins = 1; /* our choice */

void lines_course_reset(struct lines_course *course)
{
  dsp_taper_reset(&course->now);
  dsp_taper_reset(&course->next);
  dsp_hops_reset(&course->now_hops);
  dsp_hops_reset(&course->next_hops);
  lines_course_forget(course);
}

void lines_course_forget(struct lines_course *course)
{
  lines_wander_reset(&course->wander);
  course->drifts = false;
  course->count = course->in_row = 0;
  course->lowest = course->highest = 0;
}

void lines_course_feed(struct lines_course *course, const float *khz, size_t frames,
                       bool second_half)
{
  dsp_hops_feed(&course->now_hops, &course->now, khz, frames);
  if (second_half)
    dsp_hops_feed(&course->next_hops, &course->next, khz, frames);
}

void lines_course_go_on(struct lines_course *course, bool half)
{
  if (half) {
    course->now = course->next;
    course->now_hops = course->next_hops;
  } else {
    dsp_taper_reset(&course->now);
    dsp_hops_reset(&course->now_hops);
  }
  dsp_taper_reset(&course->next);
  dsp_hops_reset(&course->next_hops);
}

/* In Hz of kHz. */
static struct measure_drift drift_of(const struct dsp_taper *khz, double record_s)
{
  double means[DSP_TAPER_STRETCHES];
  const size_t count = dsp_taper_stretch_means(khz, DSP_TAPER_ORDER, means);
  const double stretch_s = record_s * (double)khz->stretch_frames / (double)khz->frames;
  for (size_t i = 0; i < count; i++)
    means[i] *= 1e3;
  return measure_drift_of(means, count, stretch_s, 1e3 * dsp_taper_growth(khz) / record_s, 0);
}

/* A slope over n equal steps is known n / sqrt(12) times worse than the mean (textbook). */
static double mean_uncertainty_hz(const struct measure_drift *drift, double record_s)
{
  return drift->uncertainty * record_s / sqrt(12.0);
}

static void note(struct lines_course *course, const struct lines_turn *turn)
{
  const double half = fabs(turn->growth) / 2;
  course->lowest = fmin(course->lowest, turn->bins - half);
  course->highest = fmax(course->highest, turn->bins + half);
}

/* Steps from mean to mean, if they are about even. */
static double step_of(const struct lines_course *course)
{
  const size_t n = course->count;
  const double mean_s = (course->middle_s[n - 1] - course->middle_s[0]) / (double)(n - 1);
  for (size_t i = 1; i < n; i++)
    if (fabs(course->middle_s[i] - course->middle_s[i - 1] - mean_s) > even_share * mean_s)
      return 0;
  return mean_s;
}

/* What the means of all records tell. A drift that is found in them is about even, and so each is
 * known as well as they scatter about a line. */
static bool rises(const struct lines_course *course, double *scatter_hz)
{
  const size_t n = course->count;
  const double step_s = n < MEANS_LEAST ? 0 : step_of(course);
  if (!(step_s > 0))
    return false;
  const double slope = measure_slope_of(course->mean_hz, n, step_s);
  const struct measure_drift drift = measure_drift_of(course->mean_hz, n, step_s, slope, 0);
  *scatter_hz = drift.uncertainty * step_s * sqrt((double)(n * (n * n - 1)) / 12);
  return drift.sure;
}

/* Its growth over a second: its own, or that from the last one on. */
static double rate_of(const struct lines_course *course, const struct measure_drift *drift)
{
  const size_t n = course->count;
  if (drift->sure || n < 2)
    return drift->sure ? drift->rate : 0;
  return (course->mean_hz[n - 1] - course->mean_hz[n - 2]) /
         (course->middle_s[n - 1] - course->middle_s[n - 2]);
}

/* Of the last record; false: there is no more room, or nothing is known. */
static bool remember(struct lines_course *course, double middle_s, double mean_hz)
{
  if (course->count == SC_LINES_MOMENTS_MAX)
    return false;
  course->mean_hz[course->count] = mean_hz;
  course->middle_s[course->count++] = middle_s;
  return true;
}

/* Farther from the first than the one before, to the same side. */
static bool goes_on(const struct lines_course *course)
{
  const double *at = &course->mean_hz[course->count - 1];
  return course->count > 1 && (at[0] - at[-1]) * (at[0] - course->first_hz) > 0;
}

/* What was looked at before the drift was known. */
static bool blurred(const struct lines_course *course, const struct lines_turn *turn,
                    double record_s)
{
  const size_t n = course->count;
  return n > 1 && (fabs(course->mean_hz[n - 2] - course->first_hz) * record_s > blurred_bins ||
                   fabs(turn->growth) > blurred_bins);
}

/* As far as a straight line in each record tells. */
static bool turn_straight(struct lines_course *course, double middle_s, double record_s,
                          struct lines_turn *turn)
{
  *turn = (struct lines_turn){0};
  if (course->now.frames == 0)
    return false;
  const struct measure_drift drift = drift_of(&course->now, record_s);
  const double mean_hz = 1e3 * dsp_taper_mean(&course->now, DSP_TAPER_ORDER);
  if (!drift.known || !remember(course, middle_s, mean_hz))
    return false;
  double uncertainty_hz = mean_uncertainty_hz(&drift, record_s), scatter_hz;
  if (course->count == 1) {
    course->first_hz = mean_hz;
    course->first_uncertainty_hz = uncertainty_hz;
  }
  const bool known = course->drifts;
  if (rises(course, &scatter_hz)) {
    course->drifts = true;
    uncertainty_hz = fmin(uncertainty_hz, scatter_hz);
    course->first_uncertainty_hz = fmin(course->first_uncertainty_hz, scatter_hz);
  }
  const double moved_hz = mean_hz - course->first_hz;
  const bool moved = fabs(moved_hz) > sigmas * hypot(uncertainty_hz, course->first_uncertainty_hz);
  course->in_row = moved && goes_on(course) ? course->in_row + 1 : 0;
  course->drifts = course->drifts || drift.sure || course->in_row >= IN_ROW;
  if (course->drifts && moved && fabs(moved_hz) * record_s > matters_bins)
    turn->bins = moved_hz * record_s;
  const double growth = rate_of(course, &drift) * record_s * record_s;
  if (course->drifts && (drift.sure || moved) && fabs(growth) > matters_bins)
    turn->growth = growth;
  if (turn->bins == 0 && turn->growth == 0)
    return false;
  turn->first = !known && blurred(course, turn, record_s);
  note(course, turn);
  return true;
}

/* By its course: lines that go along are known as well as that. */
static void turn_wander(struct lines_course *course, double record_s, double share,
                        struct lines_turn *turn)
{
  turn->wanders = true;
  lines_wander_pieces(&course->wander, &course->now_hops, record_s, share, course->first_hz,
                      &turn->pieces);
  course->lowest = fmin(course->lowest, turn->pieces.lowest);
  course->highest = fmax(course->highest, turn->pieces.highest);
  course->first_uncertainty_hz = fmin(course->first_uncertainty_hz, course->wander.noise_hz);
}

bool lines_course_turn_part(struct lines_course *course, double middle_s, double record_s,
                            double share, struct lines_turn *turn)
{
  const bool known = course->wander.sure, turns = turn_straight(course, middle_s, record_s, turn);
  if (course->count == 0 || course->now_hops.count == 0 ||
      !lines_wander_note(&course->wander, &course->now_hops, middle_s, record_s, course->first_hz))
    return turns;
  turn_wander(course, record_s, share, turn);
  turn->first = !known;
  return true;
}

bool lines_course_turn(struct lines_course *course, double middle_s, double record_s,
                       struct lines_turn *turn)
{
  return lines_course_turn_part(course, middle_s, record_s, 1, turn);
}

struct measure_steps lines_course_steps(const struct lines_course *course, double record_s)
{
  return measure_steps_of(&course->now_hops, jumps_bins / record_s);
}

struct rotor {
  double re, im;
};

static struct rotor rotor_of(double cycles)
{
  const double phase = -2 * pi * (cycles - floor(cycles));
  return (struct rotor){cos(phase), sin(phase)};
}

static struct rotor product(struct rotor a, struct rotor b)
{
  return (struct rotor){a.re * b.re - a.im * b.im, a.re * b.im + a.im * b.re};
}

/* By cycles whose differences from frame to frame are these, of the first to the third order. */
static void turn_run(const double *cycles, float *row, size_t count)
{
  struct rotor now = rotor_of(cycles[0]), on = rotor_of(cycles[1]), faster = rotor_of(cycles[2]);
  const struct rotor rising = rotor_of(cycles[3]);
  for (size_t i = 0; i < count; i++) {
    const double re = (double)row[2 * i], im = (double)row[2 * i + 1];
    row[2 * i] = (float)(re * now.re - im * now.im);
    row[2 * i + 1] = (float)(re * now.im + im * now.re);
    now = product(now, on);
    on = product(on, faster);
    faster = product(faster, rising);
  }
}

/* A parabola in each piece, right at its ends and in its mean: over x from 0 to 1 it is
 * begins + grows x + bends (x^2 - x), whose integral are the cycles. */
static void cycles_in_piece(const struct lines_pieces *pieces, size_t piece, double x, double step,
                            double cycles[4])
{
  const double begins = pieces->bins[piece], grows = pieces->bins[piece + 1] - begins;
  const double mean = LINES_TURN_PIECES * (pieces->cycles[piece + 1] - pieces->cycles[piece]);
  const double bends = 6 * (begins + grows / 2 - mean);
  const double c1 = begins / LINES_TURN_PIECES, c2 = (grows - bends) / 2 / LINES_TURN_PIECES;
  const double c3 = bends / 3 / LINES_TURN_PIECES, s = step;
  cycles[0] = pieces->cycles[piece] + x * (c1 + x * (c2 + x * c3));
  cycles[1] = s * (c1 + c2 * (2 * x + s) + c3 * (3 * x * (x + s) + s * s));
  cycles[2] = s * s * (2 * c2 + 6 * c3 * (x + s));
  cycles[3] = 6 * c3 * s * s * s;
}

static void turn_pieces(const struct lines_pieces *pieces, size_t n, size_t at, float *row,
                        size_t count)
{
  const double step = (double)LINES_TURN_PIECES / (double)n;
  double cycles[4];
  while (count > 0) {
    const size_t piece = LINES_TURN_PIECES * at / n;
    const size_t end = ((piece + 1) * n + LINES_TURN_PIECES - 1) / LINES_TURN_PIECES;
    const size_t run = end - at < count ? end - at : count;
    cycles_in_piece(pieces, piece, (double)at * step - (double)piece, step, cycles);
    turn_run(cycles, row, run);
    at += run;
    row += 2 * run;
    count -= run;
  }
}

/* Cycles by the frame u from the middle, in records: bins u + growth u^2 / 2; exact where the row
 * begins, from there by differences. */
void lines_turn_back(const struct lines_turn *turn, size_t n, size_t at, float *row, size_t count)
{
  const double step = 1 / (double)n, u = ((double)at - (double)(n / 2)) * step;
  const double cycles[4] = {turn->bins * u + turn->growth * u * u / 2,
                            (turn->bins + turn->growth * (u + step / 2)) * step,
                            turn->growth * step * step, 0};
  if (turn->wanders)
    turn_pieces(&turn->pieces, n, at, row, count);
  else
    turn_run(cycles, row, count);
}

/* A tone that goes with the carrier, found at a place of the first record, passes by these places;
 * one that stays is seen there the other way round. */
static bool meet(const struct lines_course *course, const struct lines_blurs *of,
                 const struct sc_tone *turned, const struct sc_tone *still)
{
  const double bins = (still->frequency_hz.value - turned->frequency_hz.value) / of->bin_hz;
  return bins > course->lowest - of->apart_bins && bins < course->highest + of->apart_bins;
}

/* Of two of nearly one level the drift blurs neither by much: the one that stays is it where enough
 * records tell that the other one moves, and else the one that goes with the carrier, as most do.
 */
static bool stays_better(const struct sc_tone *turned, const struct sc_tone *still)
{
  return turned->frequency_hz.uncertainty > moves_times * still->frequency_hz.uncertainty;
}

/* Of two that meet one is but the blur of the other: the weaker, or of two alike see above. */
static bool still_is_blur(const struct sc_tone *turned, const struct sc_tone *still)
{
  const double over_db = still->level_db.value - turned->level_db.value;
  return fabs(over_db) > alike_db ? over_db < 0 : !stays_better(turned, still);
}

/* What moves in the records as they are is seen at one place in few of them, or comes and goes. */
static bool stays(const struct sc_tone *tone, uint64_t records, double bin_hz)
{
  float least = tone->moments[0].amplitude, most = least;
  for (size_t i = 1; i < tone->moment_count; i++) {
    least = fminf(least, tone->moments[i].amplitude);
    most = fmaxf(most, tone->moments[i].amplitude);
  }
  return 4 * tone->moment_count >= 3 * records && most < steady_times * least &&
         tone->frequency_hz.uncertainty < steady_bins * bin_hz;
}

/* A blur goes with the carrier from record to record, and its mean is known no better than that:
 * even steps over n bins scatter by n / sqrt(12) (textbook). */
static bool is_still(const struct lines_course *course, const struct sc_tone *tone, double bin_hz)
{
  const double passed = course->highest - course->lowest;
  const double scatter_bins =
      tone->frequency_hz.uncertainty / bin_hz * sqrt(12.0 * (double)tone->moment_count);
  return tone->moment_count >= RECORDS_LEAST && scatter_bins < passed / 4;
}

/* Whatever stronger line passes by; of one that goes to and fro within a record lines stay on
 * either side. */
static bool surely_stays(const struct lines_course *course, const struct sc_tone *tone,
                         double bin_hz)
{
  return !course->wander.repeats && course->highest - course->lowest > passed_least_bins &&
         is_still(course, tone, bin_hz);
}

/* Of the others one that is in few records, or moves from record to record. */
static bool is_blur_of_still(const struct lines_course *course, const struct lines_blurs *of,
                             const struct sc_tone *turned, const struct sc_tone *still)
{
  return surely_stays(course, still, of->bin_hz) &&
         turned->level_db.value < still->level_db.value + alike_db &&
         !stays(turned, of->still_records, of->bin_hz);
}

/* That a tone of the records as they are stays. Of few records a drift tells it that blurs by bins
 * what goes with it: such a blur is weaker than what it is the blur of. */
static bool is_told(const struct lines_course *course, const struct lines_blurs *of,
                    const struct sc_tone *still)
{
  const bool few = of->still_records < RECORDS_LEAST;
  return stays(still, of->still_records, of->bin_hz) &&
         (is_still(course, still, of->bin_hz) ||
          (few && course->highest - course->lowest > passed_least_bins));
}

/* Of a tone of the records as they are. */
static bool is_blur_of_turned(const struct lines_course *course, const struct lines_blurs *of,
                              const struct sc_tone *tones, const struct sc_tone *still)
{
  if (!is_told(course, of, still))
    return true;
  if (surely_stays(course, still, of->bin_hz))
    return false;
  for (size_t i = 0; i < of->turned; i++)
    if (meet(course, of, &tones[i], still) && still_is_blur(&tones[i], still))
      return true;
  return false;
}

static bool is_blur(const struct lines_course *course, const struct lines_blurs *of,
                    const struct sc_tone *tones, size_t count, size_t i)
{
  const struct sc_tone *tone = &tones[i];
  if (i >= of->turned)
    return is_blur_of_turned(course, of, tones, tone);
  for (size_t k = of->turned; k < count; k++)
    if (is_told(course, of, &tones[k]) && meet(course, of, tone, &tones[k]) &&
        (!still_is_blur(tone, &tones[k]) || is_blur_of_still(course, of, tone, &tones[k])))
      return true;
  return false;
}

size_t lines_drop_blurs(const struct lines_course *course, const struct lines_blurs *of,
                        struct sc_tone *tones, size_t count)
{
  size_t kept = 0;
  for (size_t i = 0; i < count; i++)
    if (is_blur(course, of, tones, count, i))
      tones[i].moment_count = 0; /* until all were compared */
  for (size_t i = 0; i < count; i++)
    if (tones[i].moment_count > 0)
      tones[kept++] = tones[i];
  return kept;
}
