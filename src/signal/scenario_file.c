/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Scenario files: libconfig reads them, the table of keys says where each value goes. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <libconfig.h>

#include "signal/instant.h"
#include "signal/keys.h"

_Static_assert(sizeof(enum sc_programme_kind) == sizeof(int), "words are stored as int");

/* Where we are, for the messages. */
struct reader {
  const char *source; /* file, or what stands for it */
  const char *folder; /* of the scenario file, for the sounds beside it; "" for here */
  size_t folder_length;
  struct sc_message *message;
  bool assignment; /* `source` is one KEY=VALUE, and all there is */
};

static enum sc_error take_group(const struct reader *reader, const struct signal_key *keys,
                                const config_setting_t *group, char *base);

/* A value may come from a file that the scenario includes. */
static const char *origin(const struct reader *reader, const config_setting_t *setting)
{
  const char *file = config_setting_source_file(setting);
  return file != NULL ? file : reader->source;
}

static enum sc_error refuse(const struct reader *reader, const config_setting_t *setting,
                            const char *text)
{
  const char *name = config_setting_name(setting);
  if (name == NULL && config_setting_parent(setting) != NULL) /* in a list */
    name = config_setting_name(config_setting_parent(setting));
  return sc_fail(reader->message, SC_BAD_FORMAT, "%s:%u: %s: %s", origin(reader, setting),
                 config_setting_source_line(setting), name != NULL ? name : "a value in a list",
                 text);
}

/* ---- single values */

static bool number_of(const config_setting_t *setting, double *value)
{
  switch (config_setting_type(setting)) {
  case CONFIG_TYPE_INT:
    *value = config_setting_get_int(setting);
    return true;
  case CONFIG_TYPE_INT64:
    *value = (double)config_setting_get_int64(setting);
    return true;
  case CONFIG_TYPE_FLOAT:
    *value = config_setting_get_float(setting);
    return true;
  default:
    return false;
  }
}

static enum sc_error ranged(const struct reader *reader, const struct signal_key *key,
                            const config_setting_t *setting, double *value)
{
  char text[128];
  if (!number_of(setting, value))
    return refuse(reader, setting, "a number is wanted");
  if (*value >= key->low && *value <= key->high)
    return SC_OK;
  snprintf(text, sizeof text, "%g is out of range; it can be %g to %g", *value, key->low,
           key->high);
  return refuse(reader, setting, text);
}

static enum sc_error take_number(const struct reader *reader, const struct signal_key *key,
                                 const config_setting_t *setting, char *at)
{
  double value;
  const enum sc_error error = ranged(reader, key, setting, &value);
  if (error != SC_OK)
    return error;
  value *= key->scale;
  memcpy(at, &value, sizeof value);
  return SC_OK;
}

static enum sc_error take_count(const struct reader *reader, const struct signal_key *key,
                                const config_setting_t *setting, char *at)
{
  double value;
  const enum sc_error error = ranged(reader, key, setting, &value);
  if (error != SC_OK)
    return error;
  if (value != floor(value))
    return refuse(reader, setting, "a whole number is wanted");
  const int whole = (int)value;
  memcpy(at, &whole, sizeof whole);
  return SC_OK;
}

static enum sc_error take_seed(const struct reader *reader, const config_setting_t *setting,
                               char *at)
{
  double value;
  if (!number_of(setting, &value) || value < 0 || value != floor(value))
    return refuse(reader, setting, "a whole number of 0 or more is wanted");
  const uint64_t seed = (uint64_t)config_setting_get_int64(setting);
  memcpy(at, &seed, sizeof seed);
  return SC_OK;
}

static enum sc_error take_flag(const struct reader *reader, const config_setting_t *setting,
                               char *at)
{
  if (config_setting_type(setting) != CONFIG_TYPE_BOOL)
    return refuse(reader, setting, "true or false is wanted");
  const bool flag = config_setting_get_bool(setting) != 0;
  memcpy(at, &flag, sizeof flag);
  return SC_OK;
}

static const char *text_of(const config_setting_t *setting)
{
  return config_setting_type(setting) == CONFIG_TYPE_STRING ? config_setting_get_string(setting)
                                                            : NULL;
}

static enum sc_error take_text(const struct reader *reader, const struct signal_key *key,
                               const config_setting_t *setting, char *at)
{
  const char *text = text_of(setting);
  if (text == NULL)
    return refuse(reader, setting, "a text in quotes is wanted");
  if (strlen(text) >= key->room)
    return refuse(reader, setting, "the text is too long");
  if (key->wrong != NULL && key->wrong(text) != NULL)
    return refuse(reader, setting, key->wrong(text));
  snprintf(at, key->room, "%s", text);
  return SC_OK;
}

static enum sc_error take_path(const struct reader *reader, const struct signal_key *key,
                               const config_setting_t *setting, char *at)
{
  const char *text = text_of(setting);
  if (text == NULL)
    return refuse(reader, setting, "a file name in quotes is wanted");
  const size_t length = text[0] == '/' ? 0 : reader->folder_length;
  if (length + strlen(text) >= key->room)
    return refuse(reader, setting, "the file name is too long");
  snprintf(at, key->room, "%.*s%s", (int)length, reader->folder, text);
  return SC_OK;
}

