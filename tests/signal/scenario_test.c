/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Scenario files: every kind of value read, every error one line with its place. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <check.h>

#include "signal/instant.h"
#include "signal/keys.h"
#include "signal/suites.h"
#include "signal/tools.h"

static struct sc_scenario scenario;
static struct sc_message message;

static enum sc_error read_text(const char *text)
{
  char path[] = "/tmp/sidecomb-scenario-XXXXXX";
  const int handle = mkstemp(path);
  ck_assert_int_ge(handle, 0);
  FILE *file = fdopen(handle, "w");
  ck_assert_ptr_nonnull(file);
  ck_assert_int_ge(fputs(text, file), 0);
  ck_assert_int_eq(fclose(file), 0);
  sc_scenario_init(&scenario);
  message.text[0] = 0;
  const enum sc_error error = sc_scenario_read(path, &scenario, &message);
  unlink(path);
  return error;
}

static const char whole[] =
    "title = \"everything at once\";\n"
    "output = \"composite\"; rate_hz = 240000; seconds = 2.5; seed = 12345678901L;\n"
    "level_dbfs = -3.5;\n"
    "station = {\n"
    "  name = \"tower\"; hz = 91.2e6; offset_hz = -120.0; carrier = false;\n"
    "  moves = { drift_hz_s = 3; wander_hz = 200; wander_s = 4; settle_hz = -900; settle_s = 7; "
    "};\n"
    "  pilot = { khz = 6.8; hz = 19000.4; phase_deg = 90; };\n"
    "  programme = ( { kind = \"comb\"; to = \"apart\"; hz = 40; to_hz = 15e3; khz = 0.5; count = "
    "31; },\n"
    "                { kind = \"sound\"; to = \"both\"; file = \"bells.wav\"; khz = 30; } );\n"
    "  preemphasis_us = 50; limit_hz = 14000; mono = true;\n"
    "  difference = { gain_db = 0.5; phase_deg = -8; };\n"
    "  residual = { khz = 0.4; phase_deg = 20; };\n"
    "  rds = { khz = 2.0; phase_deg = 90; pi = 0xD3A5; pty = 4; ps = \"KITEFLD\"; af_mhz = [ 96.7, "
    "101.2 ];\n"
    "          clock = \"2031-05-17T09:30:00Z\"; half_hours = 4; tp = true; groups = ( [ 0xD3A5, "
    "0x3000, 1, 2 ] ); };\n"
    "  subcarriers = ( { hz = 67000; khz = 7.5; limit_hz = 5000;\n"
    "                    programme = ( { kind = \"tone\"; to = \"both\"; hz = 400; khz = 4; } ); } "
    ");\n"
    "  bands = ( { hz = 67650; width_hz = 18000; rms_khz = 2; } );\n"
    "  tones = ( { name = \"hum\"; hz = 50; khz = 0.2; phase_deg = 30; } );\n"
    "};\n"
    "receiver = {\n"
    "  hz = 91.205e6; clock_ppm = -1.5; tilt_db = 0.1;\n"
    "  carriers = ( { name = \"synthesiser\"; hz = 131400; dbc = -52; along = true; } );\n"
    "  am = ( { hz = 100; percent = 1.5; } );\n"
    "  neighbours = ( { offset_hz = -300e3; level_db = -20; pilot_khz = 6; noise_khz = 8; } );\n"
    "  noise = { cnr_db = 48; bandwidth_hz = 150e3; };\n"
    "  iq = { gain_db = 0.2; phase_deg = 1; };\n"
    "  dc = { i = 0.01; q = -0.02; };\n"
    "};\n";

