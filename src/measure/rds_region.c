/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Whose tables of RDS hold: North America's or those of the rest of the world.
 *
 * The extended country code decides (IEC 62106-4, from memory). Without it frequencies do that
 * North America does not use: its channels are 88.1 to 107.9 MHz in steps of 0.2 MHz (47
 * CFR 73.201). Where the user has chosen, or evidence disagrees, it is said. */
#include "measure/rds_groups.h"

#include "measure/rds_names.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double above_mhz = 87.0; /* lower ones are long and medium wave */

/* A frequency that is no channel in North America; 0: none was received. */
static double foreign_frequency(const struct sc_rds_data *data)
{
  for (size_t i = 0; i < data->af_count; i++)
    if (data->af_mhz[i] > above_mhz && lround(10.0 * data->af_mhz[i]) % 2 == 0)
      return data->af_mhz[i];
  return 0.0;
}

static enum sc_rds_region by_code(const struct measure_rds_groups *g)
{
  if (!g->ecc.sure)
    return SC_RDS_REGION_OPEN;
  return measure_rds_is_north_america((uint8_t)g->ecc.value) ? SC_RDS_REGION_RBDS
                                                             : SC_RDS_REGION_RDS;
}

/* Adds a sentence that speaks for `said`. */
static void add(struct sc_rds_data *data, enum sc_rds_region said, const char *sentence)
{
  char *text = data->region_evidence;
  const size_t used = strlen(text);
  const char *joint = used == 0 ? "" : said == data->region ? "; " : ", but ";
  (void)snprintf(text + used, sizeof data->region_evidence - used, "%s%s", joint, sentence);
}

void measure_rds_region_result(const struct measure_rds_groups *groups, struct sc_rds_data *data)
{
  static const char *const names[] = {NULL, "world", "north-america"};
  const enum sc_rds_region coded = by_code(groups);
  const double foreign_mhz = foreign_frequency(data);
  char sentence[80];
  data->region = groups->region != SC_RDS_REGION_OPEN ? groups->region
                 : coded != SC_RDS_REGION_OPEN        ? coded
                 : foreign_mhz > 0.0                  ? SC_RDS_REGION_RDS
                                                      : SC_RDS_REGION_OPEN;
  data->region_name = names[data->region];
  if (groups->region != SC_RDS_REGION_OPEN)
    add(data, data->region, "the user has chosen it");
  if (coded != SC_RDS_REGION_OPEN)
    add(data, coded,
        coded == SC_RDS_REGION_RBDS ? "the extended country code is North American"
                                    : "the extended country code is not North American");
  (void)snprintf(sentence, sizeof sentence, "%.1f MHz, which it lists, is no channel there",
                 foreign_mhz);
  if (foreign_mhz > 0.0)
    add(data, SC_RDS_REGION_RDS,
        data->region == SC_RDS_REGION_RBDS ? sentence
                                           : "it lists frequencies that are no channels in North "
                                             "America");
}
