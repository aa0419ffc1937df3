/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines of the composite that are products, hum, folded or of a clock: results made up line by
 * line, with what speaks for each and against it. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "account/account.h"
#include "account/suites.h"

enum { LINES = 16, RECORDS = 6 };
static const double pilot_khz = 6.75, pilot_phase = 0.4;

struct made {
  struct sc_result result;
  struct sc_line lines[LINES];
};

static void start(struct made *made, enum sc_kind kind, double rate_hz)
{
  *made = (struct made){0};
  made->result.capture.info.kind = kind;
  made->result.capture.info.sample_rate_hz = rate_hz;
  made->result.composite_absolute = true;
  made->result.pilot.present = SC_YES;
  made->result.pilot.frequency_hz = sc_measured(19e3, 1e-3);
  made->result.air_lines = (struct sc_line_list){.why = "a composite has no lines on air"};
  made->result.composite_lines = (struct sc_line_list){
      .lines = made->lines, .record_s = 1, .threshold_db = 13, .resolution_hz = 4, .records = 1};
}

/* Phases and relative sizes of all records; NULL: steady ones. */
static struct sc_line *add(struct made *made, double hz, double khz, double phase_rad,
                           const double *sizes)
{
  struct sc_line_list *list = &made->result.composite_lines;
  ck_assert_uint_lt(list->count, LINES);
  struct sc_line *line = &list->lines[list->count++];
  *line = (struct sc_line){.mirror = -1, .offset_hz = sc_measured(hz, 1e-3)};
  line->tone.frequency_hz = line->offset_hz;
  line->deviation_khz = sc_measured(khz, 1e-3 * khz);
  line->tone.level_db = sc_measured(20 * log10(khz), 0.01);
  line->tone.amplitude = khz;
  line->tone.snr_db = 50;
  line->tone.moment_count = RECORDS;
  for (int i = 0; i < RECORDS; i++)
    line->tone.moments[i] =
        (struct sc_moment){.middle_s = i + 0.5,
                           .amplitude = (float)(khz * (sizes == NULL ? 1 : sizes[i])),
                           .phase_rad = (float)phase_rad,
                           .relative_uncertainty = 0.01F,
                           .phase_uncertainty_rad = 0.01F};
  return line;
}

static void add_pilot(struct made *made, const double *sizes)
{
  add(made, 19e3, pilot_khz, pilot_phase, sizes);
}

static void explain(struct made *made)
{
  ck_assert_int_eq(account_explain(&made->result, NULL), SC_OK);
}

static void check(const struct sc_line *line, enum sc_verdict verdict, const char *cause)
{
  ck_assert_msg(line->verdict == verdict && strstr(line->cause, cause) != NULL, "%g Hz is %s: %s",
                line->offset_hz.value, sc_verdict_name(line->verdict), line->cause);
}

/* A line at 38 kHz is left over where the measurement of the residual claims one, or where there is
 * no difference that it may be of. */
START_TEST(low_notes_are_no_residual)
{
  static const struct {
    enum sc_truth present;
    double difference_khz; /* 0: silence */
    enum sc_verdict verdict;
  } cases[] = {{SC_YES, 9, SC_VERDICT_RESIDUAL},
               {SC_NO, 9, SC_VERDICT_UNKNOWN},
               {SC_UNKNOWN, 9, SC_VERDICT_UNKNOWN},
               {SC_UNKNOWN, 0, SC_VERDICT_RESIDUAL}};
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    struct made made;
    start(&made, SC_KIND_COMPOSITE, 250e3);
    made.result.stereo.residual_present = cases[i].present;
    made.result.stereo.difference_rms_khz = cases[i].difference_khz > 0
                                                ? sc_measured(cases[i].difference_khz, 0.01)
                                                : sc_not_measured("there is none");
    add_pilot(&made, NULL);
    struct sc_line *line = add(&made, 38e3, 0.5, 1.0, NULL);
    explain(&made);
    check(line, cases[i].verdict, "residual of the 38 kHz subcarrier, or");
  }
}
END_TEST

