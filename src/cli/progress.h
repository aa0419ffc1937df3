/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Work that takes a while: how far it is, and whether the user wants it to end. */
#ifndef SIDECOMB_CLI_PROGRESS_H
#define SIDECOMB_CLI_PROGRESS_H

#include <stdbool.h>
#include <time.h>

#include <sidecomb/capture.h>

#include "cli/command.h"

/* Zero-initialise, but for the first two. */
struct cli_progress {
  const struct sc_source *source; /* which is live, and which a signal ends; NULL: none */
  double duration_s;              /* of which so much is wanted; 0: all */
  bool shown;
  bool stopped; /* false was returned */
  time_t last;
  double silent_since_s; /* by the steady clock; 0: something comes */
  bool told;             /* that nothing comes, in a line of its own */
};

/* Once a second on standard error, when that is a terminal: the share, or where it is not known how
 * much came and what ends it. That nothing comes from a live source
 * is said there as well, and elsewhere in a line when it begins and ends. `share`: as for
 * sc_analyse_source. `context`: a struct cli_progress. False: a signal came. */
bool cli_progress_show(void *context, double share);
/* Wipes what was shown. */
void cli_progress_clear(const struct cli_progress *progress);

/* From now on the first interrupt, termination or hang-up makes cli_progress_show return false,
 * another one half a second later and more ends the program. A hang-up that is ignored stays so. */
void cli_signals_catch(void);
/* The signal that came, 0: none. */
int cli_signal_caught(void);
/* After the cleaning up: says so, and the signal that came does what it would have done. */
enum cli_status cli_end_by_signal(void);

#endif
