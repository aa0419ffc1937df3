/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables of RDS: countries, languages and tags from memory. */
#include "measure/rds_names.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

static const struct country {
  uint8_t ecc, nibble;
  const char *name;
} countries[] = {
    {0xe0, 0xd, "Germany"},  {0xe0, 0x1, "Germany"},     {0xe0, 0xa, "Austria"},
    {0xe0, 0x5, "Italy"},    {0xe0, 0x6, "Belgium"},     {0xe0, 0xb, "Hungary"},
    {0xe0, 0x7, "Russia"},   {0xe1, 0xf, "France"},      {0xe1, 0xc, "United Kingdom"},
    {0xe1, 0x9, "Denmark"},  {0xe1, 0x4, "Switzerland"}, {0xe1, 0x6, "Finland"},
    {0xe1, 0x1, "Greece"},   {0xe2, 0xe, "Spain"},       {0xe2, 0x2, "Czechia"},
    {0xe2, 0x3, "Poland"},   {0xe2, 0xf, "Norway"},      {0xe3, 0x8, "Netherlands"},
    {0xe3, 0x2, "Ireland"},  {0xe3, 0xe, "Sweden"},      {0xe3, 0x3, "Turkey"},
    {0xe4, 0x8, "Portugal"}, {0xa1, 0xb, "Canada"},      {0xa1, 0xc, "Canada"},
    {0xa1, 0xd, "Canada"},   {0xa1, 0xe, "Canada"},      {0xa5, 0xb, "Mexico"},
    {0xa5, 0xd, "Mexico"},   {0xa5, 0xe, "Mexico"},      {0xa5, 0xf, "Mexico"},
};

const char *measure_rds_country(uint16_t pi, uint8_t ecc)
{
  const unsigned nibble = pi >> 12;
  if (ecc == 0xa0)
    return nibble != 0 && nibble != 0xc && nibble != 0xf ? "United States" : NULL;
  for (size_t i = 0; i < COUNT(countries); i++)
    if (countries[i].ecc == ecc && countries[i].nibble == nibble)
      return countries[i].name;
  return NULL;
}

bool measure_rds_is_north_america(uint8_t ecc)
{
  return ecc >= 0xa0 && ecc <= 0xa5 && ecc != 0xa2;
}

struct named {
  uint8_t code;
  const char *name;
};

static const char *find(const struct named *table, size_t count, uint8_t code)
{
  for (size_t i = 0; i < count; i++)
    if (table[i].code == code)
      return table[i].name;
  return NULL;
}

const char *measure_rds_language(uint8_t code)
{
  static const struct named table[] = {{0x08, "German"},    {0x09, "English"}, {0x0a, "Spanish"},
                                       {0x0f, "French"},    {0x15, "Italian"}, {0x1d, "Dutch"},
                                       {0x1e, "Norwegian"}, {0x20, "Polish"},  {0x21, "Portuguese"},
                                       {0x27, "Finnish"},   {0x28, "Swedish"}};
  return find(table, COUNT(table), code);
}

const char *measure_rds_tag(uint8_t type)
{
  static const struct named table[] = {{1, "title"},
                                       {2, "album"},
                                       {3, "track number"},
                                       {4, "artist"},
                                       {5, "composition"},
                                       {6, "movement"},
                                       {7, "conductor"},
                                       {8, "composer"},
                                       {9, "band"},
                                       {10, "comment"},
                                       {11, "genre"},
                                       {12, "news"},
                                       {31, "short station name"},
                                       {32, "station name"},
                                       {33, "programme now"},
                                       {34, "programme next"},
                                       {36, "host"}};
  return find(table, COUNT(table), type);
}

const char *measure_rds_application(uint16_t id)
{
  switch (id) {
  case 0x4bd7:
    return "RT+";
  case 0x6552:
    return "enhanced RadioText";
  case 0x6365:
    return "AF below 87.6 MHz";
  case 0xcd46:
  case 0xcd47:
    return "traffic messages";
  default:
    return NULL;
  }
}

/* ---- call letters */

enum { K_FIRST = 4096, W_FIRST = 21672, LETTERS = 26, CALLS = 26 * 26 * 26 };

/* Takes the re-mapping of codes with zeros back. */
static unsigned unmapped(unsigned pi)
{
  if ((pi & 0xff00) == 0xaf00)
    pi = (pi & 0xff) << 8;
  if (pi >> 12 == 0xa)
    pi = (pi & 0x0f00) << 4 | (pi & 0xff);
  return pi;
}

bool measure_rds_call_letters(uint16_t pi, char letters[5])
{
  const unsigned code = unmapped(pi);
  if (code < K_FIRST || code >= W_FIRST + CALLS)
    return false;
  const unsigned first = code < W_FIRST ? K_FIRST : W_FIRST;
  const unsigned rest = code - first;
  letters[0] = code < W_FIRST ? 'K' : 'W';
  letters[1] = (char)('A' + rest / (LETTERS * LETTERS));
  letters[2] = (char)('A' + rest / LETTERS % LETTERS);
  letters[3] = (char)('A' + rest % LETTERS);
  letters[4] = '\0';
  return true;
}

/* ---- dates: counted in eras of 400 years from 1 March 0000 */

enum { MJD_OF_ERA_START = 678881, ERA_DAYS = 146097 };

struct measure_rds_date measure_rds_date_of(uint32_t mjd)
{
  const uint32_t days = mjd + MJD_OF_ERA_START;
  const uint32_t era = days / ERA_DAYS, in_era = days % ERA_DAYS;
  const uint32_t year = (in_era - in_era / 1460 + in_era / 36524 - in_era / 146096) / 365;
  const uint32_t in_year = in_era - (365 * year + year / 4 - year / 100);
  const uint32_t month = (5 * in_year + 2) / 153; /* from March */
  const uint32_t day = in_year - (153 * month + 2) / 5 + 1;
  const bool next = month >= 10;
  return (struct measure_rds_date){(int)(year + era * 400 + next),
                                   (int)(next ? month - 9 : month + 3), (int)day};
}

double measure_rds_af_mhz(uint8_t code)
{
  return code >= 1 && code <= 204 ? (875 + code) / 10.0 : 0.0;
}

double measure_rds_af_low_mhz(uint8_t code)
{
  if (code >= 1 && code <= 15)
    return (153 + 9 * (code - 1)) / 1000.0;
  return code >= 16 && code <= 135 ? (531 + 9 * (code - 16)) / 1000.0 : 0.0;
}
