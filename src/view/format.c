/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers to text and back. A number never shows digits that its uncertainty makes empty. */
#include <ctype.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "common/number.h"
#include "view/format.h"

int view_decimals(double uncertainty, int otherwise)
{
  if (!isfinite(uncertainty) || uncertainty <= 0)
    return otherwise;
  int decimals = 1 - (int)floor(log10(uncertainty));
  return decimals < 0 ? 0 : decimals > 6 ? 6 : decimals;
}

struct view_number view_grouped(double value, int decimals, bool sign)
{
  struct view_number number = {""};
  const struct common_number written = common_number(value, decimals, sign);
  const char *plain = written.text;
  const int length = (int)strlen(plain);
  if (strpbrk(plain, "ein") != NULL) { /* a power of ten, infinite, no number */
    memcpy(number.text, plain, (size_t)length + 1);
    return number;
  }
  int end = (int)strcspn(plain, "."), out = 0;
  for (int i = 0; i < length; i++) {
    if (i > 0 && i < end && (end - i) % 3 == 0 && isdigit((unsigned char)plain[i - 1]))
      number.text[out++] = ' ';
    number.text[out++] = plain[i];
  }
  number.text[out] = 0;
  return number;
}

struct view_number view_hertz(struct sc_quantity hz, bool sign)
{
  struct view_number out;
  int decimals = view_decimals(hz.uncertainty, 0);
  struct view_number value = view_grouped(hz.value, decimals, sign);
  /* Some are smaller than the last digit, of a minute of a clean signal already. */
  if (hz.uncertainty > 0 && hz.uncertainty < 0.5 * pow(10, -decimals))
    snprintf(out.text, sizeof out.text, "%.40s ±%.0e Hz", value.text, hz.uncertainty);
  else if (isfinite(hz.uncertainty))
    snprintf(out.text, sizeof out.text, "%.40s ±%.*f Hz", value.text, decimals, hz.uncertainty);
  else
    snprintf(out.text, sizeof out.text, "%.40s Hz", value.text);
  return out;
}

struct view_number view_decibels(struct sc_quantity level, const char *unit)
{
  struct view_number out;
  int decimals = level.uncertainty < 0.1 ? 2 : 1;
  snprintf(out.text, sizeof out.text, "%.50s %.12s",
           common_number(level.value, decimals, false).text, unit);
  return out;
}

struct view_number view_frequency(double hz, double resolution_hz, bool sign)
{
  static const struct {
    double size;
    const char *name;
  } units[] = {{1e6, "MHz"}, {1e3, "kHz"}, {1, "Hz"}};
  size_t unit = fabs(hz) >= 999999.5 ? 0 : fabs(hz) >= 999.5 ? 1 : 2;
  double resolution = fmax(resolution_hz, 1e-3) / units[unit].size;
  int decimals = (int)ceil(-log10(resolution) - 1e-9);
  struct view_number out;
  snprintf(out.text, sizeof out.text, "%.56s %s",
           common_number(hz / units[unit].size, decimals < 0 ? 0 : decimals, sign).text,
           units[unit].name);
  return out;
}

struct view_number view_time(double seconds, double resolution_s)
{
  struct view_number out;
  int decimals = resolution_s >= 1 ? 0 : resolution_s >= 0.1 ? 1 : resolution_s >= 0.01 ? 2 : 3;
  if (seconds < 60) {
    snprintf(out.text, sizeof out.text, "%.*f s", decimals, seconds);
    return out;
  }
  long minutes = (long)(seconds / 60);
  double rest = seconds - 60 * (double)minutes;
  int width = decimals > 0 ? 3 + decimals : 2;
  if (minutes < 60)
    snprintf(out.text, sizeof out.text, "%ld:%0*.*f", minutes, width, decimals, rest);
  else
    snprintf(out.text, sizeof out.text, "%ld:%02ld:%0*.*f", minutes / 60, minutes % 60, width,
             decimals, rest);
  return out;
}

/* A number at the start of `text`; *rest is what follows it and its spaces. */
static bool leading_number(const char *text, double *value, const char **rest)
{
  char *end;
  *value = strtod(text, &end);
  if (end == text || !isfinite(*value))
    return false;
  while (isspace((unsigned char)*end))
    end++;
  *rest = end;
  return true;
}

static bool scaled(const char *text, double *value, const char *const *names, const double *factors)
{
  double number;
  const char *unit;
  if (!leading_number(text, &number, &unit))
    return false;
  for (size_t i = 0; names[i] != NULL; i++) {
    if (strcmp(unit, names[i]) != 0)
      continue;
    *value = number * factors[i];
    return true;
  }
  return false;
}

bool view_parse_frequency(const char *text, double *hz)
{
  static const char *const names[] = {"",  "Hz",  "hz",  "k", "kHz", "khz", "K",
                                      "M", "MHz", "mhz", "G", "GHz", NULL};
  static const double factors[] = {1, 1, 1, 1e3, 1e3, 1e3, 1e3, 1e6, 1e6, 1e6, 1e9, 1e9};
  return scaled(text, hz, names, factors);
}

static bool parse_clock(const char *text, double *seconds)
{
  double total = 0, part;
  const char *rest = text;
  for (int parts = 0; parts < 3; parts++) {
    if (!leading_number(rest, &part, &rest) || part < 0)
      return false;
    total = total * 60 + part;
    if (*rest == 0) {
      *seconds = total;
      return parts > 0;
    }
    if (*rest++ != ':')
      return false;
  }
  return false;
}

bool view_parse_time(const char *text, double *seconds)
{
  static const char *const names[] = {"", "s", "ms", "min", "h", NULL};
  static const double factors[] = {1, 1, 1e-3, 60, 3600};
  return scaled(text, seconds, names, factors) || parse_clock(text, seconds);
}

bool view_parse_level(const char *text, double *db)
{
  static const char *const names[] = {"", "dB", "db", "dBc", "dbc", "dBFS", "dbfs", NULL};
  static const double factors[] = {1, 1, 1, 1, 1, 1, 1};
  return scaled(text, db, names, factors);
}

void view_append(char *out, size_t size, const char *format, ...)
{
  size_t used = strlen(out);
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(out + used, size - used, format, arguments);
  va_end(arguments);
}