START_TEST(a_coherent_sum_with_its_twin)
{
  struct made made;
  start(&made, SC_KIND_COMPOSITE, 250e3);
  add_pilot(&made, NULL);
  add(&made, 73210, 0.5, 1.0, NULL);
  struct sc_line *above = add(&made, 92210, 0.1, 2.0, NULL);
  struct sc_line *below = add(&made, 54210, 0.1, 2.5, NULL);
  explain(&made);
  check(above, SC_VERDICT_UNKNOWN, "possible product: 73.21 kHz and the pilot");
  check(above, SC_VERDICT_UNKNOWN, "its twin at 54.21 kHz is as strong");
  check(below, SC_VERDICT_UNKNOWN, "its twin at 92.21 kHz is as strong");
}
END_TEST

/* 67 kHz, frequency modulated with 400 Hz; a tone between its lines is none of them. */
START_TEST(pairs_of_a_subcarrier_are_its_own)
{
  struct made made;
  start(&made, SC_KIND_COMPOSITE, 250e3);
  add_pilot(&made, NULL);
  made.result.injections.count = 1;
  made.result.injections.at[0] = (struct sc_injection){.kind = SC_INJECTION_FM,
                                                       .offset_hz = sc_measured(66980, 150),
                                                       .bandwidth_hz = sc_measured(7500, 10)};
  struct sc_line *pair[2];
  for (int side = 0; side < 2; side++)
    pair[side] = add(&made, side == 0 ? 65800 : 68200, 1.29, 1.0 + side, NULL);
  struct sc_line *carrier = add(&made, 67000, 1.33, 2.0, NULL);
  struct sc_line *tone = add(&made, 63210, 0.3, 2.5, NULL);
  explain(&made);
  check(pair[0], SC_VERDICT_EXPLAINED, "of the FM subcarrier around 67 kHz");
  check(pair[1], SC_VERDICT_EXPLAINED, "of the FM subcarrier around 67 kHz");
  check(carrier, SC_VERDICT_EXPLAINED, "of the FM subcarrier around 67 kHz");
  check(tone, SC_VERDICT_SPURIOUS, "a tone at 63.21 kHz");
  made.result.injections.at[0].kind = SC_INJECTION_BAND;
  explain(&made);
  check(pair[0], SC_VERDICT_SPURIOUS, "a tone at 65.8 kHz");
}
END_TEST

START_TEST(a_missing_twin_speaks_against_it)
{
  struct made made;
  start(&made, SC_KIND_COMPOSITE, 250e3);
  add_pilot(&made, NULL);
  add(&made, 73210, 0.5, 1.0, NULL);
  struct sc_line *line = add(&made, 92210, 0.1, 2.0, NULL);
  explain(&made);
  check(line, SC_VERDICT_UNKNOWN, "possible product");
  check(line, SC_VERDICT_UNKNOWN, "against it: no twin at 54.21 kHz");
}
END_TEST

/* The frequencies agree within the uncertainty of a record, but from record to record the line
 * turns against the sum. */
START_TEST(what_falls_out_of_step_is_no_product)
{
  struct made made;
  start(&made, SC_KIND_COMPOSITE, 250e3);
  add_pilot(&made, NULL);
  add(&made, 74210, 0.5, 1.0, NULL);
  struct sc_line *line = add(&made, 93210, 0.1, 2.0, NULL);
  for (int i = 0; i < RECORDS; i++)
    line->tone.moments[i].phase_rad += 0.05F * (float)i;
  explain(&made);
  check(line, SC_VERDICT_SPURIOUS, "where no standard has one");
}
END_TEST