static enum sc_error take_word(const struct reader *reader, const struct signal_key *key,
                               const config_setting_t *setting, char *at)
{
  char known[256] = "";
  size_t used = 0;
  const char *text = text_of(setting);
  for (int i = 0; key->words[i] != NULL; i++) {
    if (text != NULL && strcmp(text, key->words[i]) == 0) {
      memcpy(at, &i, sizeof i); /* the enums are as wide as an int */
      return SC_OK;
    }
    used += (size_t)snprintf(known + used, sizeof known - used, " \"%s\"", key->words[i]);
  }
  char says[320];
  snprintf(says, sizeof says, "wanted is one of%s", known);
  return refuse(reader, setting, says);
}

static enum sc_error take_time(const struct reader *reader, const struct signal_key *key,
                               const config_setting_t *setting, char *base)
{
  const char *text = text_of(setting);
  int64_t seconds;
  if (text == NULL || !signal_instant_parse(text, &seconds))
    return refuse(reader, setting, "a time like \"2031-05-17T09:30:00Z\" is wanted");
  const bool on = true;
  memcpy(base + key->offset, &seconds, sizeof seconds);
  memcpy(base + key->count_offset, &on, sizeof on);
  return SC_OK;
}

/* ---- several values */

static bool is_sequence(const config_setting_t *setting)
{
  const int type = config_setting_type(setting);
  return type == CONFIG_TYPE_LIST || type == CONFIG_TYPE_ARRAY;
}

static enum sc_error take_block(const struct reader *reader, const config_setting_t *setting,
                                char *at)
{
  static const struct signal_key word = {.name = "word", .low = 0, .high = 0xffff, .scale = 1};
  uint16_t group[4];
  if (!is_sequence(setting) || config_setting_length(setting) != 4)
    return refuse(reader, setting, "a group is a list of four words, like [ 0xD3A5, 0, 0, 0 ]");
  for (unsigned i = 0; i < 4; i++) {
    double value;
    const enum sc_error error = ranged(reader, &word, config_setting_get_elem(setting, i), &value);
    if (error != SC_OK)
      return error;
    group[i] = (uint16_t)value;
  }
  memcpy(at, group, sizeof group);
  return SC_OK;
}

static enum sc_error take_element(const struct reader *reader, const struct signal_key *key,
                                  const config_setting_t *setting, char *at)
{
  if (key->type == SIGNAL_KEY_NUMBERS)
    return take_number(reader, key, setting, at);
  if (key->type == SIGNAL_KEY_BLOCKS)
    return take_block(reader, setting, at);
  memset(at, 0, key->size);
  const enum sc_error error = take_group(reader, key->inside, setting, at);
  if (error == SC_OK && key->wrong != NULL && key->wrong(at) != NULL)
    return refuse(reader, setting, key->wrong(at));
  return error;
}

static size_t element_size(const struct signal_key *key)
{
  return key->type == SIGNAL_KEY_NUMBERS  ? sizeof(double)
         : key->type == SIGNAL_KEY_BLOCKS ? 4 * sizeof(uint16_t)
                                          : key->size;
}

/* A list replaces what was there before. */
static enum sc_error take_several(const struct reader *reader, const struct signal_key *key,
                                  const config_setting_t *setting, char *base)
{
  char text[96];
  if (!is_sequence(setting))
    return refuse(reader, setting, "a list in brackets is wanted");
  const size_t count = (size_t)config_setting_length(setting);
  if (count > key->room) {
    snprintf(text, sizeof text, "%zu are too many; there is room for %zu", count, key->room);
    return refuse(reader, setting, text);
  }
  for (size_t i = 0; i < count; i++) {
    const enum sc_error error =
        take_element(reader, key, config_setting_get_elem(setting, (unsigned)i),
                     base + key->offset + i * element_size(key));
    if (error != SC_OK)
      return error;
  }
  memcpy(base + key->count_offset, &count, sizeof count);
  return SC_OK;
}

/* ---- all of it */

static enum sc_error take(const struct reader *reader, const struct signal_key *key,
                          const config_setting_t *setting, char *base)
{
  char *at = base + key->offset;
  switch (key->type) {
  case SIGNAL_KEY_NUMBER:
    return take_number(reader, key, setting, at);
  case SIGNAL_KEY_COUNT:
    return take_count(reader, key, setting, at);
  case SIGNAL_KEY_SEED:
    return take_seed(reader, setting, at);
  case SIGNAL_KEY_FLAG:
    return take_flag(reader, setting, at);
  case SIGNAL_KEY_TEXT:
    return take_text(reader, key, setting, at);
  case SIGNAL_KEY_PATH:
    return take_path(reader, key, setting, at);
  case SIGNAL_KEY_WORD:
    return take_word(reader, key, setting, at);
  case SIGNAL_KEY_TIME:
    return take_time(reader, key, setting, base);
  case SIGNAL_KEY_GROUP:
    return take_group(reader, key->inside, setting, base);
  default:
    return take_several(reader, key, setting, base);
  }
}

