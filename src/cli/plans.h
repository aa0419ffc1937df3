/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The cache of measured plans: $XDG_CACHE_HOME/sidecomb/plans, or .cache/sidecomb/plans in the
 * home folder (XDG Base Directory Specification 0.8). It only saves time: what cannot be read or
 * written is no error, and nothing is said of it. */
#ifndef SIDECOMB_CLI_PLANS_H
#define SIDECOMB_CLI_PLANS_H

void cli_plans_load(void);
/* Writes it when trials were made. */
void cli_plans_save(void);

#endif