START_TEST(every_key_lands_in_its_place)
{
  const struct sc_station *s = &scenario.station;
  ck_assert_msg(read_text(whole) == SC_OK, "%s", message.text);
  ck_assert_str_eq(scenario.title, "everything at once");
  ck_assert_int_eq(scenario.what, SC_WHAT_COMPOSITE);
  ck_assert(scenario.rate_hz == 240e3 && scenario.seconds == 2.5 && scenario.level_dbfs == -3.5);
  ck_assert_uint_eq(scenario.seed, UINT64_C(12345678901));
  ck_assert_str_eq(s->name, "tower");
  ck_assert(scenario.station_hz == 91.2e6 && scenario.offset_hz == -120 && !scenario.carrier);
  ck_assert(s->pilot_khz == 6.8 && s->pilot_hz == 19000.4);
  ck_assert(scenario.motion.drift_hz_s == 3 && scenario.motion.wander_hz == 200 &&
            scenario.motion.wander_s == 4 && scenario.motion.settle_hz == -900 &&
            scenario.motion.settle_s == 7);
  CHECK_CLOSE(s->pilot_phase_rad, TWO_PI / 4, 1e-15);
  ck_assert_uint_eq(s->programme_count, 2);
  ck_assert_int_eq(s->programme[0].kind, SC_PROGRAMME_COMB);
  ck_assert_int_eq(s->programme[0].to, SC_TO_APART);
  ck_assert_int_eq(s->programme[0].count, 31);
  ck_assert(s->programme[0].hz == 40 && s->programme[0].to_hz == 15e3 &&
            s->programme[0].khz == 0.5);
  ck_assert_str_eq(s->programme[1].path, "/tmp/bells.wav");
  ck_assert(s->preemphasis_us == 50 && s->limit_hz == 14e3 && s->mono);
  ck_assert(s->difference_gain_db == 0.5 && s->residual_khz == 0.4);
  CHECK_CLOSE(s->residual_phase_rad, TWO_PI / 18, 1e-15);
  ck_assert(s->tones[0].hz == 50 && s->tones[0].amplitude == 0.2 && s->tone_count == 1);
  ck_assert(s->bands[0].hz == 67650 && s->bands[0].width_hz == 18e3 && s->bands[0].rms_khz == 2);
  ck_assert(s->subcarriers[0].hz == 67e3 && s->subcarriers[0].programme[0].hz == 400);
}
END_TEST

START_TEST(data_and_receiver_land_in_their_places)
{
  const struct sc_rds_content *rds = &scenario.station.rds;
  ck_assert_int_eq(read_text(whole), SC_OK);
  ck_assert(rds->khz == 2 && rds->tp && rds->clock && rds->clock_half_hours == 4);
  ck_assert_int_eq(rds->pi, 0xd3a5);
  ck_assert_str_eq(rds->ps, "KITEFLD");
  ck_assert_uint_eq(rds->af_count, 2);
  ck_assert(rds->af_mhz[1] == 101.2 && rds->group_count == 1 && rds->groups[0][1] == 0x3000);
  ck_assert_int_eq(rds->clock_s, INT64_C(1936776600));
  ck_assert(scenario.centre_hz == 91.205e6 && scenario.clock_ppm == -1.5 &&
            scenario.tilt_db == 0.1);
  ck_assert(scenario.carriers[0].along);
  ck_assert(scenario.carriers[0].amplitude == -52 && scenario.am[0].amplitude == 1.5);
  ck_assert(scenario.neighbours[0].offset_hz == -300e3 && scenario.neighbours[0].noise_khz == 8);
  ck_assert(scenario.cnr_db == 48 && scenario.cnr_bandwidth_hz == 150e3);
  ck_assert(scenario.iq_gain_db == 0.2 && scenario.dc_i == 0.01 && scenario.dc_q == -0.02);
}
END_TEST

/* ---- errors */

