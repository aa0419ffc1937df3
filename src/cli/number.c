/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers as people type them. The program keeps the numeric locale "C", so the decimal
 * point is a point everywhere. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cli/number.h"

enum { NUMBER_MAX = 63 };

static double prefix(const char **tail)
{
  static const struct {
    char letter;
    double factor;
  } prefixes[] = {{'k', 1e3}, {'K', 1e3}, {'M', 1e6}, {'G', 1e9}};
  for (size_t i = 0; i < sizeof prefixes / sizeof prefixes[0]; i++)
    if (**tail == prefixes[i].letter) {
      (*tail)++;
      return prefixes[i].factor;
    }
  return 1;
}

bool cli_number(const char *text, size_t length, const char *unit, double *value)
{
  char copy[NUMBER_MAX + 1];
  if (length == 0 || length > NUMBER_MAX)
    return false;
  memcpy(copy, text, length);
  copy[length] = '\0';
  size_t digits = strspn(copy, "+-.0123456789eE");
  char *end;
  double number = strtod(copy, &end);
  if (digits == 0 || end != copy + digits)
    return false;
  const char *tail = end;
  if (strcmp(unit, "Hz") == 0)
    number *= prefix(&tail);
  if (!isfinite(number) || (*tail != '\0' && strcmp(tail, unit) != 0))
    return false;
  *value = number;
  return true;
}

bool cli_number_pair(const char *text, double *value, double *uncertainty)
{
  static const char *const marks[] = {"±", "+-", ","};
  for (size_t i = 0; i < sizeof marks / sizeof marks[0]; i++) {
    const char *mark = strstr(text, marks[i]);
    if (mark == NULL)
      continue;
    const char *second = mark + strlen(marks[i]);
    return cli_number(text, (size_t)(mark - text), "", value) &&
           cli_number(second, strlen(second), "", uncertainty);
  }
  return false;
}
