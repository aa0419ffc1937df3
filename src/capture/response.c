/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Reads a response file line by line. */
#include <config.h>

#include "capture/response.h"

#include <locale.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "capture/notice.h"
#include "capture/open.h"

enum { BYTES_MAX = 8 << 20 };

struct reading {
  const char *shown;
  size_t line;
  struct dsp_response_point *points;
  size_t count;
  struct sc_message *message;
};

static enum sc_error complain(const struct reading *reading, const char *what)
{
  return sc_fail(reading->message, SC_BAD_FORMAT, "%s: line %zu: %s", reading->shown, reading->line,
                 what);
}

/* Three numbers and nothing else. */
static bool parse(const char *line, struct dsp_response_point *point)
{
  double numbers[3];
  for (int i = 0; i < 3; i++) {
    char *end;
    numbers[i] = strtod(line, &end);
    if (end == line || (*end != 0 && strchr(" \t\r", *end) == NULL) || !isfinite(numbers[i]))
      return false;
    line = end;
  }
  *point = (struct dsp_response_point){numbers[0], numbers[1], numbers[2]};
  return line[strspn(line, " \t\r")] == 0;
}

static enum sc_error take_line(struct reading *reading, char *line)
{
  struct dsp_response_point point;
  line[strcspn(line, "#")] = 0;
  if (line[strspn(line, " \t\r")] == 0)
    return SC_OK;
  if (!parse(line, &point))
    return complain(reading, "three numbers are wanted: frequency_hz gain_db phase_deg");
  if (point.frequency_hz < 0 ||
      (reading->count > 0 &&
       point.frequency_hz <= reading->points[reading->count - 1].frequency_hz))
    return complain(reading, "frequencies must be 0 or more, and rise from line to line");
  if (fabs(point.gain_db) > CAPTURE_RESPONSE_GAIN_MAX_DB)
    return complain(reading, "a gain beyond 40 dB cannot be undone");
  if (reading->count == CAPTURE_RESPONSE_POINTS_MAX)
    return complain(reading, "too many points: at most 100000 are read");
  reading->points[reading->count++] = point;
  return SC_OK;
}

static enum sc_error take_text(struct reading *reading, char *text)
{
  enum sc_error error = SC_OK;
  for (char *line = text, *next; line != NULL && error == SC_OK; line = next) {
    next = strchr(line, '\n');
    if (next != NULL)
      *next++ = 0;
    reading->line++;
    error = take_line(reading, line);
  }
  if (error == SC_OK && reading->count < 2)
    error = sc_fail(reading->message, SC_BAD_FORMAT,
                    "%s: holds %zu points of a response: two or more lines of frequency_hz gain_db "
                    "phase_deg are wanted",
                    reading->shown, reading->count);
  return error;
}

/* strtod obeys the locale, and these files must not. */
static enum sc_error take_in_plain_locale(struct reading *reading, char *text)
{
  locale_t plain = newlocale(LC_ALL_MASK, "C", (locale_t)0);
  if (plain == (locale_t)0)
    return sc_fail(reading->message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  locale_t before = uselocale(plain);
  enum sc_error error = take_text(reading, text);
  (void)uselocale(before);
  freelocale(plain);
  return error;
}

static size_t count_lines(const char *text)
{
  size_t lines = 1;
  while ((text = strchr(text, '\n')) != NULL) {
    lines++;
    text++;
  }
  return lines < CAPTURE_RESPONSE_POINTS_MAX ? lines : CAPTURE_RESPONSE_POINTS_MAX;
}

enum sc_error capture_response_read(const char *path, struct dsp_response_point **points,
                                    size_t *count, struct sc_message *message)
{
  char shown[CAPTURE_SHOWN_LENGTH], *text = NULL;
  size_t length = 0;
  struct reading reading = {.shown = capture_shown(shown, path), .message = message};
  enum sc_error error = capture_read_whole(path, BYTES_MAX, &text, &length, message);
  if (error == SC_OK) {
    reading.points = malloc(count_lines(text) * sizeof *reading.points);
    error = reading.points == NULL
                ? sc_fail(message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY))
                : take_in_plain_locale(&reading, text);
  }
  free(text);
  if (error != SC_OK) {
    free(reading.points);
    return error;
  }
  *points = reading.points;
  *count = reading.count;
  return SC_OK;
}
