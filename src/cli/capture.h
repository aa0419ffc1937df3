/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* From what the user said to an open capture and the settings of its analysis. */
#ifndef SIDECOMB_CLI_CAPTURE_H
#define SIDECOMB_CLI_CAPTURE_H

#include <sidecomb/analysis.h>
#include <sidecomb/capture.h>

#include "cli/settings.h"

/* On failure *source is NULL and `message` is the line for the user. */
enum sc_error cli_open(const struct cli_settings *settings, struct sc_source **source,
                       struct sc_analysis_settings *analysis, struct sc_message *message);

#endif
