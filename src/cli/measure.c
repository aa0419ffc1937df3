/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A capture opened, read to its end, and measured. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <sidecomb/analysis.h>

#include "cli/capture.h"
#include "cli/measure.h"
#include "cli/progress.h"

enum sc_error cli_measure(const struct cli_settings *settings,
                          const struct cli_yardsticks *yardsticks, struct sc_result *result,
                          struct sc_message *message)
{
  struct cli_capture capture;
  enum sc_error error = cli_capture_open(settings, yardsticks, &capture, message);
  if (error != SC_OK)
    return error;
  const bool live = sc_source_info(capture.source)->live;
  struct cli_progress progress = {.source = live ? capture.source : NULL,
                                  .duration_s = settings->source.duration_s};
  if (live || settings->audio_path != NULL) /* what is live is reported as far as it went */
    cli_signals_catch();
  error = sc_analyse_source(capture.source, &capture.analysis, cli_progress_show, &progress, result,
                            message);
  cli_progress_clear(&progress);
  cli_capture_close(&capture);
  if (!live && progress.stopped)
    cli_end_by_signal();
  return error;
}