START_TEST(a_product_follows_the_pilot)
{
  static const double sizes[RECORDS] = {0.8, 0.9, 1.0, 1.0, 1.1, 1.2};
  for (int i = 0; i < 2; i++) {
    struct made made;
    start(&made, SC_KIND_COMPOSITE, 250e3);
    add_pilot(&made, sizes);
    add(&made, 73210, 0.5, 1.0, NULL);
    struct sc_line *line = add(&made, 92210, 0.1, 2.0, i == 0 ? sizes : NULL);
    explain(&made);
    check(line, SC_VERDICT_UNKNOWN,
          i == 0 ? "its level follows that of both" : "its level does not follow theirs");
  }
}
END_TEST

START_TEST(hum_is_a_series_of_weak_lines)
{
  struct made made;
  start(&made, SC_KIND_COMPOSITE, 250e3);
  add_pilot(&made, NULL);
  add(&made, 1000, 20, 0, NULL);
  struct sc_line *first = add(&made, 49.97, 0.05, 0, NULL);
  struct sc_line *third = add(&made, 149.91, 0.02, 0, NULL);
  struct sc_line *beside = add(&made, 19049.97, 0.03, 0, NULL);
  struct sc_line *other = add(&made, 120.1, 0.02, 0, NULL);
  explain(&made);
  check(first, SC_VERDICT_SPURIOUS, "mains hum: 1 times 49.97 Hz");
  check(third, SC_VERDICT_SPURIOUS, "mains hum: 3 times 49.97 Hz");
  check(beside, SC_VERDICT_UNKNOWN, "hum of 49.97 Hz, on the line at pilot");
  check(other, SC_VERDICT_UNKNOWN, "possible mains hum: 2 x 60 Hz");
}
END_TEST

/* A tone of the programme as strong as one is no hum, nor are its harmonics. */
START_TEST(programme_is_no_hum)
{
  struct made made;
  start(&made, SC_KIND_COMPOSITE, 250e3);
  add_pilot(&made, NULL);
  struct sc_line *tone = add(&made, 100, 20, 0, NULL);
  struct sc_line *harmonic = add(&made, 200, 0.1, 0, NULL);
  explain(&made);
  check(tone, SC_VERDICT_EXPLAINED, "100 Hz in the sum");
  check(harmonic, SC_VERDICT_UNKNOWN, "possible product: 2 x 100 Hz");
}
END_TEST

/* All levels without the scale, relative to the pilot; or on another one. */
static void rescale(struct made *made, double scale)
{
  for (size_t i = 0; i < made->result.composite_lines.count; i++) {
    struct sc_line *line = &made->lines[i];
    line->level_db_pilot = sc_measured(20 * log10(line->deviation_khz.value / pilot_khz), 0.01);
    line->tone.level_db.value += 20 * log10(scale > 0 ? scale : 1);
    line->deviation_khz =
        scale > 0 ? sc_measured(line->deviation_khz.value * scale, 1e-3 * scale * pilot_khz)
                  : sc_not_measured("no scale");
  }
}

/* Lines at multiples of a supply's frequency are its hum (common practice, no source), however
 * strong, and where the distance to a tone is a multiple as well. _i: with a scale, without, on
 * another. */
START_TEST(hum_is_hum_at_any_level)
{
  static const double scales[] = {1, 0, 0.4}, khz[] = {1.5, 0.8, 0.2};
  struct made made;
  struct sc_line *hum[3];
  start(&made, SC_KIND_COMPOSITE, 192e3);
  add_pilot(&made, NULL);
  add(&made, 1000, 15.7, 0, NULL);
  add(&made, 400, 8, 0, NULL);
  for (int i = 0; i < 3; i++)
    hum[i] = add(&made, 50 * (i + 1), khz[i], 0, NULL);
  rescale(&made, scales[_i]);
  explain(&made);
  check(hum[0], SC_VERDICT_SPURIOUS, "mains hum: 1 times 50.00 Hz");
  check(hum[1], SC_VERDICT_SPURIOUS, "mains hum: 2 times 50.00 Hz");
  check(hum[2], SC_VERDICT_SPURIOUS, "mains hum: 3 times 50.00 Hz");
  for (int i = 0; i < 3; i++)
    hum[i]->tone.snr_db = 13; /* as bursts have within a record */
  explain(&made);
  check(hum[0], SC_VERDICT_UNKNOWN, "possible mains hum: 1 times 50.00 Hz");
}
END_TEST

