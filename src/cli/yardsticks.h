/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the user wants captures to be judged by: limits and emission masks. */
#ifndef SIDECOMB_CLI_YARDSTICKS_H
#define SIDECOMB_CLI_YARDSTICKS_H

#include <sidecomb/limits.h>
#include <sidecomb/mask.h>

#include "cli/command.h"

struct cli_yardsticks {
  struct sc_limits *limits; /* NULL: none were given */
  struct sc_limits read;
  struct sc_mask masks[SC_MASKS_MAX];
};

/* Reads the files that `settings` name. */
enum sc_error cli_yardsticks_read(const struct cli_settings *settings,
                                  struct cli_yardsticks *yardsticks, struct sc_message *message);

/* Of limits (NULL: none) and the masks in the result. A failed one weighs more than one that
 * stays open, whatever else could not be measured. */
enum cli_status cli_judge(const struct sc_result *result, const struct sc_limits *limits);
/* The one that weighs more. */
enum cli_status cli_graver(enum cli_status a, enum cli_status b);

#endif
