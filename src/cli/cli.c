/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Which subcommand, and what of it: arguments in, status out. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <stdlib.h>
#include <unistd.h>

#include "cli/command.h"
#include "cli/help.h"
#include "cli/output.h"
#include "cli/parse.h"
#include "cli/plans.h"
#include "report/layout.h"

#define VERSION_TEXT                                                                               \
  PACKAGE_STRING "\nLicence GPL-3.0-or-later. There is no warranty, as far as the law allows.\n"

static enum cli_status print_help(const struct cli_command *command)
{
  struct report_buffer out = {0};
  cli_help(&out, command, cli_width());
  char *text = report_take(&out);
  if (text == NULL)
    return cli_complain(sc_error_text(SC_NO_MEMORY));
  if (!cli_utf8())
    report_to_ascii(text);
  enum cli_status status = cli_write(text);
  free(text);
  return status;
}

static enum cli_status run(const struct cli_command *command, bool named, int argc, char **argv)
{
  struct cli_settings settings;
  struct sc_message message;
  if (cli_parse(command, argc, argv, &settings, &message) != SC_OK)
    return cli_complain(message.text);
  if (settings.help)
    return print_help(named ? command : NULL);
  if (settings.version)
    return cli_write(VERSION_TEXT);
  cli_plans_load();
  const enum cli_status status = command->run(&settings);
  cli_plans_save();
  return status;
}

static enum cli_status refuse_word(const char *word)
{
  struct sc_message message;
  sc_fail(
      &message, SC_BAD_ARGUMENT,
      "%.200s: neither a command nor a file that is there; 'sidecomb --help' lists the commands",
      word);
  return cli_complain(message.text);
}

/* The first argument names the subcommand; without a name it is the first of the table. */
enum cli_status cli_main(int argc, char **argv)
{
  if (argc < 2)
    return cli_complain("name a capture; 'sidecomb --help' shows how");
  const struct cli_command *command = cli_command_find(argv[1]);
  if (command != NULL)
    return run(command, true, argc - 1, argv + 1);
  if (argv[1][0] != '-' && access(argv[1], F_OK) != 0)
    return refuse_word(argv[1]);
  size_t count;
  return run(cli_commands(&count), false, argc, argv);
}
