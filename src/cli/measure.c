/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A capture opened, read to its end, and measured. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <signal.h>

#include <sidecomb/analysis.h>

#include "cli/capture.h"
#include "cli/measure.h"
#include "cli/progress.h"

enum sc_error cli_measure(const struct cli_settings *settings,
                          const struct cli_yardsticks *yardsticks, struct sc_result *result,
                          struct sc_message *message)
{
  struct sc_source *source;
  struct sc_analysis_settings analysis;
  enum sc_error error = cli_open(settings, &source, &analysis, message);
  if (error != SC_OK)
    return error;
  analysis.masks = yardsticks->masks;
  analysis.mask_count = settings->emission.mask_count;
  struct cli_progress progress = {0};
  if (sc_source_info(source)->live)
    cli_signal_catch(SIGINT); /* a live capture is reported as far as it went */
  error = sc_analyse_source(source, &analysis, cli_progress_show, &progress, result, message);
  cli_progress_clear(&progress);
  sc_source_close(source);
  return error;
}
