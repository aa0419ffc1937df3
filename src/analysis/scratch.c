/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/scratch.h"

#include <stddef.h>

#include <sidecomb/lines.h>

#include "analysis/baseband.h"

enum sc_error analysis_scratch_create(bool apart, struct analysis_scratch *scratch)
{
  scratch->inner = sc_lines_scratch_create(ANALYSIS_RECORD_MAX);
  scratch->outer = apart ? sc_lines_scratch_create(ANALYSIS_RECORD_MAX) : scratch->inner;
  return scratch->inner != NULL && scratch->outer != NULL ? SC_OK : SC_NO_MEMORY;
}

void analysis_scratch_rest(const struct analysis_scratch *scratch)
{
  sc_lines_scratch_rest(scratch->inner, ANALYSIS_RECORD_MAX);
  sc_lines_scratch_rest(scratch->outer, ANALYSIS_RECORD_MAX);
}

void analysis_scratch_destroy(struct analysis_scratch *scratch)
{
  if (scratch->outer != scratch->inner)
    sc_lines_scratch_destroy(scratch->outer);
  sc_lines_scratch_destroy(scratch->inner);
  *scratch = (struct analysis_scratch){NULL, NULL};
}
