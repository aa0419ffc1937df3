/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The scenario to start from, and whether a scenario can be played. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <sidecomb/scenario.h>

#include "signal/keys.h"
#include "signal/rds_text.h"

void sc_scenario_init(struct sc_scenario *scenario)
{
  memset(scenario, 0, sizeof *scenario);
  scenario->rate_hz = 384e3;
  scenario->seconds = 1;
  scenario->level_dbfs = -6;
  scenario->carrier = true;
  scenario->motion.wander_s = 5;
  scenario->motion.settle_s = 10;
  scenario->cnr_db = NAN;
  scenario->cnr_bandwidth_hz = 200e3;
  scenario->station.pilot_khz = 6.75;
  scenario->station.pilot_hz = 19000;
  scenario->station.limit_hz = 15000;
}

/* ---- rules of single texts and parts */

const char *signal_wrong_part(const void *value)
{
  const struct sc_programme *part = value;
  const bool glides = part->kind == SC_PROGRAMME_SWEEP || part->kind == SC_PROGRAMME_COMB;
  if (glides && !(part->hz > 0 && part->to_hz > part->hz))
    return "a comb or sweep needs hz above 0 and to_hz above hz";
  if (part->kind == SC_PROGRAMME_COMB && part->count < 2)
    return "a comb needs a count of 2 or more";
  if (part->kind == SC_PROGRAMME_SWEEP && part->period_s < 0.1)
    return "a sweep needs a period_s of 0.1 or more";
  if (part->kind == SC_PROGRAMME_BURSTS && !(part->period_s > 0 && part->on_s > 0))
    return "bursts need period_s and on_s";
  if (part->kind == SC_PROGRAMME_SOUND && part->path[0] == 0)
    return "a sound needs a file";
  return NULL;
}

const char *signal_wrong_eight(const void *value)
{
  uint8_t codes[8];
  size_t count;
  return signal_rds_text(value, codes, sizeof codes, &count)
             ? NULL
             : "more than 8 characters, or one that RDS does not have";
}

const char *signal_wrong_radiotext(const void *value)
{
  uint8_t codes[64];
  size_t count;
  return signal_rds_text(value, codes, sizeof codes, &count)
             ? NULL
             : "more than 64 characters, or one that RDS does not have";
}

/* ---- ranges, by the table */

static enum sc_error check_keys(const struct signal_key *keys, const char *base, const char *within,
                                struct sc_message *message);

static enum sc_error check_number(const struct signal_key *key, double value, const char *within,
                                  struct sc_message *message)
{
  /* no noise is the one number that may be absent */
  if (value >= key->low && value <= key->high)
    return SC_OK;
  if (isnan(value) && strcmp(key->name, "cnr_db") == 0)
    return SC_OK;
  return sc_fail(message, SC_BAD_ARGUMENT, "%s%s is %g; it can be %g to %g", within, key->name,
                 value, key->low, key->high);
}

static enum sc_error check_rule(const struct signal_key *key, const void *value, const char *within,
                                struct sc_message *message)
{
  const char *wrong = key->wrong != NULL ? key->wrong(value) : NULL;
  if (wrong == NULL)
    return SC_OK;
  return sc_fail(message, SC_BAD_ARGUMENT, "%s%s: %s", within, key->name, wrong);
}

static size_t stored_count(const struct signal_key *key, const char *base)
{
  size_t count;
  memcpy(&count, base + key->count_offset, sizeof count);
  return count;
}

static enum sc_error check_several(const struct signal_key *key, const char *base,
                                   const char *within, struct sc_message *message)
{
  const size_t count = stored_count(key, base);
  if (count > key->room)
    return sc_fail(message, SC_BAD_ARGUMENT, "%s%s: %zu are too many; there is room for %zu",
                   within, key->name, count, key->room);
  enum sc_error error = SC_OK;
  for (size_t i = 0; error == SC_OK && i < count; i++) {
    char inside[128];
    snprintf(inside, sizeof inside, "%s%s[%zu].", within, key->name, i);
    const char *at = base + key->offset + i * key->size;
    if (key->type == SIGNAL_KEY_LIST) {
      error = check_keys(key->inside, at, inside, message);
      if (error == SC_OK)
        error = check_rule(key, at, within, message);
    } else if (key->type == SIGNAL_KEY_NUMBERS) {
      error = check_number(key, ((const double *)(const void *)(base + key->offset))[i], within,
                           message);
    }
  }
  return error;
}

static enum sc_error check_key(const struct signal_key *key, const char *base, const char *within,
                               struct sc_message *message)
{
  double number;
  int whole;
  char inside[128];
  switch (key->type) {
  case SIGNAL_KEY_NUMBER:
    memcpy(&number, base + key->offset, sizeof number);
    return check_number(key, number / key->scale, within, message);
  case SIGNAL_KEY_COUNT:
    memcpy(&whole, base + key->offset, sizeof whole);
    return check_number(key, whole, within, message);
  case SIGNAL_KEY_TEXT:
    return check_rule(key, base + key->offset, within, message);
  case SIGNAL_KEY_GROUP:
    snprintf(inside, sizeof inside, "%s%s.", within, key->name);
    return check_keys(key->inside, base, inside, message);
  case SIGNAL_KEY_NUMBERS:
  case SIGNAL_KEY_BLOCKS:
  case SIGNAL_KEY_LIST:
    return check_several(key, base, within, message);
  default:
    return SC_OK;
  }
}

static enum sc_error check_keys(const struct signal_key *keys, const char *base, const char *within,
                                struct sc_message *message)
{
  enum sc_error error = SC_OK;
  for (const struct signal_key *key = keys; error == SC_OK && key->name != NULL; key++)
    error = check_key(key, base, within, message);
  return error;
}

/* ---- what belongs together */

static enum sc_error check_rds(const struct sc_rds_content *rds, struct sc_message *message)
{
  if (rds->groups_only && rds->group_count == 0)
    return sc_fail(message, SC_BAD_ARGUMENT, "station.rds.groups_only needs groups");
  return SC_OK;
}

static enum sc_error check_rates(const struct sc_scenario *s, struct sc_message *message)
{
  const double low = 192e3;
  if (s->what != SC_WHAT_AUDIO && s->rate_hz < low)
    return sc_fail(message, SC_BAD_ARGUMENT, "rate_hz is %g; IQ and a composite need %g or more",
                   s->rate_hz, low);
  if (s->what == SC_WHAT_AUDIO && s->rate_hz > 400e3)
    return sc_fail(message, SC_BAD_ARGUMENT, "rate_hz is %g; audio takes up to 400000", s->rate_hz);
  if ((s->station_hz > 0) != (s->centre_hz > 0))
    return sc_fail(message, SC_BAD_ARGUMENT,
                   "station.hz and receiver.hz: give both frequencies or none");
  if (s->station_hz > 0 && fabs(s->station_hz - s->centre_hz) > 5e6)
    return sc_fail(message, SC_BAD_ARGUMENT, "station.hz lies more than 5 MHz from receiver.hz");
  return SC_OK;
}

enum sc_error signal_scenario_check(const struct sc_scenario *scenario, struct sc_message *message)
{
  enum sc_error error = check_keys(signal_scenario_keys, (const char *)scenario, "", message);
  if (error == SC_OK)
    error = check_rates(scenario, message);
  return error == SC_OK ? check_rds(&scenario->station.rds, message) : error;
}
