/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A receiver's settings as facts with reasons. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "analysis/receiver.h"

static const char unsaid[] = "neither a receiver nor the capture says so";

static void add_stage(const struct sc_gain *gain, char *text, size_t size)
{
  const size_t used = strlen(text);
  (void)snprintf(text + used, size - used, "%s%s %.6g dB", used > 0 ? ", " : "", gain->name,
                 gain->db);
}

static bool is_whole(const struct sc_gain *gain)
{
  return gain->name[0] == '\0';
}

void analysis_receiver(const struct sc_tuning *tuned, struct sc_receiver_facts *facts)
{
  *facts = (struct sc_receiver_facts){.gain_db = sc_not_measured(unsaid),
                                      .bandwidth_hz = sc_not_measured(unsaid),
                                      .correction_ppm = sc_not_measured(unsaid)};
  for (size_t i = 0; i < tuned->gain_count; i++)
    if (!isfinite(tuned->gains[i].db))
      continue;
    else if (is_whole(&tuned->gains[i]))
      facts->gain_db = sc_measured(tuned->gains[i].db, (double)NAN);
    else
      add_stage(&tuned->gains[i], facts->stages, sizeof facts->stages);
  facts->automatic = tuned->automatic_gain ? SC_YES : SC_UNKNOWN; /* many do not say */
  memcpy(facts->antenna, tuned->antenna, sizeof facts->antenna);
  if (tuned->bandwidth_hz > 0)
    facts->bandwidth_hz = sc_measured(tuned->bandwidth_hz, (double)NAN);
  if (tuned->ppm_given)
    facts->correction_ppm = sc_measured(tuned->ppm, (double)NAN);
}
