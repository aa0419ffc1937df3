/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What numbers of RDS stand for: programme types, countries, languages, call letters, dates. */
#ifndef SIDECOMB_MEASURE_RDS_NAMES_H
#define SIDECOMB_MEASURE_RDS_NAMES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/rds.h>

/* NULL: not in the tables here. Both from memory (IEC 62106-4), and a part only. */
const char *measure_rds_country(uint16_t pi, uint8_t ecc);
const char *measure_rds_language(uint8_t code);
/* Of an RT+ tag; NULL: not in the table (from memory). */
const char *measure_rds_tag(uint8_t type);

/* Of an application of open data by its identification; NULL: not in the table (from memory). */
const char *measure_rds_application(uint16_t id);

/* Whether an extended country code is one of North America (A0 to A5 but Brazil's A2; memory). */
bool measure_rds_is_north_america(uint8_t ecc);

/* Call letters by the formula of NRSC-4 (K: 4096 + 676 a + 26 b + c, W: 21672 + ...; codes with a
 * zero second digit or two zero last ones are moved to A... and AF...). False: the formula has
 * none. `letters`: five bytes. */
bool measure_rds_call_letters(uint16_t pi, char letters[5]);

struct measure_rds_date {
  int year, month, day;
};
/* Of a modified Julian date: whole days since 1858-11-17, proleptic Gregorian calendar. */
struct measure_rds_date measure_rds_date_of(uint32_t mjd);

/* Frequency of an AF code 1 to 204 in MHz, 0 for others; of codes after 250, long and medium
 * wave. */
double measure_rds_af_mhz(uint8_t code);
double measure_rds_af_low_mhz(uint8_t code);

#endif
