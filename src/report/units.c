/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* How each unit is written in a key, after a number, and in the key of an uncertainty. */
#include <sidecomb/fields.h>

static const struct sc_unit_names units[SC_UNIT_COUNT] = {
    [SC_UNIT_NONE] = {"", "", ""},
    [SC_UNIT_HZ] = {"hz", "Hz", "hz"},
    [SC_UNIT_HZ_S] = {"hz_s", "Hz/s", "hz_s"},
    [SC_UNIT_KHZ] = {"khz", "kHz", "khz"},
    [SC_UNIT_MHZ] = {"mhz", "MHz", "mhz"},
    [SC_UNIT_DB] = {"db", "dB", "db"},
    [SC_UNIT_DBC] = {"dbc", "dBc", "db"},
    [SC_UNIT_DBFS] = {"dbfs", "dBFS", "db"},
    [SC_UNIT_DBM] = {"dbm", "dBm", "dbm"},
    [SC_UNIT_DBFS_HZ] = {"dbfs_hz", "dBFS/Hz", "db"},
    [SC_UNIT_DBR] = {"dbr", "dBr", "db"},
    [SC_UNIT_DB75] = {"db75", "dB re 75 kHz", "db"},
    [SC_UNIT_DB_PILOT] = {"db_pilot", "dB re pilot", "db_pilot"},
    [SC_UNIT_SECOND] = {"s", "s", "s"},
    [SC_UNIT_MICROSECOND] = {"us", "µs", "us"},
    [SC_UNIT_DEGREE] = {"deg", "degrees", "deg"},
    [SC_UNIT_PERCENT] = {"percent", "%", "percent"},
    [SC_UNIT_PPM] = {"ppm", "ppm", "ppm"},
    [SC_UNIT_BPS] = {"bps", "bit/s", "bps"},
};

const struct sc_unit_names *sc_unit_names(enum sc_unit unit)
{
  return &units[(unsigned)unit < SC_UNIT_COUNT ? unit : SC_UNIT_NONE];
}