static const struct {
  const char *text, *says;
} wrong[] = {
    {"rate_hz = 384000;\nstation = { pilott = { }; };\n",
     ":2: there is no key 'pilott' here; there are:"},
    {"\n\nrate_hz = \"fast\";\n", ":3: rate_hz: a number is wanted"},
    {"rate_hz = 1e9;\n", ":1: rate_hz: 1e+09 is out of range; it can be 8000 to 1e+07"},
    {"station = {\n  pilot = {\n    khz = 99;\n  };\n};\n", ":3: khz: 99 is out of range"},
    {"output = \"noise\";\n", ":1: output: wanted is one of \"iq\" \"composite\" \"audio\""},
    {"seed = -1;\n", ":1: seed: a whole number"},
    {"station = { mono = 1; };\n", ":1: mono: true or false"},
    {"station = { rds = { pty = 3.5; }; };\n", ":1: pty: a whole number"},
    {"station = { rds = {\n clock = \"tomorrow\"; }; };\n", ":2: clock: a time like"},
    {"station = { rds = { groups = ( [ 1, 2, 3 ] ); }; };\n", "a group is a list of four words"},
    {"station = { rds = { groups = ( [ 1, 2, 3, 65536 ] ); }; };\n", "65536 is out of range"},
    {"station = { tones = 5; };\n", ":1: tones: a list in brackets"},
    {"station = { tones = (\n 5 ); };\n", ":2: tones: a group in braces"},
    {"station = { bands = ( {}, {}, {}, {}, {} ); };\n",
     ":1: bands: 5 are too many; there is room for 4"},
    {"station = { rds = {\n ps = \"123456789\"; }; };\n", ":2: ps: more than 8 characters"},
    {"station = { rds = {\n text = \"\xe6\xbc\xa2\"; }; };\n", ":2: text: more than 64 char"},
    {"station = { programme = ( {},\n { kind = \"comb\"; } ); };\n", ":2: programme: a comb"},
    {"station = {\n subcarriers = (\n { programme = (\n { kind = \"sound\"; } ); } ); };\n",
     ":4: programme: a sound needs a file"},
    {"station = 3;\n", ":1: station: a group in braces"},
    {"title = 3;\n", ":1: title: a text in quotes"},
    {"rate_hz = 1;;;\nstation = {\n", ":1: "},
    {"rate_hz = ", ":1: syntax error"},
    {"rate_hz = 384000;\nrate_hz = 384000;\n", ":2: duplicate setting name"},
};

START_TEST(a_wrong_file_is_one_line_with_its_place)
{
  struct sc_scenario before;
  ck_assert_int_eq(read_text(wrong[_i].text), SC_BAD_FORMAT);
  ck_assert_msg(strstr(message.text, wrong[_i].says) != NULL, "'%s' does not say '%s'",
                message.text, wrong[_i].says);
  ck_assert_ptr_nonnull(strstr(message.text, "sidecomb-scenario-"));
  ck_assert_ptr_null(strchr(message.text, '\n'));
  sc_scenario_init(&before);
  ck_assert_msg(before.rate_hz == scenario.rate_hz, "a wrong file has changed the scenario");
}
END_TEST

START_TEST(texts_that_are_too_long_are_refused)
{
  char text[1500];
  snprintf(text, sizeof text, "station = {\n name = \"%0100d\"; };", 0);
  ck_assert_int_eq(read_text(text), SC_BAD_FORMAT);
  ck_assert_ptr_nonnull(strstr(message.text, ":2: name: the text is too long"));
  snprintf(text, sizeof text, "station = { programme = ( { file = \"%01200d\"; } ); };", 0);
  ck_assert_int_eq(read_text(text), SC_BAD_FORMAT);
  ck_assert_ptr_nonnull(strstr(message.text, "file: the file name is too long"));
}
END_TEST

START_TEST(files_that_are_none_are_refused)
{
  sc_scenario_init(&scenario);
  ck_assert_int_eq(sc_scenario_read("/nowhere/at.all", &scenario, &message), SC_CANNOT_OPEN);
  ck_assert_ptr_nonnull(strstr(message.text, "/nowhere/at.all"));
  ck_assert_int_ne(sc_scenario_read("/tmp", &scenario, &message), SC_OK);
}
END_TEST

/* ---- assignments */

START_TEST(assignments_reach_every_depth)
{
  sc_scenario_init(&scenario);
  ck_assert_int_eq(sc_scenario_assign("rate_hz = 250e3", &scenario, &message), SC_OK);
  ck_assert_int_eq(sc_scenario_assign("station.pilot.khz=6.25", &scenario, &message), SC_OK);
  ck_assert_int_eq(
      sc_scenario_assign("station.tones = ({hz = 100.5; khz = 0.1;})", &scenario, &message), SC_OK);
  ck_assert(scenario.rate_hz == 250e3 && scenario.station.pilot_khz == 6.25);
  ck_assert(scenario.station.tone_count == 1 && scenario.station.tones[0].hz == 100.5);
}
END_TEST

