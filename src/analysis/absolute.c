/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* dBFS plus what full scale stands for. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "analysis/absolute.h"

static const char not_given[] = "nobody said what full scale stands for (--full-scale-dbm)";

static struct sc_quantity in_dbm(const struct sc_analysis_settings *settings,
                                 struct sc_quantity level_dbfs)
{
  if (level_dbfs.why != NULL)
    return level_dbfs;
  if (!settings->full_scale_dbm_given)
    return sc_not_measured(not_given);
  return sc_measured(level_dbfs.value + settings->full_scale_dbm, level_dbfs.uncertainty);
}

void analysis_absolute(const struct sc_analysis_settings *settings, struct sc_result *result)
{
  struct sc_line_list *list = &result->air_lines;
  struct sc_unwanted *unwanted = &result->unwanted;
  result->carrier_level_dbm = in_dbm(settings, result->carrier.level_dbfs);
  for (size_t i = 0; list->why == NULL && i < list->count; i++)
    list->lines[i].level_dbm = in_dbm(settings, list->lines[i].tone.level_db);
  unwanted->strongest_dbm = unwanted->strongest_dbc;
  for (size_t i = 0; list->why == NULL && i < list->count; i++)
    if (list->lines[i].verdict == SC_VERDICT_SPURIOUS &&
        list->lines[i].level_dbc.value == unwanted->strongest_dbc.value)
      unwanted->strongest_dbm = list->lines[i].level_dbm;
}
