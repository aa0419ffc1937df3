/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* From measured lines to an account of them: what is seen, and what each line is. */
#ifndef SIDECOMB_ACCOUNT_ACCOUNT_H
#define SIDECOMB_ACCOUNT_ACCOUNT_H

#include <sidecomb/result.h>

/* Writes result->account, one or two sentences, from all that is measured in it. */
void account_sentence(struct sc_result *result);

#endif