START_TEST(wrong_assignments_are_refused)
{
  static const char *const bad[] = {"",
                                    "rate_hz",
                                    "=",
                                    "....",
                                    "station.pilot.kHz = 6",
                                    "a.b.c.d.e",
                                    "rate_hz = 1 }; {",
                                    "station = { } extra",
                                    "rate_hz = true"};
  sc_scenario_init(&scenario);
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
    if (bad[i][0] != 0)
      ck_assert_int_eq(sc_scenario_assign(bad[i], &scenario, &message), SC_BAD_FORMAT);
    ck_assert(scenario.rate_hz == 384e3);
  }
}
END_TEST

START_TEST(instants_are_read_by_the_calendar)
{
  int64_t seconds;
  ck_assert(signal_instant_parse("1970-01-01T00:00:00Z", &seconds) && seconds == 0);
  ck_assert(signal_instant_parse("1969-12-31T23:59:59Z", &seconds) && seconds == -1);
  ck_assert(signal_instant_parse("2000-02-29T12:00:00Z", &seconds) && seconds == 951825600);
  ck_assert(signal_instant_parse("2038-04-23T00:00:00Z", &seconds) && seconds == 2155593600);
  ck_assert(!signal_instant_parse("2100-01-01T00:00:00Z", &seconds));
  ck_assert(!signal_instant_parse("2023-02-29T12:00:00Z", &seconds));
  ck_assert(!signal_instant_parse("2023-02-28T24:00:00Z", &seconds));
  ck_assert(!signal_instant_parse("2023-02-28 12:00:00Z", &seconds));
  ck_assert(!signal_instant_parse("2023-02-28T12:00:00Z ", &seconds));
  ck_assert(!signal_instant_parse("", &seconds));
}
END_TEST

static void print_instant(const char *text)
{
  char again[SIGNAL_INSTANT_LENGTH + 1];
  int64_t seconds;
  ck_assert(signal_instant_parse(text, &seconds));
  signal_instant_print(seconds, again);
  ck_assert_str_eq(again, text);
}

START_TEST(instants_are_printed_as_they_are_read)
{
  static const char *const texts[] = {"1900-01-01T00:00:00Z", "1969-12-31T23:59:59Z",
                                      "1970-01-01T00:00:00Z", "2000-02-29T12:34:56Z",
                                      "2024-12-31T23:59:59Z", "2031-05-17T09:30:00Z",
                                      "2099-12-31T23:59:59Z"};
  for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
    print_instant(texts[i]);
}
END_TEST

/* ---- the way back to text */

/* Awkward values of every type; sums of binary fractions that no short decimal names. */
static const char awkward[] =
    "title = \"a \\\"quoted\\\" title with \\\\ and \\x1b and \\xff\"; seed = 9007199254740993L;"
    "rate_hz = 1023999.9999; output = \"composite\"; level_dbfs = -0.1;"
    "station = { name = \"Zürich\"; hz = 3.1e9; carrier = false; mono = true;"
    "  pilot = { khz = 6.7000001; phase_deg = 33.3333333; };"
    "  programme = ( { kind = \"comb\"; to = \"apart\"; hz = 31.25; to_hz = 16e3; khz = 0.3; count "
    "= 7; },"
    "    { kind = \"sound\"; file = \"a b.wav\"; khz = 75; phase_deg = -0.1; } );"
    "  rds = { khz = 2; pi = 0xD3A5; clock = \"2031-05-17T09:30:07Z\"; half_hours = -7;"
    "    af_mhz = ( 87.6, 99.9 ); groups = ( [ 1, 2, 3, 65535 ], [ 0, 0, 0, 0 ] ); };"
    "  subcarriers = ( { hz = 67e3; khz = 7.5; limit_hz = 5e3;"
    "    programme = ( { hz = 400.0; khz = 3; }, { kind = \"pink\"; khz = 1; } ); },"
    "    { hz = 92e3; khz = 5; limit_hz = 5e3; } );"
    "  tones = ( { name = \"hum\"; hz = 50; khz = 0.01; } ); };"
    "receiver = { hz = 3.1e9; noise = { cnr_db = 41.7; }; iq = { phase_deg = 1.1; }; };";

