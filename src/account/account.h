/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* From measured lines to an account of them: what is seen, and what each line is. */
#ifndef SIDECOMB_ACCOUNT_ACCOUNT_H
#define SIDECOMB_ACCOUNT_ACCOUNT_H

#include <sidecomb/error.h>
#include <sidecomb/result.h>

/* Fills for every line the nearest standard position, label, cause and verdict; for lines on air
 * also what is predicted there, the rest and the orders. Needs all else of the result. Where
 * there is no composite, all lines stay unknown. SC_NO_MEMORY. */
SC_MUST_USE enum sc_error account_explain(struct sc_result *result);
/* Afterwards: residual lines that a filter weakened at the edge of the capture become artefacts. */
void account_edges(struct sc_result *result);
/* Writes result->account, one or two sentences, from all that is measured in it. */
void account_sentence(struct sc_result *result);

#endif
