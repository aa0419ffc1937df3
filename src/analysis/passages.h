/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A list of passages of bounded length, kept while a capture of any length goes by. */
#ifndef SIDECOMB_ANALYSIS_PASSAGES_H
#define SIDECOMB_ANALYSIS_PASSAGES_H

#include <sidecomb/result.h>

/* Behind all that came before. Where it follows right on the last passage, that grows; where the
 * list is full, the two with the shortest pause between are joined. */
void analysis_passages_add(struct sc_passages *passages, double from_s, double to_s);

#endif
