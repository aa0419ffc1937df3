/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The table of standard positions. Values from memory are said to be so in `source`. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include <sidecomb/subcarriers.h>

#define MEMORY "from memory: "

static const struct sc_position positions[] = {
    {19000, 19000, 19000, 2, "pilot", "pilot", "8 to 10 % (6.0 to 7.5 kHz)",
     "ITU-R BS.450; 47 CFR 73.322(a)"},
    {31250, 31250, 31250, 2, "polar", "polar-modulation stereo carrier", "reduced carrier",
     MEMORY "ITU-R BS.450-3, 2.1"},
    {38000, 23000, 53000, 4, "difference", "stereo difference", "carrier less than 1 %",
     "ITU-R BS.450; 47 CFR 73.322(a)(4), (5)"},
    {41000, 41000, 41000, 500, "music", "background music", "10 to 30 %, mono stations",
     MEMORY "common practice, no source"},
    {57000, 54600, 59400, 6, "rds", "RDS", "1 to 10 %, usually 2.7 to 5.3 %",
     MEMORY "ITU-R BS.643; EN 50067"},
    {66500, 64100, 68900, 7, "rds2-1", "second data stream (RDS2)", "all streams at most 10 %",
     MEMORY "IEC 62106-1:2018"},
    {67000, 59000, 75000, 500, "aux-67", "auxiliary service", "8 to 10 %", MEMORY "47 CFR 73.319"},
    {71250, 68850, 73650, 7, "rds2-2", "third data stream (RDS2)", "all streams at most 10 %",
     MEMORY "IEC 62106-1:2018"},
    {76000, 54000, 98000, 500, "darc", "data channel (DARC), fourth data stream (RDS2)",
     "4 to 10 %", MEMORY "ITU-R BS.1194; IEC 62106-1:2018"},
    {92000, 85000, 99000, 500, "aux-92", "second auxiliary service",
     "8 to 10 %, at most 10 % above 75 kHz", MEMORY "47 CFR 73.319"},
};
enum { COUNT = sizeof positions / sizeof positions[0] };

const struct sc_position *sc_subcarriers(size_t *count)
{
  *count = COUNT;
  return positions;
}

const struct sc_position *sc_subcarrier_nearest(double frequency_hz, double *distance_hz)
{
  const double frequency = fabs(frequency_hz);
  const struct sc_position *nearest = &positions[0];
  for (size_t i = 1; i < COUNT; i++)
    if (fabs(frequency - positions[i].position_hz) < fabs(frequency - nearest->position_hz))
      nearest = &positions[i];
  *distance_hz = frequency - nearest->position_hz;
  return nearest;
}
