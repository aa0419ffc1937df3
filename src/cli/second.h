/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A second capture, to be set beside the first. */
#ifndef SIDECOMB_CLI_SECOND_H
#define SIDECOMB_CLI_SECOND_H

#include "cli/capture.h"

/* Opens the capture that --against names; it must be of the first's kind. `second` gets the
 * settings that it was opened with. On failure nothing is open. */
enum sc_error cli_second_open(const struct cli_settings *settings, enum sc_kind kind,
                              struct cli_settings *second, struct cli_capture *capture,
                              struct sc_message *message);

#endif
