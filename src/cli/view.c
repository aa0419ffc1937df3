/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* `sidecomb view`: a capture on the terminal, until the user leaves. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "cli/capture.h"
#include "cli/command.h"
#include "cli/output.h"
#include "view/view.h"

enum cli_status cli_run_view(const struct cli_settings *settings)
{
  struct sc_message message = {""};
  const struct cli_yardsticks none = {.limits = NULL};
  struct cli_capture capture;
  struct view_settings view = {.no_colour = settings->no_colour, .plain = settings->plain};
  enum sc_error error = cli_capture_open(settings, &none, &capture, &message);
  if (error == SC_OK) {
    view.analysis = capture.analysis;
    view.analysis.threads = 1; /* the survey runs beside the screen, which comes first */
    error = view_run(capture.source, &settings->source, &view, &message);
    cli_capture_close(&capture);
  }
  if (error != SC_OK)
    return cli_complain(message.text[0] != '\0' ? message.text : sc_error_text(error));
  return CLI_MEASURED;
}
