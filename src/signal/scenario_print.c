/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A scenario in the language of its files, every key with its meaning: the way back from
 * scenario_file.c, by the same table.
 */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <limits.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/compose.h>

#include "common/text.h"
#include "signal/instant.h"
#include "signal/keys.h"

enum { SIZE_FIRST = 8192, NOTE_COLUMN = 36 };

/* Text that grows; a failed allocation is remembered. */
struct page {
  char *text;
  size_t used, size, line; /* line: where the last one begins */
  int depth;
  bool failed;
};

static bool grow(struct page *page, size_t wanted)
{
  size_t size = page->size > 0 ? page->size : SIZE_FIRST;
  while (size < page->used + wanted + 1)
    size *= 2;
  char *text = page->failed ? NULL : realloc(page->text, size);
  page->failed = text == NULL;
  if (text == NULL)
    return false;
  page->text = text;
  page->size = size;
  return true;
}

static void add(struct page *page, const char *format, ...) SC_PRINTF(2, 3);

static void add(struct page *page, const char *format, ...)
{
  va_list arguments, again;
  va_start(arguments, format);
  va_copy(again, arguments);
  const int length = vsnprintf(NULL, 0, format, arguments);
  va_end(arguments);
  if (length >= 0 && grow(page, (size_t)length)) {
    vsnprintf(page->text + page->used, (size_t)length + 1, format, again);
    page->used += (size_t)length;
  }
  va_end(again);
}

static void begin_line(struct page *page, const char *mark)
{
  page->line = page->used;
  add(page, "%*s%s", 2 * page->depth, "", mark);
}

/* ---- values */

/* The shortest decimal number that is read as the same value again. */
static void add_number(struct page *page, double value, double scale)
{
  char text[40];
  int digits = 10;
  do {
    snprintf(text, sizeof text, "%.*g", digits, value / scale);
  } while (strtod(text, NULL) * scale != value && ++digits <= 17);
  const bool whole = strpbrk(text, ".en") == NULL;
  add(page, "%s%s", text, whole && fabs(value / scale) > INT_MAX ? ".0" : "");
}

static void add_quoted(struct page *page, const char *text)
{
  const size_t length = strlen(text);
  char clean[4 * SC_SCENARIO_NAME_MAX > SC_SCENARIO_PATH_MAX ? 4 * SC_SCENARIO_NAME_MAX
                                                             : SC_SCENARIO_PATH_MAX];
  common_clean(clean, sizeof clean, text, length);
  const bool harmless = strcmp(clean, text) == 0;
  add(page, "\"");
  for (size_t i = 0; i < length; i++) {
    const unsigned char c = (unsigned char)text[i];
    if (c < 0x20 || c == 0x7f || (c >= 0x80 && !harmless))
      add(page, "\\x%02x", c);
    else
      add(page, "%s%c", c == '"' || c == '\\' ? "\\" : "", c);
  }
  add(page, "\"");
}

static void add_blocks(struct page *page, const struct signal_key *key, const char *base)
{
  size_t count;
  memcpy(&count, base + key->count_offset, sizeof count);
  add(page, "(");
  for (size_t i = 0; i < count; i++) {
    uint16_t words[4];
    memcpy(words, base + key->offset + i * sizeof words, sizeof words);
    add(page, "%s [ 0x%04X, 0x%04X, 0x%04X, 0x%04X ]", i > 0 ? "," : "", words[0], words[1],
        words[2], words[3]);
  }
  add(page, " )");
}

static void add_numbers(struct page *page, const struct signal_key *key, const char *base)
{
  size_t count;
  memcpy(&count, base + key->count_offset, sizeof count);
  add(page, "(");
  for (size_t i = 0; i < count; i++) {
    double value;
    memcpy(&value, base + key->offset + i * sizeof value, sizeof value);
    add(page, i > 0 ? ", " : " ");
    add_number(page, value, key->scale);
  }
  add(page, " )");
}

static void add_seed(struct page *page, const char *at)
{
  uint64_t seed;
  memcpy(&seed, at, sizeof seed);
  add(page, "%llu%s", (unsigned long long)seed, seed > INT_MAX ? "L" : "");
}

static void add_instant(struct page *page, const char *at)
{
  int64_t seconds;
  char text[SIGNAL_INSTANT_LENGTH + 1];
  memcpy(&seconds, at, sizeof seconds);
  signal_instant_print(seconds, text);
  add(page, "\"%s\"", text);
}

static void add_value(struct page *page, const struct signal_key *key, const char *base)
{
  const char *at = base + key->offset;
  double number = 0;
  int whole = 0;
  bool flag = false;
  switch (key->type) {
  case SIGNAL_KEY_NUMBER:
    memcpy(&number, at, sizeof number);
    add_number(page, number, key->scale);
    return;
  case SIGNAL_KEY_COUNT:
    memcpy(&whole, at, sizeof whole);
    add(page, key->high > UCHAR_MAX ? "0x%04X" : "%d", whole);
    return;
  case SIGNAL_KEY_WORD:
    memcpy(&whole, at, sizeof whole);
    add(page, "\"%s\"", key->words[whole]);
    return;
  case SIGNAL_KEY_FLAG:
    memcpy(&flag, at, sizeof flag);
    add(page, "%s", flag ? "true" : "false");
    return;
  case SIGNAL_KEY_SEED:
    add_seed(page, at);
    return;
  case SIGNAL_KEY_TIME:
    add_instant(page, at);
    return;
  case SIGNAL_KEY_NUMBERS:
    add_numbers(page, key, base);
    return;
  case SIGNAL_KEY_BLOCKS:
    add_blocks(page, key, base);
    return;
  default:
    add_quoted(page, at);
  }
}