/* What falls off as hum does, 1.5 and 0.8 kHz, is no more than a bass note with its octave. _i 1:
 * generated, as exactly at 50 Hz as no mains are (EN 50160:2010, 4.2.1, from memory: within 1 %;
 * that they wander by some 20 mHz is from memory as well). _i 2: by the pilot's clock, not by the
 * receiver's, which is wrong by 20 ppm. */
START_TEST(two_strong_lines_are_not_surely_hum)
{
  struct made made;
  const double clock = _i == 2 ? 1 + 20e-6 : 1;
  start(&made, SC_KIND_COMPOSITE, 192e3);
  made.result.pilot.frequency_hz = sc_measured(19e3 * clock, 1e-6);
  add(&made, 19e3 * clock, pilot_khz, pilot_phase, NULL);
  add(&made, 1000, 15.7, 0, NULL);
  struct sc_line *first = add(&made, 50 * clock, 1.5, 0, NULL);
  struct sc_line *second = add(&made, 100 * clock, 0.8, 0, NULL);
  struct sc_line *weak = add(&made, 150 * clock, 0.4, 0, NULL);
  for (size_t i = 0; _i > 0 && i < made.result.composite_lines.count; i++)
    made.lines[i].offset_hz.uncertainty = made.lines[i].tone.frequency_hz.uncertainty = 1e-6;
  if (_i == 0)
    made.result.composite_lines.count--;
  explain(&made);
  if (_i == 0) {
    check(first, SC_VERDICT_UNKNOWN, "as few as a bass note and its octave");
    check(second, SC_VERDICT_UNKNOWN, "as few as a bass note and its octave");
    return;
  }
  check(first, SC_VERDICT_EXPLAINED, "in the sum");
  check(second, SC_VERDICT_EXPLAINED, "in the sum");
  ck_assert_ptr_null(strstr(weak->cause, "mains"));
}
END_TEST

/* Under noise, which has an rms and no lines: hum. Without a programme the same may be tones. */
START_TEST(a_series_has_one_name)
{
  static const double khz[] = {1.5, 0.8, 0.2};
  struct made made;
  for (int noise = 0; noise <= 1; noise++) {
    start(&made, SC_KIND_COMPOSITE, 192e3);
    add_pilot(&made, NULL);
    made.result.stereo.sum_rms_khz = sc_measured(noise ? 10 : 1.21, 0.01);
    for (int i = 0; i < 3; i++)
      add(&made, 50 * (i + 1), khz[i], 0, NULL);
    explain(&made);
    for (int i = 0; i < 3; i++)
      check(&made.lines[i + 1], noise ? SC_VERDICT_SPURIOUS : SC_VERDICT_UNKNOWN,
            noise ? "mains hum" : "possible mains hum");
  }
}
END_TEST

/* The side lines of a tone that hum modulates stand on both sides of it, equal (amplitude
 * modulation); they are of that tone where multiples of the mains are as well. */
START_TEST(side_lines_of_a_tone_are_its_own)
{
  struct made made;
  start(&made, SC_KIND_COMPOSITE, 192e3);
  add_pilot(&made, NULL);
  add(&made, 400, 20, 0, NULL);
  add(&made, 50, 1.5, 0, NULL);
  struct sc_line *second = add(&made, 100, 0.8, 0, NULL);
  struct sc_line *below = add(&made, 350, 0.1, 0, NULL);
  struct sc_line *above = add(&made, 450, 0.1, 0, NULL);
  explain(&made);
  check(second, SC_VERDICT_UNKNOWN, "possible mains hum: 2 times 50.00 Hz");
  check(below, SC_VERDICT_UNKNOWN, "1 times the hum of 50.00 Hz, on the line at 400 Hz");
  check(above, SC_VERDICT_UNKNOWN, "1 times the hum of 50.00 Hz, on the line at 400 Hz");
}
END_TEST

