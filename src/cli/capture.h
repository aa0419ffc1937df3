/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* From what the user said to an open capture and the settings of its analysis. */
#ifndef SIDECOMB_CLI_CAPTURE_H
#define SIDECOMB_CLI_CAPTURE_H

#include <sidecomb/analysis.h>
#include <sidecomb/capture.h>
#include <sidecomb/error.h>

#include "cli/settings.h"
#include "cli/yardsticks.h"

struct cli_capture {
  struct sc_source *source;
  struct sc_analysis_settings analysis;
  struct sc_baseline *baseline; /* NULL: none was named */
};

/* sc_source_open, which says on a terminal that it waits where it may. */
enum sc_error cli_source_open(const struct sc_source_options *options, struct sc_source **source,
                              struct sc_message *message);
/* Opens the capture and reads the baseline. On failure nothing is open and `message` holds one
 * line. `yardsticks` must outlive the capture. */
enum sc_error cli_capture_open(const struct cli_settings *settings,
                               const struct cli_yardsticks *yardsticks, struct cli_capture *capture,
                               struct sc_message *message);
void cli_capture_close(struct cli_capture *capture);

#endif
