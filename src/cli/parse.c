/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Arguments of one subcommand into settings, by getopt_long over the table of options. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <getopt.h>
#include <math.h>
#include <string.h>

#include "cli/option.h"
#include "cli/parse.h"

enum { OPTIONS_MAX = 96, LETTERS_MAX = 16, LINES_DEFAULT = 40, FIRST_VALUE = 256 };
/* Safe with any transmitter: it lowers the null tones most. */
static const double preemphasis_us = 75;

static size_t fill_long_options(const struct cli_command *command, struct option *list)
{
  size_t count, used = 0;
  const struct cli_option *options = cli_options(&count);
  for (size_t i = 0; i < count && used < OPTIONS_MAX; i++)
    if (options[i].commands & command->bit)
      list[used++] = (struct option){options[i].name,
                                     options[i].argument != NULL ? required_argument : no_argument,
                                     NULL, FIRST_VALUE + (int)i};
  list[used] = (struct option){0};
  return used;
}

static size_t fill_letters(const struct cli_command *command, char *letters)
{
  size_t count, used = 0;
  const struct cli_option *options = cli_options(&count);
  letters[used++] = ':'; /* a missing argument is told apart */
  for (size_t i = 0; i < count && used < LETTERS_MAX; i++)
    if (options[i].letter != 0 && (options[i].commands & command->bit)) {
      letters[used++] = options[i].letter;
      if (options[i].argument != NULL)
        letters[used++] = ':';
    }
  letters[used] = 0;
  return used;
}

/* The option of this command, or one of another command. */
static const struct cli_option *find_option(const struct cli_command *command, const char *name,
                                            size_t length)
{
  size_t count;
  const struct cli_option *options = cli_options(&count), *found = NULL;
  for (size_t i = 0; i < count; i++)
    if (strlen(options[i].name) == length && strncmp(options[i].name, name, length) == 0)
      found = found == NULL || (options[i].commands & command->bit) ? &options[i] : found;
  return found;
}

static const struct cli_option *find_letter(const struct cli_command *command, int letter)
{
  size_t count;
  const struct cli_option *options = cli_options(&count);
  for (size_t i = 0; i < count; i++)
    if (letter != 0 && options[i].letter == letter && (options[i].commands & command->bit))
      return &options[i];
  return NULL;
}

/* `given` is the argument as it was typed. */
static enum sc_error refuse(const struct cli_command *command, const char *given,
                            struct sc_message *message)
{
  const char *name = given + strspn(given, "-");
  size_t length = strcspn(name, "=");
  const struct cli_option *option = find_option(command, name, length);
  if (option == NULL)
    return sc_fail(message, SC_BAD_ARGUMENT,
                   "%.60s: no such option; 'sidecomb %s --help' lists them", given, command->name);
  if (!(option->commands & command->bit))
    return sc_fail(message, SC_BAD_ARGUMENT,
                   "--%s: not an option of %s; 'sidecomb %s --help' lists them", option->name,
                   command->name, command->name);
  if (option->argument == NULL)
    return sc_fail(message, SC_BAD_ARGUMENT, "--%s: takes no argument", option->name);
  return sc_fail(message, SC_BAD_ARGUMENT, "--%s: needs its argument %s", option->name,
                 option->argument);
}

/* getopt's '?' and ':'; optopt tells a letter from a long option. */
static enum sc_error refuse_any(const struct cli_command *command, const char *given,
                                struct sc_message *message)
{
  const struct cli_option *option = find_letter(command, optopt);
  if (option != NULL)
    return sc_fail(message, SC_BAD_ARGUMENT, "-%c: needs its argument %s", optopt,
                   option->argument);
  if (optopt > 0 && optopt < FIRST_VALUE)
    return sc_fail(message, SC_BAD_ARGUMENT, "-%c: no such option; 'sidecomb %s --help' lists them",
                   optopt, command->name);
  return refuse(command, given, message);
}

static enum sc_error take_options(const struct cli_command *command, int argc, char **argv,
                                  struct cli_settings *settings, struct sc_message *message)
{
  struct option list[OPTIONS_MAX + 1];
  char letters[LETTERS_MAX + 3];
  fill_long_options(command, list);
  fill_letters(command, letters);
  size_t count;
  const struct cli_option *options = cli_options(&count);
  opterr = 0;
  optind = 0; /* also forgets a cluster of short options that was left half read */
  int found;
  while ((found = getopt_long(argc, argv, letters, list, NULL)) != -1) {
    const struct cli_option *option =
        found < FIRST_VALUE ? find_letter(command, found) : &options[found - FIRST_VALUE];
    if (option == NULL)
      return refuse_any(command, argv[optind - 1], message);
    enum sc_error error = option->take(option, optarg, settings, message);
    if (error != SC_OK)
      return error;
  }
  return SC_OK;
}

