/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The account of what receivers and other carriers add: beats, direct current, hum, clocks, images;
 * and of AM that hides. */
#include <config.h>

#include <math.h>

#include "account/made.h"
#include "account/suites.h"

/* A second carrier beats with every line of the first one: tones on the composite at its offset
 * and 19 kHz beside, which are not to be taken for real ones. */
START_TEST(a_one_sided_carrier_and_its_beats)
{
  struct made made;
  start(&made);
  add_pilot_alone(&made);
  double e = 0.01, hz = 71210;
  add_air(&made, hz, e);
  add_tone(&made, hz, 1e-3 * e * j0(pilot_index) * hz, 0);
  add_tone(&made, hz - 19e3, 1e-3 * e * j1(pilot_index) * (hz - 19e3), 0);
  explain(&made);
  check(&made.air[7], SC_VERDICT_SPURIOUS, "carrier of its own");
  ck_assert_str_eq(made.air[7].label, "carrier at +71.21 kHz");
  ck_assert_ptr_nonnull(made.air[7].predicted_dbc.why);
  check(&made.composite[1], SC_VERDICT_ARTEFACT, "made in the discriminator");
  check(&made.composite[2], SC_VERDICT_ARTEFACT, "made in the discriminator");
}
END_TEST

/* A line of data is eight times what the beat could be; that its phase is hardly known is no reason
 * to take it for one. */
START_TEST(a_line_in_doubt_is_no_beat)
{
  struct made made;
  start(&made);
  add_pilot_alone(&made);
  double e = 0.001, hz = 71210, khz = 8 * 1e-3 * e * j1(pilot_index) * (hz - 19e3);
  add_air(&made, hz, e);
  struct sc_line *line = add_tone(&made, hz - 19e3, khz, 0);
  line->deviation_khz.uncertainty = 0.15 * khz;
  line->tone.phase_uncertainty_rad = 0.4;
  explain(&made);
  ck_assert_int_ne(line->verdict, SC_VERDICT_ARTEFACT);
}
END_TEST

/* Stronger lines outside of the channel filter do not reach the discriminator, however many. */
START_TEST(lines_beside_the_channel_make_no_beats)
{
  struct made made;
  start(&made);
  add_pilot_alone(&made);
  made.result.capture.info.sample_rate_hz = 2.4e6;
  double e = 0.01, hz = 71210;
  for (int i = 0; i < 20; i++)
    add_air(&made, 400e3 + 7001 * i, 0.2 + 0.01 * i);
  add_air(&made, hz, e);
  add_tone(&made, hz, 1e-3 * e * j0(pilot_index) * hz, 0);
  explain(&made);
  check(&made.composite[1], SC_VERDICT_ARTEFACT, "one-sided line at +71.210 kHz");
}
END_TEST

START_TEST(no_mirror_can_be_seen)
{
  struct made made;
  start(&made);
  add_pilot_alone(&made);
  add_air(&made, 71210, 1e-4)->tone.snr_db = 14; /* 1 dB over the threshold */
  add_air(&made, -180e3, 1e-2)->tone.snr_db = 50;
  add_air(&made, 182e3 + 120e3, 1e-2)->tone.snr_db = 50; /* mirrored outside of the capture */
  explain(&made);
  check(&made.air[7], SC_VERDICT_UNKNOWN, "cannot be seen");
  check(&made.air[8], SC_VERDICT_SPURIOUS, "carrier");
  check(&made.air[9], SC_VERDICT_UNKNOWN, "cannot be seen");
}
END_TEST

START_TEST(direct_current_of_the_receiver)
{
  struct made made;
  start(&made);
  add_pilot_alone(&made);
  add_air(&made, -carrier_hz, 0.02);
  add_tone(&made, -carrier_hz, 1e-3 * 0.02 * j0(pilot_index) * -carrier_hz, 1);
  explain(&made);
  check(&made.air[7], SC_VERDICT_ARTEFACT, "0 Hz of the capture");
  check(&made.composite[1], SC_VERDICT_ARTEFACT, "direct current");
}
END_TEST

/* Lines at the mirrored places of the capture, all of one ratio. */
/* 100 Hz beside the receiver's direct current, and an eighth of its rate. */
START_TEST(hum_and_clocks_of_the_receiver)
{
  struct made made;
  start(&made);
  add_pilot_alone(&made);
  add_air(&made, -carrier_hz, 0.02);
  add_air(&made, -carrier_hz + 100.2, 0.001);
  add_air(&made, -carrier_hz + 62500, 0.001);
  add_air(&made, -carrier_hz + 62600, 0.001);
  explain(&made);
  check(&made.air[8], SC_VERDICT_ARTEFACT, "mains hum of the receiver: 2 x 50 Hz");
  check(&made.air[9], SC_VERDICT_ARTEFACT, "clock line of the receiver: exactly 1/8");
  check(&made.air[10], SC_VERDICT_SPURIOUS, "carrier");
}
END_TEST

/* exp(j phi) at x has K exp(-j phi) at -x, the same K for all (a receiver of two branches,
 * textbook). The carrier's image is lost in noise here; the side lines tell it. */
