/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* How a verdict looks: a mark that needs no colour, a word, a style. */
#ifndef SIDECOMB_VIEW_VERDICT_H
#define SIDECOMB_VIEW_VERDICT_H

#include <sidecomb/result.h>

#include "view/grid.h"

/* '=' explained, '~' residual, '!' spurious, 'x' artefact, '?' unknown. */
char view_verdict_mark(enum sc_verdict verdict);
enum view_style view_verdict_style(enum sc_verdict verdict);

#endif
