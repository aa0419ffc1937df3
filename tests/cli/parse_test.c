/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Arguments into settings, and the one line for each mistake. */
#include <config.h>

#include <math.h>
#include <string.h>

#include "cli/option.h"
#include "cli/parse.h"
#include "cli/suites.h"

enum { ARGUMENTS_MAX = 32 };

static const struct cli_command report = {.name = "report", .bit = CLI_ON_REPORT};
static const struct cli_command compose = {
    .name = "compose", .bit = CLI_ON_COMPOSE, .operands = CLI_MAYBE_SCENARIO};
static const struct cli_command view = {.name = "view", .bit = CLI_ON_VIEW};

static struct cli_settings settings;
static struct sc_message message;

/* A line of words as the shell would split it. getopt reorders its arguments, so they live
 * in the static memory that the settings point into. */
static enum sc_error parse(const struct cli_command *command, const char *line)
{
  static char words[512];
  static char *arguments[ARGUMENTS_MAX];
  strcpy(words, line);
  int count = 0;
  arguments[count++] = "sidecomb";
  for (char *word = strtok(words, " "); word != NULL; word = strtok(NULL, " "))
    arguments[count++] = word;
  arguments[count] = NULL;
  message.text[0] = '\0';
  return cli_parse(command, count, arguments, &settings, &message);
}

static void check_refused(const char *line, const char *said)
{
  ck_assert_msg(parse(&report, line) == SC_BAD_ARGUMENT, "'%s' was taken", line);
  ck_assert_msg(strstr(message.text, said) != NULL, "'%s' said: %s", line, message.text);
  ck_assert_ptr_null(strchr(message.text, '\n'));
}

START_TEST(every_option_reaches_its_setting)
{
  ck_assert_int_eq(parse(&report, "--as composite --type cu8 --rate 2.4M --centre 91.205M "
                                  "--swap-iq --start 1.5 --duration 10 a.cu8"),
                   SC_OK);
  ck_assert_int_eq(settings.source.as, SC_KIND_COMPOSITE);
  ck_assert_str_eq(settings.source.type, "cu8");
  ck_assert_double_eq(settings.source.rate_hz, 2.4e6);
  ck_assert_double_eq(settings.source.centre_hz, 91.205e6);
  ck_assert(settings.source.swap_iq);
  ck_assert_double_eq(settings.source.start_s, 1.5);
  ck_assert_double_eq(settings.source.duration_s, 10);
  ck_assert_str_eq(settings.source.path, "a.cu8");
  ck_assert_int_eq(parse(&report, "a.wav --channel both --clock-ppm -0.8±0.2 --response r.txt "
                                  "--full-scale-khz 120 --json --lines all"),
                   SC_OK);
  ck_assert_int_eq(settings.source.channel, SC_CHANNEL_BOTH);
  ck_assert(settings.source.clock_known);
  ck_assert_double_eq(settings.source.clock_ppm, -0.8);
  ck_assert_double_eq(settings.source.clock_ppm_uncertainty, 0.2);
  ck_assert_str_eq(settings.source.response_path, "r.txt");
  ck_assert_double_eq(settings.full_scale_khz, 120);
  ck_assert(settings.json);
  ck_assert_uint_eq(settings.lines, 0);
  ck_assert_int_eq(parse(&report, "a.wav --rds-groups 20 --rds-region north-america"), SC_OK);
  ck_assert_double_eq(settings.rds_groups, 20);
  ck_assert_int_eq(settings.rds_region, SC_RDS_REGION_RBDS);
}
END_TEST

START_TEST(the_carrier_is_an_offset_when_it_has_a_sign)
{
  ck_assert_int_eq(parse(&report, "--carrier -80k a.wav"), SC_OK);
  ck_assert(settings.carrier.given && settings.carrier.is_offset);
  ck_assert_double_eq(settings.carrier.hz, -80e3);
  ck_assert_int_eq(parse(&report, "--carrier 91.35M a.wav"), SC_OK);
  ck_assert(settings.carrier.given && !settings.carrier.is_offset);
  ck_assert_int_eq(parse(&report, "a.wav"), SC_OK);
  ck_assert(!settings.carrier.given);
}
END_TEST

START_TEST(operands_may_stand_anywhere)
{
  ck_assert_int_eq(parse(&report, "--json -- --json"), SC_OK);
  ck_assert_str_eq(settings.source.path, "--json");
  ck_assert_int_eq(parse(&report, "- --type cf32_le --rate=1M"), SC_OK);
  ck_assert_str_eq(settings.source.path, "-");
  ck_assert_int_eq(parse(&report, "--help"), SC_OK);
  ck_assert(settings.help);
}
END_TEST

