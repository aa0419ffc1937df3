/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* `sidecomb view`: a capture on the terminal, until the user leaves. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <string.h>

#include "cli/capture.h"
#include "cli/command.h"
#include "cli/output.h"
#include "view/view.h"

static const struct cli_yardsticks no_yardsticks;

/* The survey runs beside the screen, which comes first. */
static enum sc_error open_capture(const struct cli_settings *settings, struct cli_capture *capture,
                                  struct sc_message *message)
{
  enum sc_error error = cli_capture_open(settings, &no_yardsticks, capture, message);
  capture->analysis.threads = 1;
  return error;
}

/* A container that says what it holds is believed; bare samples are of the first's type. */
static bool describes_itself(const struct sc_source_options *options)
{
  struct sc_source *source;
  struct sc_message ignored;
  enum sc_error error = sc_source_open(options, &source, &ignored);
  if (error == SC_OK)
    sc_source_close(source);
  return error == SC_OK || error == SC_UNDECIDED;
}

static enum sc_error check_second(const struct cli_settings *settings, struct sc_message *message)
{
  bool both = strcmp(settings->source.path, "-") == 0 && strcmp(settings->against_path, "-") == 0;
  return both ? sc_fail(message, SC_BAD_ARGUMENT,
                        "--against -: the first capture is standard input already; name a file")
              : SC_OK;
}

/* `second` gets the settings that it was opened with. */
static enum sc_error open_second(const struct cli_settings *settings, enum sc_kind kind,
                                 struct cli_settings *second, struct cli_capture *capture,
                                 struct sc_message *message)
{
  *second = *settings;
  second->source.path = settings->against_path;
  second->source.type = NULL;
  second->source.rate_hz = second->source.centre_hz = 0;
  enum sc_error error = check_second(settings, message);
  if (error != SC_OK)
    return error;
  if (settings->source.type != NULL && !describes_itself(&second->source)) {
    second->source = settings->source;
    second->source.path = settings->against_path;
  }
  error = open_capture(second, capture, message);
  if (error != SC_OK)
    return error;
  const struct sc_source_info *info = sc_source_info(capture->source);
  if (info->kind == kind)
    return SC_OK;
  error = sc_fail(message, SC_BAD_ARGUMENT,
                  "--against: %.100s holds %s, the first capture %s: name captures of one kind, or "
                  "say --as",
                  info->name, sc_kind_name(info->kind), sc_kind_name(kind));
  cli_capture_close(capture);
  return error;
}

static enum sc_error show(const struct cli_settings *settings, const struct cli_capture *first,
                          struct sc_message *message)
{
  struct view_settings view = {.analysis = first->analysis,
                               .no_colour = settings->no_colour,
                               .plain = settings->plain,
                               .no_settings = settings->no_settings};
  struct cli_settings second;
  struct cli_capture capture;
  if (settings->against_path == NULL)
    return view_run(first->source, &settings->source, &view, message);
  enum sc_error error =
      open_second(settings, sc_source_info(first->source)->kind, &second, &capture, message);
  if (error != SC_OK)
    return error;
  struct view_capture against = {capture.source, &second.source, capture.analysis};
  view.against = &against;
  error = view_run(first->source, &settings->source, &view, message);
  cli_capture_close(&capture);
  return error;
}

enum cli_status cli_run_view(const struct cli_settings *settings)
{
  struct sc_message message = {""};
  struct cli_capture capture;
  enum sc_error error = open_capture(settings, &capture, &message);
  if (error == SC_OK) {
    error = show(settings, &capture, &message);
    cli_capture_close(&capture);
  }
  if (error != SC_OK)
    return cli_complain(message.text[0] != '\0' ? message.text : sc_error_text(error));
  return CLI_MEASURED;
}
