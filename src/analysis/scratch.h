/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The memory that searches for lines transform their records in, one for each thread that looks. */
#ifndef SIDECOMB_ANALYSIS_SCRATCH_H
#define SIDECOMB_ANALYSIS_SCRATCH_H

#include <stdbool.h>

#include <sidecomb/error.h>

struct analysis_scratch {
  float *inner, *outer; /* one and the same without a second thread; NULL: there is none */
};
/* SC_NO_MEMORY; to be destroyed in any case. */
enum sc_error analysis_scratch_create(bool apart, struct analysis_scratch *scratch);
/* Once no record is being looked at: what comes next may have the memory. */
void analysis_scratch_rest(const struct analysis_scratch *scratch);
void analysis_scratch_destroy(struct analysis_scratch *scratch);

#endif
