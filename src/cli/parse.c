/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Arguments of one subcommand into settings, by getopt_long over the table of options. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <getopt.h>
#include <string.h>

#include "cli/option.h"
#include "cli/parse.h"

enum { OPTIONS_MAX = 64, LINES_DEFAULT = 40, FIRST_VALUE = 256 };

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

static const struct cli_option *find_option(const char *name, size_t length)
{
  size_t count;
  const struct cli_option *options = cli_options(&count);
  for (size_t i = 0; i < count; i++)
    if (strlen(options[i].name) == length && strncmp(options[i].name, name, length) == 0)
      return &options[i];
  return NULL;
}

/* `given` is the argument as it was typed. */
static enum sc_error refuse(const struct cli_command *command, const char *given,
                            struct sc_message *message)
{
  const char *name = given + strspn(given, "-");
  size_t length = strcspn(name, "=");
  const struct cli_option *option = find_option(name, length);
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

static enum sc_error take_options(const struct cli_command *command, int argc, char **argv,
                                  struct cli_settings *settings, struct sc_message *message)
{
  struct option list[OPTIONS_MAX + 1];
  fill_long_options(command, list);
  size_t count;
  const struct cli_option *options = cli_options(&count);
  opterr = 0;
  optind = 0; /* also forgets a cluster of short options that was left half read */
  int found;
  while ((found = getopt_long(argc, argv, ":", list, NULL)) != -1) {
    if (found < FIRST_VALUE && optopt > 0 && optopt < FIRST_VALUE)
      return sc_fail(message, SC_BAD_ARGUMENT,
                     "-%c: no such option; 'sidecomb %s --help' lists them", optopt, command->name);
    if (found < FIRST_VALUE)
      return refuse(command, argv[optind - 1], message);
    const struct cli_option *option = &options[found - FIRST_VALUE];
    enum sc_error error = option->take(option, optarg, settings, message);
    if (error != SC_OK)
      return error;
  }
  return SC_OK;
}

enum sc_error cli_parse(const struct cli_command *command, int argc, char **argv,
                        struct cli_settings *settings, struct sc_message *message)
{
  *settings = (struct cli_settings){.lines = LINES_DEFAULT};
  enum sc_error error = take_options(command, argc, argv, settings, message);
  if (error != SC_OK || settings->help || settings->version)
    return error;
  if (optind == argc || argv[optind][0] == '\0')
    return sc_fail(message, SC_BAD_ARGUMENT, "no capture is named; 'sidecomb %s --help' shows how",
                   command->name);
  if (optind + 1 < argc)
    return sc_fail(message, SC_BAD_ARGUMENT, "%.100s: a second capture; name one",
                   argv[optind + 1]);
  settings->source.path = argv[optind];
  return SC_OK;
}
