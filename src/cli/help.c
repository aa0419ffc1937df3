/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The help, printed from the tables. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <stdio.h>
#include <stdlib.h>

#include "cli/help.h"
#include "cli/option.h"
#include "report/layout.h"

enum { INDENT = 2, OPTION_COLUMNS = 26, COMMAND_COLUMNS = 20 };

static const char job[] =
    "Measures the parts of an FM broadcast signal in a capture and says for every spectral line "
    "what it is and why.";

static const char caution[] =
    "What this program prints are measurements, not certificates. Transmitting may need a "
    "licence: local rules and licensed practice decide. Measure a transmitter into a screened "
    "load, and put enough attenuation before a receiver: it can be destroyed.";

static void print_row(struct report_buffer *out, const char *head, const char *text, size_t columns,
                      size_t width)
{
  report_add(out, "%*s", INDENT, "");
  report_left(out, head, columns - INDENT);
  if (report_columns(head) + INDENT >= columns)
    report_add(out, "\n%*s", (int)columns, "");
  report_wrap(out, text, columns, columns, width);
}

static void print_options(struct report_buffer *out, int commands, size_t width)
{
  size_t count;
  const struct cli_option *options = cli_options(&count);
  for (size_t i = 0; i < count; i++) {
    char head[64];
    if (!(options[i].commands & commands))
      continue;
    snprintf(head, sizeof head, "--%s%s%s", options[i].name, options[i].argument ? " " : "",
             options[i].argument ? options[i].argument : "");
    print_row(out, head, options[i].help, OPTION_COLUMNS, width);
  }
}

static void print_statuses(struct report_buffer *out, size_t width)
{
  report_add(out, "\nExit status:\n");
  print_row(out, "0", "measured or made, and within the limits where limits were given", 5, width);
  print_row(out, "1", "the capture could be read, but what was asked could not be measured", 5,
            width);
  print_row(out, "2", "wrong usage, unreadable input, or output that cannot be written", 5, width);
  print_row(out, "3", "measured, and a limit failed", 5, width);
}

static void print_commands(struct report_buffer *out, size_t width)
{
  size_t count;
  const struct cli_command *commands = cli_commands(&count);
  for (size_t i = 0; i < count; i++) {
    char head[64];
    snprintf(head, sizeof head, "%s %s", commands[i].name, commands[i].operand);
    print_row(out, head, commands[i].summary, COMMAND_COLUMNS, width);
  }
}

static void help_program(struct report_buffer *out, size_t width)
{
  report_add(out, "Usage: sidecomb COMMAND [OPTION]... CAPTURE\n       sidecomb CAPTURE\n"
                  "       sidecomb compose [OPTION]... --out FILE [SCENARIO]\n\n");
  report_wrap(out, job, 0, 0, width);
  report_add(out, "\nCommands:\n");
  print_commands(out, width);
  report_add(out, "\n'sidecomb COMMAND --help' explains a command and its options.\n");
  report_wrap(out,
              "CAPTURE is a sound file, bare samples (with --type and --rate), either file of a "
              "SigMF pair, or '-' for standard input.",
              0, 0, width);
  print_statuses(out, width);
  report_add(out, "\n");
  report_wrap(out, caution, 0, 0, width);
}

static void print_keys(struct report_buffer *out, void (*print)(FILE *stream))
{
  char *text = NULL;
  size_t size;
  FILE *stream = open_memstream(&text, &size);
  if (stream != NULL) {
    print(stream);
    if (fclose(stream) == 0)
      report_add(out, "\nKeys:\n%s", text);
    else
      out->failed = true;
  } else {
    out->failed = true;
  }
  free(text);
}

static void help_command(struct report_buffer *out, const struct cli_command *command, size_t width)
{
  report_add(out, "Usage: sidecomb %s [OPTION]... %s\n\n", command->name, command->operand);
  report_wrap(out, command->about, 0, 0, width);
  report_add(out, "\nOptions (HZ takes k, M and G: 19k, 2.4M):\n");
  print_options(out, command->bit, width);
  if (command->print_keys != NULL)
    print_keys(out, command->print_keys);
  print_statuses(out, width);
}

void cli_help(struct report_buffer *out, const struct cli_command *command, size_t width)
{
  if (command != NULL)
    help_command(out, command, width);
  else
    help_program(out, width);
}
