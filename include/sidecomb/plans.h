/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* How the transforms of long captures are done fastest on this machine, which is found by trials
 * that take a tenth of a second and more: as text that a program may keep, so that they are made
 * once. In single precision only, where alone trials are made.
 *
 * Another way of transforming moves results in the last digits that floats have, far below every
 * uncertainty. */
#ifndef SIDECOMB_PLANS_H
#define SIDECOMB_PLANS_H

#include <stdbool.h>

#include <sidecomb/api.h>

/* Takes what sc_plans_text gave, best before anything else is created. False: it is damaged, or of
 * another version of FFTW or another kind of processor, and nothing was taken. */
SC_API bool sc_plans_take(const char *text);
/* All that is known, if trials were made since the program began; free() it. NULL: there is
 * nothing new, or memory is short. */
SC_API char *sc_plans_text(void);

#endif
