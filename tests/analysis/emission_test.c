/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Occupied bandwidth, masks and the place among the channels through the whole chain, against
 * the Bessel functions of the C library: a pilot of 6.75 kHz has an index of 0.355, and its lines
 * at 0, 1 and 2 times 19 kHz hold 93.8 %, 3.05 % and 0.024 % of the power to either side. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "analysis/chain.h"
#include "analysis/suites.h"

static const double second_order_dbc_slack = 0.1;

static struct chain pilot_at_91_26_mhz(void)
{
  struct chain chain = chain_usual();
  chain_add_pilot(&chain);
  chain.centre_hz = 91.2e6;
  return chain;
}

static void check_near(struct sc_quantity quantity, double expected, double slack)
{
  ck_assert_msg(quantity.why == NULL, "not measured: %s", quantity.why);
  ck_assert_double_eq_tol(quantity.value, expected, slack);
}

START_TEST(a_pilot_occupies_its_first_order)
{
  struct chain chain = pilot_at_91_26_mhz();
  struct sc_result result = chain_measure(&chain);
  const struct sc_occupancy *occupancy = &result.occupancy;
  double resolution = occupancy->rbw_hz.value;
  check_near(occupancy->lower_hz, -19e3, resolution);
  check_near(occupancy->upper_hz, 19e3, resolution);
  check_near(occupancy->obw99_hz, 38e3, resolution);
  /* J1 is 14.9 dB below J0, J2 more than 26 dB. */
  check_near(occupancy->minus26db_hz, 38e3, 6 * resolution);
  check_near(occupancy->carson_hz, 2 * (6.75e3 + 19e3), 500);
  sc_result_clear(&result);
}
END_TEST

START_TEST(the_carrier_is_placed_among_the_channels)
{
  struct chain chain = pilot_at_91_26_mhz();
  struct sc_result result = chain_measure(&chain);
  check_near(result.channel.nearest_hz, 91.3e6, 1e-6);
  check_near(result.channel.nearest_error_hz, -40e3, 0.1);
  ck_assert_ptr_nonnull(result.channel.error_hz.why);
  sc_result_clear(&result);
  chain.analysis.raster_hz = 50e3;
  chain.analysis.nominal_hz = 91.25e6;
  result = chain_measure(&chain);
  check_near(result.channel.nearest_hz, 91.25e6, 1e-6);
  check_near(result.channel.error_hz, 10e3, 0.1);
  check_near(result.channel.error_ppm, 1e6 * 10e3 / 91.25e6, 1e-6 * 100);
  sc_result_clear(&result);
}
END_TEST

/* The margin of the line at twice 19 kHz to limits on either side of it. */
START_TEST(masks_are_judged_in_the_chain)
{
  static const double room_db[] = {0.5, -0.5};
  double second = -20 * log10(jn(2, 6.75 / 19));
  struct sc_mask masks[2];
  for (size_t i = 0; i < 2; i++) {
    char text[160];
    struct sc_message message;
    snprintf(text, sizeof text,
             "name m\nsource test\nresolution 1k\ndetector mean\nfrom 30k to 45k %.4f\n",
             second - room_db[i]);
    ck_assert_int_eq(sc_mask_parse(text, "text", (double)NAN, &masks[i], &message), SC_OK);
  }
  struct chain chain = pilot_at_91_26_mhz();
  chain.analysis.masks = masks;
  chain.analysis.mask_count = 2;
  struct sc_result result = chain_measure(&chain);
  ck_assert_uint_eq(result.mask_count, 2);
  for (size_t i = 0; i < 2; i++) {
    ck_assert_int_eq(result.masks[i].pass, room_db[i] > 0 ? SC_YES : SC_NO);
    check_near(result.masks[i].worst_margin_db, room_db[i], second_order_dbc_slack);
    ck_assert_double_eq_tol(fabs(result.masks[i].worst_offset_hz.value), 38e3, 1e3);
  }
  sc_result_clear(&result);
}
END_TEST

START_TEST(a_composite_has_no_emission)
{
  struct sc_mask mask;
  struct sc_message message;
  ck_assert_int_eq(sc_mask_parse("name m\nsource s\nresolution 1k\ndetector mean\nfrom 30k 20\n",
                                 "text", (double)NAN, &mask, &message),
                   SC_OK);
  struct chain chain = chain_usual();
  chain_add_pilot(&chain);
  chain.kind = SC_KIND_COMPOSITE;
  chain.analysis.masks = &mask;
  chain.analysis.mask_count = 1;
  struct sc_result result = chain_measure(&chain);
  ck_assert_ptr_nonnull(result.occupancy.obw99_hz.why);
  ck_assert_ptr_nonnull(result.channel.nearest_hz.why);
  ck_assert_int_eq(result.masks[0].pass, SC_UNKNOWN);
  ck_assert_ptr_nonnull(strstr(result.masks[0].unjudged, "nothing was judged"));
  sc_result_clear(&result);
}
END_TEST

Suite *emission_suite(void)
{
  Suite *suite = suite_create("emission");
  TCase *tcase = tcase_create("emission");
  tcase_add_test(tcase, a_pilot_occupies_its_first_order);
  tcase_add_test(tcase, the_carrier_is_placed_among_the_channels);
  tcase_add_test(tcase, masks_are_judged_in_the_chain);
  tcase_add_test(tcase, a_composite_has_no_emission);
  suite_add_tcase(suite, tcase);
  return suite;
}
