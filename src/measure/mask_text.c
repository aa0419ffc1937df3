/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A mask out of its text: one statement a line, each line wrong in one way only. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/mask.h>

#include "common/text.h"

enum { LINE_MAX_BYTES = 400 };

static const double resolution_default_hz = 1000;

/* Where the reading stands, and to whom it complains. */
struct reader {
  struct sc_mask *mask;
  const char *name;
  unsigned line;
  double power_w;
  struct sc_message *message;
};

static enum sc_error refuse(const struct reader *reader, const char *what)
{
  return sc_fail(reader->message, SC_BAD_FORMAT, "%.120s: line %u: %s", reader->name, reader->line,
                 what);
}

static void skip_blanks(const char **text)
{
  *text += strspn(*text, " \t");
}

/* The next word must be this one. */
static bool take_word(const char **text, const char *word)
{
  size_t length = strlen(word);
  skip_blanks(text);
  if (strncmp(*text, word, length) != 0 ||
      !(isspace((unsigned char)(*text)[length]) || (*text)[length] == '\0'))
    return false;
  *text += length;
  skip_blanks(text);
  return true;
}

static bool take_number(const char **text, double *value)
{
  skip_blanks(text);
  if (strchr("+-.0123456789", **text) == NULL || **text == '\0')
    return false;
  char *end;
  *value = strtod(*text, &end);
  if (end == *text || !isfinite(*value))
    return false;
  *text = end;
  return true;
}

static bool take_hertz(const char **text, double *hz)
{
  if (!take_number(text, hz))
    return false;
  double factor = **text == 'k' ? 1e3 : **text == 'M' ? 1e6 : 1;
  *text += factor > 1;
  *hz *= factor;
  return *hz >= 0;
}

static bool at_end(const char *text)
{
  skip_blanks(&text);
  return *text == '\0';
}

static enum sc_error take_rest(const struct reader *reader, const char *rest, char *field,
                               size_t size)
{
  if (at_end(rest))
    return refuse(reader, "nothing follows the word");
  common_clean(field, size, rest, strlen(rest));
  return SC_OK;
}

static enum sc_error take_resolution(const struct reader *reader, const char *rest)
{
  struct sc_mask *mask = reader->mask;
  if (!take_hertz(&rest, &mask->resolution_hz) || mask->resolution_hz < 1)
    return refuse(reader, "the resolution is a number of hertz, like 1k");
  mask->resolution_unstated = take_word(&rest, "unstated");
  return at_end(rest) ? SC_OK : refuse(reader, "after the resolution only 'unstated' may stand");
}

static enum sc_error take_detector(const struct reader *reader, const char *rest)
{
  reader->mask->max_hold = take_word(&rest, "max");
  if (!reader->mask->max_hold && !take_word(&rest, "mean"))
    return refuse(reader, "the detector is 'mean' or 'max'");
  return at_end(rest) ? SC_OK : refuse(reader, "something follows the detector");
}

/* "43+10logP": what depends on the power is worked out here. */
static enum sc_error take_power_term(const struct reader *reader, const char **text, double *db)
{
  static const char term[] = "+10logP";
  if (strncmp(*text, term, strlen(term)) != 0)
    return SC_OK;
  *text += strlen(term);
  if (!(reader->power_w > 0))
    return refuse(reader, "the limit depends on the transmitter's power, which was not given (--power-w)");
  *db += 10 * log10(reader->power_w);
  return SC_OK;
}

/* "25", "0 to 80", "43+10logP to 80": with a power the second number is the most that it asks
 * for, without one the other end of a straight line. */
static enum sc_error take_limit(const struct reader *reader, const char *rest,
                                struct sc_mask_range *range)
{
  double db, second;
  if (!take_number(&rest, &db))
    return refuse(reader, "the limit is a number of dB below the carrier");
  const char *before = rest;
  enum sc_error error = take_power_term(reader, &rest, &db);
  if (error != SC_OK)
    return error;
  bool powered = rest != before;
  range->lower_db = range->upper_db = db;
  if (take_word(&rest, "to")) {
    if (!take_number(&rest, &second))
      return refuse(reader, "after 'to' stands a number of dB");
    range->upper_db = powered ? fmin(db, second) : second;
    range->lower_db = powered ? range->upper_db : db;
  }
  if (range->lower_db != range->upper_db && isinf(range->upper_hz))
    return refuse(reader, "a straight line needs an end");
  return at_end(rest) ? SC_OK : refuse(reader, "something follows the limit");
}

static enum sc_error take_range(const struct reader *reader, const char *rest)
{
  struct sc_mask *mask = reader->mask;
  if (mask->range_count == SC_MASK_RANGES_MAX)
    return refuse(reader, "there are too many ranges");
  struct sc_mask_range range = {.upper_hz = INFINITY};
  if (!take_hertz(&rest, &range.lower_hz))
    return refuse(reader, "after 'from' stands an offset in hertz, like 120k");
  skip_blanks(&rest);
  const char *limit = rest;
  /* "from 600k 43 to 80" has a limit where "from 120k to 240k" has its end */
  if (take_word(&limit, "to")) {
    rest = limit;
    if (!take_hertz(&rest, &range.upper_hz) || range.upper_hz <= range.lower_hz)
      return refuse(reader, "the range does not end beyond its beginning");
  }
  enum sc_error error = take_limit(reader, rest, &range);
  if (error == SC_OK)
    mask->ranges[mask->range_count++] = range;
  return error;
}

static enum sc_error take_statement(const struct reader *reader, const char *text)
{
  struct sc_mask *mask = reader->mask;
  if (at_end(text))
    return SC_OK;
  if (take_word(&text, "name"))
    return take_rest(reader, text, mask->name, sizeof mask->name);
  if (take_word(&text, "source"))
    return take_rest(reader, text, mask->source, sizeof mask->source);
  if (take_word(&text, "note"))
    return take_rest(reader, text, mask->note, sizeof mask->note);
  if (take_word(&text, "resolution"))
    return take_resolution(reader, text);
  if (take_word(&text, "detector"))
    return take_detector(reader, text);
  if (take_word(&text, "from"))
    return take_range(reader, text);
  return refuse(reader, "not name, source, note, resolution, detector or from");
}

static enum sc_error take_line(struct reader *reader, const char *line, size_t length)
{
  char text[LINE_MAX_BYTES + 1];
  reader->line++;
  if (length > LINE_MAX_BYTES)
    return refuse(reader, "the line is too long");
  memcpy(text, line, length);
  text[length] = '\0';
  text[strcspn(text, "#\r")] = '\0';
  return take_statement(reader, text);
}

static enum sc_error check_whole(const struct reader *reader)
{
  const char *missing = reader->mask->name[0] == '\0'     ? "name"
                        : reader->mask->source[0] == '\0' ? "source"
                        : reader->mask->range_count == 0  ? "from"
                                                          : NULL;
  if (missing == NULL)
    return SC_OK;
  return sc_fail(reader->message, SC_BAD_FORMAT, "%.120s: a mask needs a line '%s'", reader->name,
                 missing);
}

enum sc_error sc_mask_parse(const char *text, const char *name, double power_w,
                            struct sc_mask *mask, struct sc_message *message)
{
  *mask = (struct sc_mask){.resolution_hz = resolution_default_hz, .resolution_unstated = true};
  struct reader reader = {mask, name, 0, power_w, message};
  while (*text != '\0') {
    size_t length = strcspn(text, "\n");
    enum sc_error error = take_line(&reader, text, length);
    if (error != SC_OK)
      return error;
    text += length + (text[length] == '\n');
  }
  return check_whole(&reader);
}