/* A setting of a device that is not there would be left out without a word. */
static enum sc_error check_devices(const struct cli_settings *settings, struct sc_message *message)
{
  const struct sc_source_options *source = &settings->source;
  const struct sc_tuning *tuning = &source->tuning;
  const struct {
    const char *option;
    bool given, of_receiver;
  } options[] = {{"tune", tuning->tune_hz != 0, true}, /* exact, here and below: not given */
                 {"bandwidth", tuning->bandwidth_hz != 0, true},
                 {"gain", tuning->gain_count > 0, true},
                 {"antenna", tuning->antenna[0] != '\0', true},
                 {"ppm", tuning->ppm_given, true},
                 {"sound-format", source->sound_format != 0, false},
                 {"sound-channels", source->sound_channels != 0, false}};
  for (size_t i = 0; i < sizeof options / sizeof options[0]; i++)
    if (options[i].given && (options[i].of_receiver ? source->receiver : source->sound) == NULL)
      return sc_fail(message, SC_BAD_ARGUMENT, "--%s: is a setting of a %s%s", options[i].option,
                     options[i].of_receiver ? "receiver: name it with --receiver"
                                            : "sound card: name it with --sound",
                     i == 0 ? "; what a file was tuned to --centre says" : "");
  return SC_OK;
}

static enum sc_error take_captures(const struct cli_command *command, int count, char **words,
                                   struct cli_settings *settings, struct sc_message *message)
{
  if (count < 2)
    return sc_fail(message, SC_BAD_ARGUMENT, "%s: name two captures or more", command->name);
  if (count > SC_COMPARED_MAX)
    return sc_fail(message, SC_BAD_ARGUMENT, "%s: at most %d captures", command->name,
                   SC_COMPARED_MAX);
  int piped = 0;
  for (int i = 0; i < count; i++) {
    piped += strcmp(words[i], "-") == 0;
    settings->captures[settings->capture_count++] = words[i];
  }
  if (piped > 1)
    return sc_fail(message, SC_BAD_ARGUMENT,
                   "%s: '-' is standard input, which can be one of the captures: name the others",
                   command->name);
  settings->source.path = words[0];
  return SC_OK;
}

static enum sc_error take_operand(const struct cli_command *command, int count, char **words,
                                  struct cli_settings *settings, struct sc_message *message)
{
  const char *word = count > 0 ? words[0] : "";
  if (command->operands == CLI_CAPTURES)
    return take_captures(command, count, words, settings, message);
  if (command->operands == CLI_NOTHING && count > 0)
    return sc_fail(message, SC_BAD_ARGUMENT, "%.100s: 'sidecomb %s' takes options only", word,
                   command->name);
  bool device = settings->source.sound != NULL || settings->source.receiver != NULL;
  if (command->operands == CLI_A_CAPTURE && count == 0 && device)
    return SC_OK;
  if (command->operands == CLI_A_CAPTURE && word[0] == '\0')
    return sc_fail(message, SC_BAD_ARGUMENT, "no capture is named; 'sidecomb %s --help' shows how",
                   command->name);
  if (count > 1)
    return sc_fail(message, SC_BAD_ARGUMENT, "%.100s: a second %s; name one", words[1],
                   command->operands == CLI_A_CAPTURE ? "capture" : "scenario");
  if (command->operands == CLI_A_CAPTURE)
    settings->source.path = word;
  else if (count > 0)
    settings->compose.scenario = word;
  return SC_OK;
}

enum sc_error cli_parse(const struct cli_command *command, int argc, char **argv,
                        struct cli_settings *settings, struct sc_message *message)
{
  *settings = (struct cli_settings){.lines = LINES_DEFAULT,
                                    .compose.seed = (double)NAN,
                                    .every_s = 1,
                                    .plot.middle_hz = (double)NAN,
                                    .emission.power_w = (double)NAN,
                                    .emission.full_scale_dbm = (double)NAN,
                                    .sequence.preemphasis_us = preemphasis_us};
  enum sc_error error = take_options(command, argc, argv, settings, message);
  if (error != SC_OK || settings->help || settings->version)
    return error;
  error = check_devices(settings, message);
  if (error != SC_OK)
    return error;
  return take_operand(command, argc - optind, argv + optind, settings, message);
}
