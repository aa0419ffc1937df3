/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines found beneath the modulation. */
#ifndef SIDECOMB_ACCOUNT_BENEATH_H
#define SIDECOMB_ACCOUNT_BENEATH_H

#include "account/account.h"
#include "account/scene.h"

/* Nearer to the carrier the envelope's mean follows a line, and takes it away. */
enum { ACCOUNT_BENEATH_FROM_HZ = 2000 };

/* Keeps the strongest of those that are new beside the lines on air, each with label, verdict and
 * cause; the others are dropped. Those on air that were new before are named again. After the other
 * lines on air have been judged. found->list.why: nothing
 * of it is to be believed, and why. */
void account_judge_beneath(struct account_scene *scene, struct account_beneath *found);
/* A line stands beneath at the place of the one on air, as strong as if that moved the envelope. */
bool account_changes_envelope(const struct sc_line_list *beneath, const struct sc_line *on_air);
/* That none does says something: what goes along with a carrier that wanders is blurred beneath
 * where the search there did not follow it. */
bool account_envelope_tells(const struct account_scene *scene, const struct sc_line_list *beneath);

#endif
