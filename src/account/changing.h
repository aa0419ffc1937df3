/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A programme that changes while the capture lasts. Its lines are averages over records in each of
 * which other tones were sent, and no prediction from averaged tones holds for them. */
#ifndef SIDECOMB_ACCOUNT_CHANGING_H
#define SIDECOMB_ACCOUNT_CHANGING_H

#include <stdbool.h>

#include "account/account.h"
#include "account/scene.h"

/* The line's amplitude is not the same in all records, to a factor of two. */
bool account_is_unsteady(const struct sc_line_list *list, const struct sc_line *line);
/* It is in all records, at one place and of one size. */
bool account_is_steady(const struct sc_line_list *list, const struct sc_line *line);
/* Tones of the composite come and go, or what its programme leaves of the carrier does. */
bool account_programme_changes(const struct account_scene *scene);
/* After the verdicts on all lines on air: those that no averaged tone makes are explained where
 * they come and go as the programme does, and are modulation as their envelope or their twin tells.
 */
void account_explain_changing(struct account_scene *scene, const struct account_beneath *found);

#endif
