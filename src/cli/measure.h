/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A capture opened, read to its end, and measured. */
#ifndef SIDECOMB_CLI_MEASURE_H
#define SIDECOMB_CLI_MEASURE_H

#include <sidecomb/result.h>

#include "cli/settings.h"
#include "cli/yardsticks.h"

/* Shows progress; a live capture is measured as far as it went when SIGINT comes. Clear the result
 * with sc_result_clear. */
enum sc_error cli_measure(const struct cli_settings *settings,
                          const struct cli_yardsticks *yardsticks, struct sc_result *result,
                          struct sc_message *message);

#endif
