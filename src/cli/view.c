/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* `sidecomb view`: a capture on the terminal, until the user leaves. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "cli/capture.h"
#include "cli/command.h"
#include "cli/output.h"
#include "cli/second.h"
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

/* `settings` as they were given, `options` what `first` was opened with. */
static enum sc_error show(const struct cli_settings *settings,
                          const struct sc_source_options *options, const struct cli_capture *first,
                          struct sc_message *message)
{
  struct view_settings view = {.analysis = first->analysis,
                               .no_colour = settings->no_colour,
                               .plain = settings->plain,
                               .no_settings = settings->no_settings};
  struct cli_settings second;
  struct cli_capture capture;
  if (settings->against_path == NULL)
    return view_run(first->source, options, &view, message);
  enum sc_error error =
      cli_second_open(settings, sc_source_info(first->source)->kind, &second, &capture, message);
  capture.analysis.threads = 1;
  if (error != SC_OK)
    return error;
  struct view_capture against = {capture.source, &second.source, capture.analysis};
  view.against = &against;
  error = view_run(first->source, options, &view, message);
  cli_capture_close(&capture);
  return error;
}

enum cli_status cli_run_view(const struct cli_settings *settings)
{
  struct sc_message message = {""};
  struct cli_capture capture;
  struct cli_settings newest = *settings;
  const bool device = settings->source.sound != NULL || settings->source.receiver != NULL;
  newest.source.newest = settings->source.follow && settings->source.start_s == 0;
  if (device && settings->against_path != NULL)
    newest.source.type = NULL; /* it is of the second capture */
  enum sc_error error = open_capture(&newest, &capture, &message);
  if (error == SC_OK) {
    error = show(settings, &newest.source, &capture, &message);
    cli_capture_close(&capture);
  }
  if (error != SC_OK)
    return cli_complain(message.text[0] != '\0' ? message.text : sc_error_text(error));
  return CLI_MEASURED;
}