/* Notes that come and go, strong ones and weak, are of the programme: a supply hums all the time.
 */
START_TEST(bass_that_changes_is_no_hum)
{
  static const double ends[RECORDS] = {1, 1, 0.1, 0.05, 1, 0.7};
  struct made made;
  for (int weak = 0; weak <= 1; weak++) {
    start(&made, SC_KIND_COMPOSITE, 192e3);
    made.result.composite_lines.records = RECORDS;
    add_pilot(&made, NULL);
    add(&made, 440, 20, 0, ends);
    struct sc_line *first = add(&made, 50, weak ? 0.6 : 1.5, 0, ends);
    struct sc_line *second = add(&made, 100, weak ? 0.4 : 1.2, 0, ends);
    struct sc_line *brief = add(&made, 150, weak ? 0.3 : 1.1, 0, NULL);
    brief->tone.moment_count = 3;
    explain(&made);
    check(first, SC_VERDICT_EXPLAINED, "50 Hz in the sum");
    check(second, SC_VERDICT_EXPLAINED, "100 Hz in the sum");
    check(brief, SC_VERDICT_EXPLAINED, "150 Hz in the sum");
  }
}
END_TEST

/* One line alone, and one with what a stage makes of it, may be a tone; two as strong as the rest
 * of the programme are some. */
START_TEST(strong_tones_may_be_programme)
{
  struct made made;
  start(&made, SC_KIND_COMPOSITE, 192e3);
  add_pilot(&made, NULL);
  add(&made, 1000, 15.7, 0, NULL);
  struct sc_line *tone = add(&made, 50, 1.5, 0, NULL);
  struct sc_line *harmonic = add(&made, 100, 0.03, 0, NULL);
  explain(&made);
  check(tone, SC_VERDICT_UNKNOWN, "possible mains hum: 1 x 50 Hz");
  check(harmonic, SC_VERDICT_UNKNOWN, "possible product: 2 x 50 Hz");
  start(&made, SC_KIND_COMPOSITE, 192e3);
  add_pilot(&made, NULL);
  add(&made, 1000, 15, 0, NULL);
  struct sc_line *low = add(&made, 100, 14, 0, NULL);
  struct sc_line *high = add(&made, 200, 14, 0, NULL);
  explain(&made);
  check(low, SC_VERDICT_EXPLAINED, "100 Hz in the sum");
  check(high, SC_VERDICT_EXPLAINED, "200 Hz in the sum");
}
END_TEST

/* Tones at 1000, 1700 and 2300 Hz: 2300 - 1000 - 2 x 600 and the like fall on all multiples of
 * 100 Hz, some of which are multiples of the mains too. _i 1: hum of 0.3 kHz and its half beside
 * them, far stronger than the products, is named still. */
START_TEST(products_of_round_tones_are_no_hum)
{
  struct made made;
  start(&made, SC_KIND_COMPOSITE, 250e3);
  add_pilot(&made, NULL);
  add(&made, 1000, 20, 0, NULL);
  add(&made, 1700, 8, 0, NULL);
  add(&made, 2300, 5, 0, NULL);
  struct sc_line *half = _i == 1 ? add(&made, 50, 0.1, 0, NULL) : NULL;
  struct sc_line *first = add(&made, 100, _i == 1 ? 0.3 : 0.004, 0, NULL);
  struct sc_line *second = add(&made, 200, 0.004, 0, NULL);
  for (int i = 0; i < 6; i++)
    add(&made, 800 + 500 * i, 0.003, 0, NULL);
  explain(&made);
  ck_assert_int_ne(second->verdict, SC_VERDICT_SPURIOUS);
  if (_i == 0)
    ck_assert_int_ne(first->verdict, SC_VERDICT_SPURIOUS);
  else
    check(first, SC_VERDICT_SPURIOUS, "mains hum: 2 times 50.00 Hz");
  if (half != NULL)
    check(half, SC_VERDICT_SPURIOUS, "mains hum: 1 times 50.00 Hz");
}
END_TEST

