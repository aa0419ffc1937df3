/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Scenarios that are wanted often, in the language of scenario files. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <stddef.h>
#include <string.h>

#include <sidecomb/scenario.h>

#define STATION(text) "station = { preemphasis_us = 50; " text " };"
#define PART(to, hz, khz) "{ kind = \"tone\"; to = \"" to "\"; hz = " hz "; khz = " khz "; }"
#define NOISE(to, khz) "{ kind = \"pink\"; to = \"" to "\"; khz = " khz "; }"
#define RDS                                                                                        \
  "rds = { khz = 2; pi = 0xC4A7; pty = 23; stereo = true; ps = \"KITEFLD\";"                       \
  " text = \"Wind 4 from the west\"; };"

static const char *const names[] = {"carrier", "pilot", "left", "right",   "both", "apart",
                                    "null",    "noise", "data", "crowded", NULL};

/* In the order of the names. 13586.8 Hz at 75 kHz has the modulation index 5.5201, the second zero
 * of J0 (Abramowitz and Stegun, table 9.5, from memory): the carrier's line vanishes. */
static const char *const texts[] = {
    "station = { pilot = { khz = 0; }; mono = true; };",
    "",
    STATION("programme = ( " PART("left", "1000", "60") " );"),
    STATION("programme = ( " PART("right", "1000", "60") " );"),
    STATION("programme = ( " PART("both", "1000", "60") " );"),
    STATION("programme = ( " PART("apart", "1000", "60") " );"),
    "station = { pilot = { khz = 0; }; mono = true; programme = ( " PART("both", "13586.8",
                                                                         "75") " ); };",
    STATION(
        "programme = ( " NOISE("both", "6") ", " NOISE("left", "4") ", " NOISE("right", "4") " );"),
    STATION(RDS),
    STATION("programme = ( " NOISE("both", "5") ", " NOISE("left", "3") ", " NOISE(
        "right",
        "3") " );" RDS
             "subcarriers = ( { hz = 67e3; khz = 5; limit_hz = 5e3; programme = ( " NOISE(
                 "both",
                 "2") " ); },"
                      " { hz = 92e3; khz = 5; limit_hz = 5e3; } );"
                      "residual = { khz = 0.2; };"
                      "tones = ( { name = \"hum\"; hz = 50; khz = 0.1; }, { name = \"whistle\"; hz "
                      "= 61300; khz = 0.2; } );") "receiver = { noise = { cnr_db = 45; };"
                                                  " carriers = ( { name = \"synthesiser\"; hz = "
                                                  "131400; dbc = -55; } ); };",
};
_Static_assert(sizeof names / sizeof names[0] == sizeof texts / sizeof texts[0] + 1,
               "a text for each name");

const char *const *sc_scenario_ready_names(void)
{
  return names;
}

enum sc_error sc_scenario_ready(const char *name, struct sc_scenario *scenario,
                                struct sc_message *message)
{
  for (size_t i = 0; names[i] != NULL; i++)
    if (strcmp(names[i], name) == 0)
      return sc_scenario_parse(texts[i], names[i], scenario, message);
  return sc_fail(message, SC_BAD_ARGUMENT, "%.40s: there is no such ready scenario", name);
}