START_TEST(each_mistake_has_its_line)
{
  check_refused("", "no capture is named");
  check_refused("a.wav b.wav", "b.wav: a second capture");
  check_refused("--nonsense a.wav", "--nonsense: no such option");
  check_refused("-x a.wav", "-x: no such option");
  check_refused("--rate", "--rate: needs its argument HZ");
  check_refused("--json=1 a.wav", "--json: takes no argument");
  check_refused("--rate 12x a.wav", "--rate 12x: not a number of Hz");
  check_refused("--rate nan a.wav", "--rate nan: not a number of Hz");
  check_refused("--rate 0 a.wav", "--rate 0: out of range; give 1000 to 1000000000 Hz");
  check_refused("--rate -1M a.wav", "out of range");
  check_refused("--duration 0 a.wav", "out of range");
  check_refused("--start -1 a.wav", "out of range");
  check_refused("--as video a.wav", "--as video: not known; give iq, composite or audio");
  check_refused("--channel middle a.wav", "give left, right or both");
  check_refused("--rds-region moon a.wav", "give world or north-america");
  check_refused("--rds-groups 0 a.wav", "out of range; give 1 to 1000000");
  check_refused("--type cu9 a.wav", "--type cu9: not known; give ");
  check_refused("--clock-ppm 1 a.wav", "give the value and its standard uncertainty");
  check_refused("--clock-ppm 1±-1 a.wav", "standard uncertainty");
  check_refused("--clock-ppm 5000±1 a.wav", "out of range");
  check_refused("--lines 0 a.wav", "out of range");
  check_refused("--lines 1.5 a.wav", "whole number");
  check_refused("--response= a.wav", "--response: its argument FILE is empty");
}
END_TEST

START_TEST(options_of_other_commands_are_named)
{
  ck_assert_int_eq(parse(&view, "--json a.wav"), SC_BAD_ARGUMENT);
  ck_assert_ptr_nonnull(strstr(message.text, "--json: not an option of view"));
}
END_TEST

START_TEST(captures_to_be_made_have_options_of_their_own)
{
  ck_assert_int_eq(parse(&compose, "-o a.wav --as composite --rate 192k --seconds 2.5 --seed 0 "
                                   "--bits 24 --set a=1 --set b=2 --float b.cfg"),
                   SC_OK);
  ck_assert_str_eq(settings.compose.file.path, "a.wav");
  ck_assert_str_eq(settings.compose.scenario, "b.cfg");
  ck_assert_int_eq(settings.compose.what, SC_KIND_COMPOSITE);
  ck_assert_double_eq(settings.compose.rate_hz, 192e3);
  ck_assert_double_eq(settings.compose.seconds, 2.5);
  ck_assert_double_eq(settings.compose.seed, 0);
  ck_assert_double_eq(settings.compose.bits, 24);
  ck_assert(settings.compose.file.floats);
  ck_assert_uint_eq(settings.compose.assignment_count, 2);
  ck_assert_str_eq(settings.compose.assignments[1], "b=2");
  ck_assert_int_eq(parse(&compose, "--out=b"), SC_OK);
  ck_assert_ptr_null(settings.compose.scenario);
  ck_assert(isnan(settings.compose.seed));
  ck_assert_int_eq(parse(&compose, "a.cfg b.cfg"), SC_BAD_ARGUMENT);
  ck_assert_ptr_nonnull(strstr(message.text, "b.cfg: a second scenario"));
  ck_assert_int_eq(parse(&compose, "-o"), SC_BAD_ARGUMENT);
  ck_assert_ptr_nonnull(strstr(message.text, "-o: needs its argument"));
  ck_assert_int_eq(parse(&compose, "--seed 1.5"), SC_BAD_ARGUMENT);
  ck_assert_ptr_nonnull(strstr(message.text, "--seed 1.5: not a whole number"));
  ck_assert_int_eq(parse(&compose, "--json"), SC_BAD_ARGUMENT);
  check_refused("-o a.wav b.wav", "-o: no such option");
}
END_TEST

START_TEST(hostile_words_stay_one_clean_line)
{
  check_refused("--rate \x1b[2J\xff a.wav", "--rate ?[2J?");
  check_refused("--as \nx a.wav", "not known");
}
END_TEST

START_TEST(the_table_keeps_its_own_rules)
{
  size_t count;
  const struct cli_option *options = cli_options(&count);
  for (size_t i = 0; i < count; i++) {
    ck_assert_ptr_nonnull(options[i].take);
    ck_assert_uint_gt(strlen(options[i].help), 10);
    ck_assert_int_eq(options[i].help[strlen(options[i].help) - 1], '.');
    ck_assert_int_ne(options[i].commands, 0);
    for (size_t k = 0; k < i; k++)
      ck_assert_msg((options[i].commands & options[k].commands) == 0 ||
                        (strcmp(options[i].name, options[k].name) != 0 &&
                         (options[i].letter == 0 || options[i].letter != options[k].letter)),
                    "--%s and --%s are not to be told apart", options[i].name, options[k].name);
  }
}
END_TEST

Suite *parse_suite(void)
{
  Suite *suite = suite_create("parse");
  TCase *arguments = tcase_create("arguments");
  tcase_add_test(arguments, every_option_reaches_its_setting);
  tcase_add_test(arguments, the_carrier_is_an_offset_when_it_has_a_sign);
  tcase_add_test(arguments, operands_may_stand_anywhere);
  tcase_add_test(arguments, each_mistake_has_its_line);
  tcase_add_test(arguments, options_of_other_commands_are_named);
  tcase_add_test(arguments, captures_to_be_made_have_options_of_their_own);
  tcase_add_test(arguments, hostile_words_stay_one_clean_line);
  tcase_add_test(arguments, the_table_keeps_its_own_rules);
  suite_add_tcase(suite, arguments);
  return suite;
}
