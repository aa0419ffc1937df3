/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What stands above 53 kHz on the composite and is the beat of another signal on the air. A signal
 * of the amplitude a beside a carrier of 1 turns its phase by a sine of the peak a and moves its
 * envelope by as much (S. O. Rice, Bell Syst. Tech. J. 27, 1948, from memory); a subcarrier turns
 * the phase alone. */
#include <config.h>

#include <stdio.h>
#include <string.h>

#include "analysis/scene.h"
#include "analysis/suites.h"
#include "support/support.h"

#define PROGRAMME                                                                                  \
  "station = { programme = ( { kind = \"pink\"; to = \"left\"; khz = 6; },"                        \
  " { kind = \"pink\"; to = \"right\"; khz = 6; } ); %s };"

static const struct sc_injection *found_near(const struct sc_result *result, double from_hz,
                                             double to_hz)
{
  for (size_t i = 0; i < result->injections.count; i++)
    if (result->injections.at[i].offset_hz.value >= from_hz &&
        result->injections.at[i].offset_hz.value <= to_hz)
      return &result->injections.at[i];
  ck_abort_msg("nothing stands between %g and %g Hz", from_hz, to_hz);
  return NULL;
}

/* The table of positions has auxiliary services at all of these places. */
START_TEST(a_neighbour_or_a_carrier_is_no_subcarrier)
{
  static const struct {
    const char *changes;
    double from_hz, to_hz;
  } cases[] = {
      {"receiver = { neighbours = ( { offset_hz = 100000; level_db = -30; pilot_khz = 6.75;"
       " noise_khz = 5; } ); };",
       85e3, 101e3},
      {"receiver = { neighbours = ( { offset_hz = -90000; level_db = -35; noise_khz = 3; } ); };",
       80e3, 101e3},
      {"receiver = { carriers = ( { hz = 61300; dbc = -45; } ); };", 58e3, 72e3},
  };
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    char changes[600];
    snprintf(changes, sizeof changes, PROGRAMME "%s", "", cases[i].changes);
    struct sc_result result = scene_told(changes, 60 + (unsigned)i);
    const struct sc_injection *found = found_near(&result, cases[i].from_hz, cases[i].to_hz);
    ck_assert_str_eq(sc_injection_kind_name(found->kind), "beat");
    ck_assert_ptr_nonnull(strstr(found->label, "none: another signal"));
    ck_assert_ptr_null(found->customary);
    sc_result_clear(&result);
  }
}
END_TEST

/* Even with a spurious carrier elsewhere, and amplitude modulation of the whole. */
START_TEST(a_subcarrier_is_no_other_signal)
{
  static const struct {
    const char *of_station, *receiver, *label;
    double hz;
  } cases[] = {
      {"subcarriers = ( { hz = 67000; khz = 7.5; limit_hz = 5000;"
       " programme = ( { kind = \"pink\"; khz = 1.5; } ); } );",
       "carriers = ( { hz = 110000; dbc = -45; } );", "auxiliary service", 67e3},
      {"bands = ( { hz = 92000; width_hz = 6000; rms_khz = 0.3; } );",
       "am = ( { hz = 1000; percent = 2; } );", "second auxiliary service", 92e3},
      {"bands = ( { hz = 76000; width_hz = 20000; rms_khz = 2; } );",
       "neighbours = ( { offset_hz = 200000; level_db = -20; noise_khz = 5; } );",
       "data channel (DARC), fourth data stream (RDS2)", 76e3},
      /* nor with a level that goes with the deviation, of which the envelope moves everywhere */
      {"bands = ( { hz = 61500; width_hz = 3000; rms_khz = 0.1; } );", "tilt_db = 3;", NULL,
       61.5e3},
  };
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i += support_stride(2)) {
    char changes[700], station[400];
    snprintf(station, sizeof station, PROGRAMME, cases[i].of_station);
    snprintf(changes, sizeof changes, "%s receiver = { %s };", station, cases[i].receiver);
    struct sc_result result = scene_told(changes, 70 + (unsigned)i);
    const struct sc_injection *found = found_near(&result, cases[i].hz - 1500, cases[i].hz + 1500);
    ck_assert_str_ne(sc_injection_kind_name(found->kind), "beat");
    if (cases[i].label != NULL)
      ck_assert_str_eq(found->label, cases[i].label);
    sc_result_clear(&result);
  }
}
END_TEST

/* So strong a neighbour that its place is blurred by what the carrier swings. */
START_TEST(a_band_under_a_moving_envelope_has_no_name)
{
  struct sc_result result =
      scene_told("rate_hz = 1000000; station = { programme = ( { kind = \"pink\"; to = \"both\"; "
                 "khz = 12; } ); };"
                 "receiver = { hz = 91.2e6; neighbours = ( { offset_hz = -200000; level_db = -10;"
                 " noise_khz = 12; } ); };",
                 80);
  ck_assert_double_gt(result.noise.envelope_percent.value, 4);
  ck_assert_uint_gt(result.injections.count, 0);
  for (size_t i = 0; i < result.injections.count; i++)
    ck_assert(result.injections.at[i].label == NULL ||
              strncmp(result.injections.at[i].label, "open: ", 6) == 0 ||
              strncmp(result.injections.at[i].label, "none: ", 6) == 0);
  sc_result_clear(&result);
}
END_TEST

Suite *foreign_suite(void)
{
  Suite *suite = suite_create("foreign");
  TCase *tests = tcase_create("foreign");
  tcase_set_timeout(tests, 60);
  tcase_add_test(tests, a_neighbour_or_a_carrier_is_no_subcarrier);
  tcase_add_test(tests, a_subcarrier_is_no_other_signal);
  tcase_add_test(tests, a_band_under_a_moving_envelope_has_no_name);
  suite_add_tcase(suite, tests);
  return suite;
}
