/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The text is foreign: only what reads as a time comes out again. */
#include <config.h>

#include "capture/datetime.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const long second_ns = 1000000000;

/* Up to nine digits behind a point; NULL: there is none, or more of them. */
static const char *read_decimals(const char *at, long *ns)
{
  *ns = 0;
  if (*at != '.')
    return at;
  const char *first = ++at;
  for (long weight = second_ns / 10; isdigit((unsigned char)*at) && weight > 0; weight /= 10)
    *ns += weight * (*at++ - '0');
  return at == first ? NULL : at;
}

static bool read_time(const char *text, struct timespec *time)
{
  struct tm parts = {0}, again;
  int length = 0;
  if (sscanf(text, "%4d-%2d-%2dT%2d:%2d:%2d%n", &parts.tm_year, &parts.tm_mon, &parts.tm_mday,
             &parts.tm_hour, &parts.tm_min, &parts.tm_sec, &length) != 6 ||
      length != (int)strlen("2026-01-31T23:59:59"))
    return false;
  parts.tm_year -= 1900;
  parts.tm_mon -= 1;
  const struct tm read = parts;
  const char *end = read_decimals(text + length, &time->tv_nsec);
  time->tv_sec = timegm(&parts);
  return end != NULL && strcmp(end, "Z") == 0 && gmtime_r(&time->tv_sec, &again) != NULL &&
         again.tm_mon == read.tm_mon && again.tm_mday == read.tm_mday &&
         again.tm_hour == read.tm_hour && again.tm_min == read.tm_min &&
         again.tm_sec == read.tm_sec;
}

bool capture_datetime_write(const struct timespec *time, int decimals, char out[SC_DATETIME_LENGTH])
{
  struct tm parts;
  char day[SC_DATETIME_LENGTH], rest[12];
  out[0] = '\0';
  if (gmtime_r(&time->tv_sec, &parts) == NULL || parts.tm_year < -1900 || parts.tm_year > 8099 ||
      strftime(day, sizeof day, "%Y-%m-%dT%H:%M:%S", &parts) == 0)
    return false;
  (void)snprintf(rest, sizeof rest, ".%09ld", time->tv_nsec % second_ns);
  (void)snprintf(out, SC_DATETIME_LENGTH, "%.19s%.*sZ", day, decimals > 0 ? decimals + 1 : 0, rest);
  return true;
}

bool capture_datetime_move(const char *text, double by_s, char out[SC_DATETIME_LENGTH])
{
  struct timespec time;
  out[0] = '\0';
  if (strlen(text) >= SC_DATETIME_LENGTH || !read_time(text, &time) || !(fabs(by_s) < 1e12))
    return false;
  if (by_s == 0) { /* exact: not moved */
    memcpy(out, text, strlen(text) + 1);
    return true;
  }
  const double whole = floor(by_s);
  time.tv_sec += (time_t)whole;
  time.tv_nsec += lrint((by_s - whole) * (double)second_ns);
  time.tv_sec += time.tv_nsec / second_ns;
  time.tv_nsec %= second_ns;
  return capture_datetime_write(&time, 9, out);
}