/* At an index of 2.4048 nothing is left of the carrier (first zero of J0, Abramowitz and Stegun,
 * table 9.5), nor of the pair that AM of 130 Hz has beside it: the pairs beside the other lines
 * tell of it, each line of n turns times half of 2 %. */
START_TEST(am_without_a_carrier)
{
  struct made made;
  const double index = 2.404826, tone_hz = 5000;
  start(&made);
  add_tone(&made, tone_hz, 1e-3 * index * tone_hz, 0);
  for (int n = 1; n <= 4; n++)
    add_pair(&made, n * tone_hz, jn(n, index), jn(-n, index));
  const size_t first = made.result.air_lines.count;
  for (int n = -4; n <= 4; n++)
    for (int side = -1; side <= 1 && n != 0; side += 2)
      add_air(&made, n * tone_hz + side * 130, 0.01 * jn(n, index));
  explain(&made);
  for (size_t i = first; i < made.result.air_lines.count; i++) {
    check(&made.air[i], SC_VERDICT_SPURIOUS, "amplitude modulation of 2 % at 130 Hz");
    ck_assert_str_eq(made.air[i].label, "AM 130 Hz");
  }
}
END_TEST

START_TEST(an_image_without_that_of_the_carrier)
{
  struct made made;
  start(&made);
  add_pilot_alone(&made);
  add_air(&made, -2 * carrier_hz + 19e3, 0.03 * j1(pilot_index));
  add_air(&made, -2 * carrier_hz - 19e3, 0.03 * j1(pilot_index));
  add_air(&made, -2 * carrier_hz - 38e3, 0.03 * jn(2, pilot_index));
  explain(&made);
  check(&made.air[7], SC_VERDICT_ARTEFACT, "mirror image of the line at -19 kHz");
  check(&made.air[9], SC_VERDICT_ARTEFACT, "30.5 dB down");
}
END_TEST

/* A strong carrier at +150.01 kHz, 90.01 kHz above the middle of the capture, and a line as far
 * below; and one that is not. */
START_TEST(a_lone_image_is_left_open)
{
  struct made made;
  start(&made);
  add_pilot_alone(&made);
  add_air(&made, 150010, 0.5);
  add_air(&made, -150010 - 2 * carrier_hz, 0.01);
  add_air(&made, -150110 - 2 * carrier_hz, 0.01);
  explain(&made);
  check(&made.air[8], SC_VERDICT_UNKNOWN, "possible mirror image of the line at +150.01 kHz, 34.0");
  check(&made.air[9], SC_VERDICT_SPURIOUS, "carrier");
}
END_TEST

/* The same, but the carrier's own image and those of the pilot's lines, 60 and 79 kHz from the
 * middle, would be seen at that ratio; or one of them is. */
START_TEST(what_is_no_image_is_a_carrier)
{
  for (int image = 0; image < 2; image++) {
    struct made made;
    start(&made);
    add_pilot_alone(&made);
    for (size_t i = 0; i < made.result.air_lines.count; i++)
      made.air[i].tone.snr_db = 120;
    add_air(&made, 150010, 0.5);
    add_air(&made, -150010 - 2 * carrier_hz, 0.01);
    if (image)
      add_air(&made, -2 * carrier_hz + 19e3, 0.02 * j1(pilot_index));
    explain(&made);
    if (image)
      check(&made.air[8], SC_VERDICT_UNKNOWN, "possible mirror image of the line at +150.01 kHz");
    else
      check(&made.air[8], SC_VERDICT_SPURIOUS, "carrier");
  }
}
END_TEST

START_TEST(unequal_i_and_q)
{
  struct made made;
  start(&made);
  add_pilot_alone(&made);
  add_air(&made, -2 * carrier_hz, 0.03 * j0(pilot_index));
  add_air(&made, -2 * carrier_hz + 19e3, 0.03 * j1(pilot_index));
  explain(&made);
  check(&made.air[7], SC_VERDICT_ARTEFACT, "30.5 dB down");
  check(&made.air[8], SC_VERDICT_ARTEFACT, "mirror image of the line at -19 kHz");
}
END_TEST

Suite *receiver_suite(void)
{
  Suite *suite = suite_create("receiver");
  TCase *lines = tcase_create("receiver");
  tcase_add_test(lines, a_one_sided_carrier_and_its_beats);
  tcase_add_test(lines, a_line_in_doubt_is_no_beat);
  tcase_add_test(lines, lines_beside_the_channel_make_no_beats);
  tcase_add_test(lines, no_mirror_can_be_seen);
  tcase_add_test(lines, direct_current_of_the_receiver);
  tcase_add_test(lines, hum_and_clocks_of_the_receiver);
  tcase_add_test(lines, am_without_a_carrier);
  tcase_add_test(lines, an_image_without_that_of_the_carrier);
  tcase_add_test(lines, a_lone_image_is_left_open);
  tcase_add_test(lines, what_is_no_image_is_a_carrier);
  tcase_add_test(lines, unequal_i_and_q);
  suite_add_tcase(suite, lines);
  return suite;
}