/* What notes of the difference leave that change within a record, and a tone that is no programme.
 * The side bands of what changes are as strong only while it does not (ITU-R BS.450: the difference
 * modulates the amplitude of a suppressed subcarrier). */
START_TEST(notes_that_change_need_no_twin)
{
  static const double ends[RECORDS] = {1, 1, 0.1, 0.05, 1, 0.7}, begins[RECORDS] = {0, 0, 1, 2, 1};
  struct made made;
  start(&made, SC_KIND_COMPOSITE, 192e3);
  made.result.composite_lines.records = RECORDS;
  add_pilot(&made, NULL);
  add(&made, 440, 20, 0, ends);
  struct sc_line *alone = add(&made, 38e3 - 1100.5, 0.2, 0, ends);
  struct sc_line *brief = add(&made, 38e3 + 3000.5, 0.2, 0, NULL);
  struct sc_line *lower = add(&made, 38e3 - 660, 0.2, 0, ends);
  add(&made, 38e3 + 660, 0.5, 0, begins);
  struct sc_line *steady = add(&made, 30123, 0.2, 0, NULL);
  brief->tone.moment_count = 2;
  explain(&made);
  check(alone, SC_VERDICT_EXPLAINED, "it comes and goes");
  check(brief, SC_VERDICT_EXPLAINED, "it comes and goes");
  check(lower, SC_VERDICT_EXPLAINED, "twins are then unequal");
  check(steady, SC_VERDICT_UNKNOWN, "steady while the programme changes");
}
END_TEST

/* A ray of r moves the phase of a carrier by r at most, and its envelope alike (S. O. Rice, Bell
 * Syst. Tech. J. 27, 1948, from memory): tones that turn it by a small part of that may be made on
 * the way, one of 1 kHz at 61.5 kHz, which turns it by 0.016, not. */
START_TEST(a_moving_envelope_puts_weak_tones_in_doubt)
{
  static const double moves_percent[] = {8, 0.2};
  for (size_t i = 0; i < 2; i++) {
    struct made made;
    start(&made, SC_KIND_IQ, 480e3);
    made.result.carrier.offset_hz = sc_measured(60e3, 1e-3);
    made.result.noise.envelope_percent = sc_measured(moves_percent[i], 0.01);
    add_pilot(&made, NULL);
    struct sc_line *weak = add(&made, 60.5e3, 0.2, 0, NULL);
    struct sc_line *strong = add(&made, 61.5e3, 1, 0, NULL);
    explain(&made);
    if (i == 0)
      check(weak, SC_VERDICT_UNKNOWN, "reception may make it: the envelope moves by 8 %");
    else
      check(weak, SC_VERDICT_SPURIOUS, "where no standard has one");
    check(strong, SC_VERDICT_SPURIOUS, "where no standard has one");
  }
}
END_TEST

/* An image of -35 dB on top of the signal, or direct current on top of the carrier, which moves the
 * envelope by 0.48 % (rms of a sine of 0.7 %); 137 Hz beside the centre they stand apart. */
START_TEST(a_receiver_on_the_carrier_makes_tones)
{
  static const struct {
    double offset_hz, image, moves_percent;
    enum sc_verdict weak;
  } cases[] = {{0, 0.0178, 0, SC_VERDICT_UNKNOWN},
               {-3, 0, 0.48, SC_VERDICT_UNKNOWN},
               {137, 0.0178, 0.48, SC_VERDICT_SPURIOUS}};
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    struct made made;
    start(&made, SC_KIND_IQ, 240e3);
    made.result.carrier.offset_hz = sc_measured(cases[i].offset_hz, 1e-3);
    made.result.noise.image = sc_measured(cases[i].image, 1e-4);
    made.result.noise.envelope_percent = sc_measured(cases[i].moves_percent, 0.01);
    add_pilot(&made, NULL);
    struct sc_line *weak = add(&made, 60.5e3, 0.2, 0, NULL);
    struct sc_line *strong = add(&made, 61.5e3, 2, 0, NULL);
    explain(&made);
    check(weak, cases[i].weak,
          cases[i].weak == SC_VERDICT_UNKNOWN ? "tuned right onto the carrier" : "a tone at");
    check(strong, SC_VERDICT_SPURIOUS, "where no standard has one");
  }
}
END_TEST