/* Whether the scenario says nothing of it: no noise, no clock. */
static bool absent(const struct signal_key *key, const char *base)
{
  double number = 0;
  bool flag = true;
  if (key->type == SIGNAL_KEY_NUMBER)
    memcpy(&number, base + key->offset, sizeof number);
  if (key->type == SIGNAL_KEY_TIME)
    memcpy(&flag, base + key->count_offset, sizeof flag);
  return isnan(number) || !flag;
}

/* ---- notes */

static void add_range(struct page *page, const struct signal_key *key)
{
  switch (key->type) {
  case SIGNAL_KEY_NUMBER:
  case SIGNAL_KEY_NUMBERS:
  case SIGNAL_KEY_COUNT:
    add(page, "; %.10g to %.10g", key->low, key->high);
    break;
  case SIGNAL_KEY_WORD:
    add(page, ": ");
    for (size_t i = 0; key->words[i] != NULL; i++)
      add(page, "%s%s", i > 0 ? ", " : "", key->words[i]);
    break;
  default:
    break;
  }
  if (key->room > 1 && key->type >= SIGNAL_KEY_NUMBERS)
    add(page, "; up to %zu", key->room);
}

static void note(struct page *page, const struct signal_key *key)
{
  const size_t width = page->used - page->line;
  add(page, "%*s# %s", width < NOTE_COLUMN ? (int)(NOTE_COLUMN - width) : 1, "", key->help);
  add_range(page, key);
  add(page, "\n");
}

/* What an element of a list can hold. */
static void add_pattern(struct page *page, const struct signal_key *keys)
{
  for (const struct signal_key *key = keys; key->name != NULL; key++) {
    begin_line(page, "# ");
    add(page, "%s", key->name);
    note(page, key);
  }
}

/* ---- all of it */

/* Elements are zero where nothing is said, and then need not say it. */
static bool is_zero(const struct signal_key *key, const char *base)
{
  static const char zeros[sizeof(double)];
  size_t count = 0;
  switch (key->type) {
  case SIGNAL_KEY_WORD:
    return false;
  case SIGNAL_KEY_NUMBER:
    return memcmp(base + key->offset, zeros, sizeof(double)) == 0;
  case SIGNAL_KEY_COUNT:
    return memcmp(base + key->offset, zeros, sizeof(int)) == 0;
  case SIGNAL_KEY_LIST:
    memcpy(&count, base + key->count_offset, sizeof count);
    return count == 0;
  default:
    return base[key->offset] == 0;
  }
}

static void add_elements(struct page *page, const struct signal_key *key, const char *base,
                         const char *joint);

static void add_element(struct page *page, const struct signal_key *keys, const char *base)
{
  add(page, "{");
  for (const struct signal_key *key = keys; key->name != NULL; key++) {
    if (is_zero(key, base))
      continue;
    add(page, " %s = ", key->name);
    if (key->type == SIGNAL_KEY_LIST) {
      add(page, "( ");
      add_elements(page, key, base, ", ");
      add(page, " )");
    } else {
      add_value(page, key, base);
    }
    add(page, ";");
  }
  add(page, " }");
}

static void add_elements(struct page *page, const struct signal_key *key, const char *base,
                         const char *joint)
{
  size_t count;
  memcpy(&count, base + key->count_offset, sizeof count);
  for (size_t i = 0; i < count; i++) {
    if (i > 0)
      add(page, "%s", joint);
    add_element(page, key->inside, base + key->offset + i * key->size);
  }
}

static void add_list(struct page *page, const struct signal_key *key, const char *base)
{
  char joint[64];
  add(page, "%s = (", key->name);
  note(page, key);
  page->depth++;
  add_pattern(page, key->inside);
  snprintf(joint, sizeof joint, ",\n%*s", 2 * page->depth, "");
  if (!is_zero(key, base)) {
    begin_line(page, "");
    add_elements(page, key, base, joint);
    add(page, "\n");
  }
  page->depth--;
  begin_line(page, ");\n");
}

static void add_keys(struct page *page, const struct signal_key *keys, const char *base);

static void add_group(struct page *page, const struct signal_key *key, const char *base)
{
  add(page, "%s = {", key->name);
  note(page, key);
  page->depth++;
  add_keys(page, key->inside, base);
  page->depth--;
  begin_line(page, "};\n");
}

static void add_keys(struct page *page, const struct signal_key *keys, const char *base)
{
  for (const struct signal_key *key = keys; key->name != NULL; key++) {
    begin_line(page, absent(key, base) ? "# " : "");
    if (key->type == SIGNAL_KEY_GROUP) {
      add_group(page, key, base);
    } else if (key->type == SIGNAL_KEY_LIST) {
      add_list(page, key, base);
    } else {
      add(page, "%s = ", key->name);
      if (!absent(key, base))
        add_value(page, key, base);
      add(page, ";");
      note(page, key);
    }
  }
}

static void add_truth(struct page *page, const struct sc_scenario *scenario)
{
  struct sc_annotation *truth = calloc(SC_TRUTH_MAX, sizeof *truth);
  const size_t count = truth != NULL ? sc_scenario_truth(scenario, truth) : 0;
  page->failed |= truth == NULL;
  add(page, "\n# What is in the capture:\n");
  for (size_t i = 0; i < count; i++) {
    common_clean_string(truth[i].text);
    add(page, "#   %s\n", truth[i].text);
  }
  free(truth);
}

enum sc_error sc_scenario_print(const struct sc_scenario *scenario, char **text)
{
  struct page page = {0};
  add_keys(&page, signal_scenario_keys, (const char *)scenario);
  add_truth(&page, scenario);
  *text = page.text;
  if (!page.failed)
    return SC_OK;
  free(page.text);
  *text = NULL;
  return SC_NO_MEMORY;
}
