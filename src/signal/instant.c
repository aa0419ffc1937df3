/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Calendar to seconds, without the C library's time zones. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <string.h>

#include "signal/instant.h"

/* The digits of a pattern of d and other characters; false where the text differs. */
static bool matches(const char *text, const char *pattern)
{
  for (; *pattern != 0; text++, pattern++)
    if (*pattern == 'd' ? *text < '0' || *text > '9' : *text != *pattern)
      return false;
  return *text == 0;
}

static int digits(const char *text, int count)
{
  int value = 0;
  for (int i = 0; i < count; i++)
    value = 10 * value + (text[i] - '0');
  return value;
}

static bool leap(int year)
{
  return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}

/* Days before the first of the month; *length is the month's. */
static int days_before(int year, int month, int *length)
{
  static const int lengths[12] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  int days = 0;
  for (int m = 1; m < month; m++)
    days += lengths[m - 1] + (m == 2 && leap(year));
  *length = lengths[month - 1] + (month == 2 && leap(year));
  return days;
}

static int64_t days_since_1970(int year)
{
  int64_t days = 0;
  for (int y = 1970; y < year; y++)
    days += leap(y) ? 366 : 365;
  for (int y = year; y < 1970; y++)
    days -= leap(y) ? 366 : 365;
  return days;
}

bool signal_instant_parse(const char *text, int64_t *seconds)
{
  if (!matches(text, "dddd-dd-ddTdd:dd:ddZ"))
    return false;
  const int year = digits(text, 4), month = digits(text + 5, 2), day = digits(text + 8, 2);
  const int hour = digits(text + 11, 2), minute = digits(text + 14, 2);
  const int second = digits(text + 17, 2);
  if (year < 1900 || year > 2099 || month < 1 || month > 12)
    return false;
  int length;
  const int before = days_before(year, month, &length);
  if (day < 1 || day > length || hour > 23 || minute > 59 || second > 59)
    return false;
  *seconds =
      (days_since_1970(year) + before + day - 1) * 86400 + hour * 3600 + minute * 60 + second;
  return true;
}

static void put(char *at, int count, int value)
{
  for (; count > 0; value /= 10)
    at[--count] = (char)('0' + value % 10);
}

void signal_instant_print(int64_t seconds, char text[SIGNAL_INSTANT_LENGTH + 1])
{
  int64_t day = seconds / 86400 - (seconds % 86400 < 0);
  const int second = (int)(seconds - 86400 * day);
  int year = 1900, month = 1, length;
  while (year < 2099 && day >= days_since_1970(year + 1))
    year++;
  const int in_year = (int)(day - days_since_1970(year));
  while (month < 12 && in_year >= days_before(year, month + 1, &length))
    month++;
  memcpy(text, "0000-00-00T00:00:00Z", SIGNAL_INSTANT_LENGTH + 1);
  put(text, 4, year);
  put(text + 5, 2, month);
  put(text + 8, 2, in_year - days_before(year, month, &length) + 1);
  put(text + 11, 2, second / 3600);
  put(text + 14, 2, second / 60 % 60);
  put(text + 17, 2, second % 60);
}