/* 192 kS/s: seven times the pilot, 133 kHz, folds to 59 kHz, ten times to 2 kHz. */
START_TEST(what_folds_at_the_rate)
{
  struct made made;
  start(&made, SC_KIND_COMPOSITE, 192e3);
  made.result.pilot.frequency_hz.value = 19000.3;
  add(&made, 19000.3, pilot_khz, pilot_phase, NULL);
  struct sc_line *seventh = add(&made, 192e3 - 7 * 19000.3, 0.05, 0, NULL);
  struct sc_line *tenth = add(&made, 192e3 - 10 * 19000.3, 0.02, 0, NULL);
  struct sc_line *clock = add(&made, 24e3, 0.02, 0, NULL);
  struct sc_line *near = add(&made, 24001, 0.02, 0, NULL);
  explain(&made);
  check(seventh, SC_VERDICT_ARTEFACT, "alias: 7 times pilot");
  check(tenth, SC_VERDICT_ARTEFACT, "alias: 10 times pilot");
  check(clock, SC_VERDICT_ARTEFACT, "1/8 of the capture's sample rate");
  check(near, SC_VERDICT_UNKNOWN, "without a twin");
}
END_TEST

/* From IQ nothing folds: the channel was filtered before. */
START_TEST(nothing_folds_behind_a_channel_filter)
{
  struct made made;
  start(&made, SC_KIND_IQ, 192e3);
  add_pilot(&made, NULL);
  struct sc_line *seventh = add(&made, 192e3 - 7 * 19e3 + 25, 0.05, 0, NULL);
  struct sc_line *same = add(&made, 192e3 - 7 * 19e3, 0.05, 0, NULL);
  explain(&made);
  check(seventh, SC_VERDICT_UNKNOWN, "data band");
  ck_assert_int_ne(same->verdict, SC_VERDICT_ARTEFACT);
}
END_TEST

Suite *roles_suite(void)
{
  Suite *suite = suite_create("roles");
  TCase *lines = tcase_create("composite");
  tcase_add_test(lines, low_notes_are_no_residual);
  tcase_add_test(lines, notes_that_change_need_no_twin);
  tcase_add_test(lines, a_moving_envelope_puts_weak_tones_in_doubt);
  tcase_add_test(lines, a_receiver_on_the_carrier_makes_tones);
  tcase_add_test(lines, a_coherent_sum_with_its_twin);
  tcase_add_test(lines, a_missing_twin_speaks_against_it);
  tcase_add_test(lines, pairs_of_a_subcarrier_are_its_own);
  tcase_add_test(lines, what_falls_out_of_step_is_no_product);
  tcase_add_test(lines, a_product_follows_the_pilot);
  tcase_add_test(lines, hum_is_a_series_of_weak_lines);
  tcase_add_test(lines, programme_is_no_hum);
  tcase_add_loop_test(lines, hum_is_hum_at_any_level, 0, 3);
  tcase_add_loop_test(lines, two_strong_lines_are_not_surely_hum, 0, 3);
  tcase_add_test(lines, a_series_has_one_name);
  tcase_add_test(lines, side_lines_of_a_tone_are_its_own);
  tcase_add_test(lines, bass_that_changes_is_no_hum);
  tcase_add_test(lines, strong_tones_may_be_programme);
  tcase_add_loop_test(lines, products_of_round_tones_are_no_hum, 0, 2);
  tcase_add_test(lines, what_folds_at_the_rate);
  tcase_add_test(lines, nothing_folds_behind_a_channel_filter);
  suite_add_tcase(suite, lines);
  return suite;
}