static char *printed(const struct sc_scenario *s)
{
  char *text;
  ck_assert_int_eq(sc_scenario_print(s, &text), SC_OK);
  return text;
}

static void check_way_back(const char *source)
{
  static struct sc_scenario made, again;
  sc_scenario_init(&made);
  sc_scenario_init(&again);
  ck_assert_msg(sc_scenario_parse(source, "source", &made, &message) == SC_OK, "%s", message.text);
  char *text = printed(&made);
  for (const char *c = text; *c != 0; c++)
    ck_assert_msg((unsigned char)*c >= ' ' || *c == '\n', "a control character in the text");
  ck_assert_msg(sc_scenario_parse(text, "printed", &again, &message) == SC_OK, "%s", message.text);
  ck_assert_msg(memcmp(&made, &again, sizeof made) == 0, "another scenario:\n%s", text);
  free(text);
}

START_TEST(what_is_printed_is_read_as_the_same_scenario)
{
  check_way_back("");
  check_way_back(awkward);
}
END_TEST

static void check_named(const struct signal_key *keys, const char *text)
{
  char wanted[64];
  for (const struct signal_key *key = keys; key->name != NULL; key++) {
    snprintf(wanted, sizeof wanted, " %s", key->name);
    ck_assert_msg(strstr(text, wanted) != NULL, "%s is not there", key->name);
    ck_assert_msg(strstr(text, key->help) != NULL, "%s is not explained", key->name);
    if (key->inside != NULL && strcmp(key->name, "programme") != 0)
      check_named(key->inside, text);
  }
}

START_TEST(what_is_printed_explains_every_key)
{
  static struct sc_scenario s;
  sc_scenario_init(&s);
  char *text = printed(&s);
  ck_assert_ptr_eq(strstr(text, "title = \"\";"), text);
  for (const struct signal_key *key = signal_scenario_keys; key->name != NULL; key++)
    if (key->inside != NULL)
      check_named(key->inside, text);
  free(text);
}
END_TEST

/* ---- the table itself */

static void check_table(const struct signal_key *keys)
{
  for (const struct signal_key *key = keys; key->name != NULL; key++) {
    ck_assert_ptr_eq(signal_key_find(keys, key->name), key); /* unique */
    ck_assert_uint_gt(strlen(key->help), 3);
    if (key->inside != NULL)
      check_table(key->inside);
    if (key->type == SIGNAL_KEY_NUMBER || key->type == SIGNAL_KEY_COUNT)
      ck_assert(key->low < key->high);
  }
}

START_TEST(the_table_of_keys_is_sound)
{
  check_table(signal_scenario_keys);
  ck_assert_ptr_null(signal_key_find(signal_scenario_keys, "no such key"));
}
END_TEST

Suite *scenario_suite(void)
{
  Suite *suite = suite_create("scenario");
  TCase *tests = tcase_create("scenario");
  tcase_add_test(tests, every_key_lands_in_its_place);
  tcase_add_test(tests, data_and_receiver_land_in_their_places);
  tcase_add_loop_test(tests, a_wrong_file_is_one_line_with_its_place, 0,
                      sizeof wrong / sizeof wrong[0]);
  tcase_add_test(tests, texts_that_are_too_long_are_refused);
  tcase_add_test(tests, files_that_are_none_are_refused);
  tcase_add_test(tests, assignments_reach_every_depth);
  tcase_add_test(tests, wrong_assignments_are_refused);
  tcase_add_test(tests, instants_are_read_by_the_calendar);
  tcase_add_test(tests, instants_are_printed_as_they_are_read);
  tcase_add_test(tests, what_is_printed_is_read_as_the_same_scenario);
  tcase_add_test(tests, what_is_printed_explains_every_key);
  tcase_add_test(tests, the_table_of_keys_is_sound);
  suite_add_tcase(suite, tests);
  return suite;
}