static enum sc_error unknown(const struct reader *reader, const struct signal_key *keys,
                             const config_setting_t *setting)
{
  char known[400] = "";
  size_t used = 0;
  for (const struct signal_key *key = keys; key->name != NULL && used < sizeof known; key++)
    used += (size_t)snprintf(known + used, sizeof known - used, " %s", key->name);
  return sc_fail(reader->message, SC_BAD_FORMAT, "%s:%u: there is no key '%s' here; there are:%s",
                 origin(reader, setting), config_setting_source_line(setting),
                 config_setting_name(setting), known);
}

static enum sc_error take_group(const struct reader *reader, const struct signal_key *keys,
                                const config_setting_t *group, char *base)
{
  if (config_setting_type(group) != CONFIG_TYPE_GROUP)
    return refuse(reader, group, "a group in braces is wanted");
  for (int i = 0; i < config_setting_length(group); i++) {
    const config_setting_t *setting = config_setting_get_elem(group, (unsigned)i);
    const struct signal_key *key = signal_key_find(keys, config_setting_name(setting));
    const enum sc_error error =
        key == NULL ? unknown(reader, keys, setting) : take(reader, key, setting, base);
    if (error != SC_OK)
      return error;
  }
  return SC_OK;
}

/* The scenario changes only when all of it was good. */
static enum sc_error take_all(const struct reader *reader, const config_t *config,
                              struct sc_scenario *scenario)
{
  struct sc_scenario *fresh = malloc(sizeof *fresh);
  if (fresh == NULL)
    return sc_fail(reader->message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  *fresh = *scenario;
  const enum sc_error error =
      take_group(reader, signal_scenario_keys, config_root_setting(config), (char *)fresh);
  if (error == SC_OK)
    *scenario = *fresh;
  free(fresh);
  return error;
}

static enum sc_error no_config(const struct reader *reader, const config_t *config, int reason)
{
  if (config_error_type(config) == CONFIG_ERR_FILE_IO)
    return sc_fail(reader->message, SC_CANNOT_OPEN, "%s: cannot be read: %s", reader->source,
                   reason != 0 ? strerror(reason) : "it is no plain file");
  if (reader->assignment)
    return sc_fail(reader->message, SC_BAD_FORMAT,
                   "%s: is no KEY=VALUE of a scenario; text stands in double quotes, as in "
                   "title=\"a title\"",
                   reader->source);
  const char *file = config_error_file(config);
  return sc_fail(reader->message, SC_BAD_FORMAT, "%s:%d: %s", file != NULL ? file : reader->source,
                 config_error_line(config), config_error_text(config));
}

enum sc_error sc_scenario_read(const char *path, struct sc_scenario *scenario,
                               struct sc_message *message)
{
  const char *slash = strrchr(path, '/');
  const struct reader reader = {.source = path,
                                .folder = path,
                                .folder_length = slash != NULL ? (size_t)(slash - path) + 1 : 0,
                                .message = message};
  config_t config;
  config_init(&config);
  errno = 0;
  const enum sc_error error = config_read_file(&config, path) == CONFIG_TRUE
                                  ? take_all(&reader, &config, scenario)
                                  : no_config(&reader, &config, errno);
  config_destroy(&config);
  return error;
}

/* "a.b.c = 1" becomes "a = { b = { c = 1; }; };". */
static char *spell_out(const char *assignment)
{
  const size_t length = strlen(assignment);
  char *text = malloc(8 * length + 8), *to = text; /* a dot takes seven */
  const char *equals = assignment + strcspn(assignment, "=");
  size_t depth = 0;
  for (const char *c = assignment; text != NULL && *c != 0; c++) {
    if (*c == '.' && c < equals) {
      memcpy(to, " = { ", 5);
      to += 5;
      depth++;
    } else {
      *to++ = *c;
    }
  }
  if (text == NULL)
    return NULL;
  *to++ = ';';
  for (; depth > 0; depth--) {
    memcpy(to, "};", 2);
    to += 2;
  }
  *to = 0;
  return text;
}

static enum sc_error parse(const char *text, const struct reader *reader,
                           struct sc_scenario *scenario)
{
  config_t config;
  config_init(&config);
  const enum sc_error error = config_read_string(&config, text) == CONFIG_TRUE
                                  ? take_all(reader, &config, scenario)
                                  : no_config(reader, &config, 0);
  config_destroy(&config);
  return error;
}

enum sc_error sc_scenario_parse(const char *text, const char *source, struct sc_scenario *scenario,
                                struct sc_message *message)
{
  const struct reader reader = {.source = source, .folder = "", .message = message};
  return parse(text, &reader, scenario);
}

enum sc_error sc_scenario_assign(const char *assignment, struct sc_scenario *scenario,
                                 struct sc_message *message)
{
  const struct reader reader = {
      .source = assignment, .folder = "", .message = message, .assignment = true};
  char *text = spell_out(assignment);
  if (text == NULL)
    return sc_fail(message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  const enum sc_error error = parse(text, &reader, scenario);
  free(text);
  return error;
}
