/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Other frequencies, clock, open data applications, RT+ and other networks. */
#include "measure/rds_groups.h"

#include "measure/rds_names.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { AF_LENGTH_0 = 224, AF_LENGTH_MAX = 249, AF_LOW = 250, TAGS_ID = 0x4bd7 };

/* ---- alternative frequencies */

static void note(struct measure_rds_af *af, uint8_t code, bool low, unsigned weight)
{
  const double mhz = low ? measure_rds_af_low_mhz(code) : measure_rds_af_mhz(code);
  struct measure_rds_cell *cell = low ? &af->low[code] : &af->seen[code];
  if (mhz == 0.0)
    return;
  if (cell->weight == 0 && af->count < SC_RDS_AF_LIST_MAX) {
    af->order[af->count] = code;
    af->is_low[af->count++] = low;
  }
  measure_rds_cell_take(cell, code, weight);
}

/* Method B repeats the frequency that follows the length in every pair; method A does not. */
static void end_list(struct measure_rds_af *af)
{
  if (af->pairs >= 2 && af->with_tuned == af->pairs)
    af->method = 'B';
  else if (af->pairs >= 2 && af->with_tuned <= 1)
    af->method = 'A';
  af->pairs = af->with_tuned = 0;
}

void measure_rds_af_take(struct measure_rds_af *af, uint16_t word, unsigned weight)
{
  const uint8_t first = (uint8_t)(word >> 8), second = (uint8_t)word;
  if (weight == 0)
    return;
  if (first > AF_LENGTH_0 && first <= AF_LENGTH_MAX) {
    end_list(af);
    af->tuned = second;
    note(af, second, false, weight);
    return;
  }
  if (first == AF_LOW) {
    note(af, second, true, weight);
    return;
  }
  note(af, first, false, weight);
  note(af, second, false, weight);
  if (measure_rds_af_mhz(first) > 0.0 && measure_rds_af_mhz(second) > 0.0 && af->tuned != 0) {
    af->pairs++;
    af->with_tuned += first == af->tuned || second == af->tuned;
  }
}

static void af_result(const struct measure_rds_af *af, struct sc_rds_data *data)
{
  size_t used = 0;
  for (size_t i = 0; i < af->count; i++) {
    const uint8_t code = af->order[i];
    const bool low = af->is_low[i];
    if (!(low ? &af->low[code] : &af->seen[code])->sure)
      continue;
    const double mhz = low ? measure_rds_af_low_mhz(code) : measure_rds_af_mhz(code);
    data->af_mhz[data->af_count++] = mhz;
    if (used < sizeof data->af_list) {
      const int more = snprintf(data->af_list + used, sizeof data->af_list - used,
                                low ? "%s%.3f" : "%s%.1f", used > 0 ? ", " : "", mhz);
      used += more > 0 ? (size_t)more : 0;
    }
  }
  data->af_method[0] = data->af_count > 0 ? af->method : '\0';
}

/* ---- clock */

static bool is_time(unsigned hour, unsigned minute)
{
  return hour < 24 && minute < 60;
}

void measure_rds_clock_take(struct measure_rds_groups *groups, const struct sc_rds_group *group)
{
  struct measure_rds_clock *clock = &groups->clock;
  const uint16_t *word = group->word;
  for (unsigned i = 1; i < 4; i++)
    if (group->state[i] != SC_RDS_BLOCK_CLEAN)
      return; /* it comes once a minute: nothing would confirm a corrected one soon */
  const uint32_t mjd = (uint32_t)(word[1] & 3) << 15 | word[2] >> 1;
  const unsigned hour = (word[2] & 1U) << 4 | word[3] >> 12, minute = word[3] >> 6 & 63;
  const int size = word[3] & 31;
  if (!is_time(hour, minute) || mjd == 0)
    return;
  const int64_t minutes = (int64_t)mjd * 1440 + hour * 60 + minute;
  const double passed = clock->known ? (group->time_s - clock->time_s) / 60.0 : 0.0;
  const bool agrees = clock->known && fabs((double)(minutes - clock->minutes) - passed) < 0.25;
  *clock = (struct measure_rds_clock){.time_s = group->time_s,
                                      .minutes = minutes,
                                      .half_hours = word[3] >> 5 & 1 ? -size : size,
                                      .known = true,
                                      .confirmed = agrees};
}

static void clock_result(const struct measure_rds_clock *clock, struct sc_rds_data *data)
{
  if (!clock->known)
    return;
  const struct measure_rds_date date = measure_rds_date_of((uint32_t)(clock->minutes / 1440));
  const int in_day = (int)(clock->minutes % 1440);
  const int apart = clock->half_hours < 0 ? -clock->half_hours : clock->half_hours;
  (void)snprintf(data->ct, sizeof data->ct, "%04d-%02d-%02dT%02d:%02dZ (%c%02d:%02d)",
                 date.year % 10000, date.month, date.day, in_day / 60, in_day % 60,
                 clock->half_hours < 0 ? '-' : '+', apart / 2, apart % 2 * 30);
  data->ct_confirmed = clock->confirmed;
}

/* ---- open data applications */

void measure_rds_oda_take(struct measure_rds_groups *groups, const uint16_t word[4],
                          unsigned weight)
{
  if (weight == 0)
    return;
  const uint64_t type = word[1] & 31;
  for (size_t i = 0; i < SC_RDS_ODA_MAX; i++) {
    struct measure_rds_oda *oda = &groups->oda[i];
    /* a place held by something that never came again is free */
    const bool free = !oda->used || (!oda->message.sure && i + 1 == SC_RDS_ODA_MAX);
    if (!free && oda->id != word[3])
      continue;
    if (free)
      *oda = (struct measure_rds_oda){.id = word[3], .used = true};
    measure_rds_cell_take(&oda->message, type << 16 | word[2], weight);
    return;
  }
}

static void oda_result(const struct measure_rds_groups *g, struct sc_rds_data *data)
{
  for (size_t i = 0; i < SC_RDS_ODA_MAX; i++) {
    const struct measure_rds_oda *oda = &g->oda[i];
    if (oda->message.sure)
      data->oda[data->oda_count++] =
          (struct sc_rds_oda){.id = oda->id,
                              .name = measure_rds_application(oda->id),
                              .type = (uint8_t)(oda->message.value >> 16 & 31),
                              .message = (uint16_t)oda->message.value};
  }
}

/* ---- RT+ */

static bool carries_tags(const struct measure_rds_groups *g, unsigned type)
{
  for (size_t i = 0; i < SC_RDS_ODA_MAX; i++)
    if (g->oda[i].message.sure && g->oda[i].id == TAGS_ID && type != 0 &&
        (g->oda[i].message.value >> 16 & 31) == type)
      return true;
  return false;
}

void measure_rds_tags_take(struct measure_rds_groups *groups, unsigned type, const uint16_t word[4],
                           unsigned weight)
{
  if (weight > 0 && carries_tags(groups, type))
    measure_rds_cell_take(
        &groups->tags, (uint64_t)(word[1] & 31) << 32 | (uint64_t)word[2] << 16 | word[3], weight);
}

static void add_tag(const struct measure_rds_groups *g, unsigned type, size_t start, size_t length,
                    struct sc_rds_data *data)
{
  uint8_t codes[64];
  bool all;
  const size_t count = measure_rds_text_codes(&g->rt, measure_rds_rt_length(g), codes, &all);
  if (type == 0 || start + length > count || data->tag_count == SC_RDS_TAGS_MAX)
    return;
  struct sc_rds_tag *tag = &data->tags[data->tag_count++];
  tag->type = (uint8_t)type;
  tag->name = measure_rds_tag(tag->type);
  measure_rds_text_utf8(codes + start, length, tag->text, sizeof tag->text);
}

/* Tags point into the text, so they say nothing before it is complete. */
static void tags_result(const struct measure_rds_groups *g, struct sc_rds_data *data)
{
  const uint64_t bits = g->tags.value;
  if (!g->tags.sure || data->rt[0] == '\0')
    return;
  add_tag(g, bits >> 29 & 63, bits >> 23 & 63, (bits >> 17 & 63) + 1, data);
  add_tag(g, bits >> 11 & 63, bits >> 5 & 63, (bits & 31) + 1, data);
}

/* ---- other networks */

static struct measure_rds_other *other_of(struct measure_rds_groups *g, uint16_t pi)
{
  for (size_t i = 0; i < SC_RDS_EON_MAX; i++) {
    struct measure_rds_other *other = &g->others[i];
    const bool free = !other->used || (other->weight < 2 && i + 1 == SC_RDS_EON_MAX);
    if (free && !(other->used && other->pi == pi))
      *other = (struct measure_rds_other){.used = true, .pi = pi};
    if (other->pi == pi)
      return other;
  }
  return NULL;
}

static void note_other(struct measure_rds_other *other, unsigned code, unsigned weight)
{
  if (measure_rds_af_mhz((uint8_t)code) == 0.0)
    return;
  for (size_t i = 0; i < SC_RDS_OTHER_AF_MAX; i++) {
    struct measure_rds_cell *cell = &other->af[i];
    if (cell->weight > 0 && cell->candidate != code)
      continue;
    measure_rds_cell_take(cell, code, weight);
    return;
  }
}

/* Variants of 14A: name, frequencies (listed; mapped from one that is tuned to), PTY and TA. */
static void take_variant(struct measure_rds_other *other, unsigned variant, uint16_t c,
                         unsigned weight)
{
  if (variant < 4)
    measure_rds_cell_take(&other->ps.pair[variant], c, weight);
  if (variant == 4)
    note_other(other, c >> 8, weight);
  if (variant >= 4 && variant <= 8)
    note_other(other, c & 0xff, weight);
  if (variant != 13)
    return;
  measure_rds_cell_take(&other->pty, c >> 11, weight);
  measure_rds_cell_take(&other->ta, c & 1, weight);
}

void measure_rds_other_take(struct measure_rds_groups *groups, const struct sc_rds_group *group)
{
  const uint16_t b = group->word[1], c = group->word[2];
  const unsigned with_pi = measure_rds_weight(group, 1, 3);
  if (with_pi == 0 || group->word[3] == 0)
    return;
  struct measure_rds_other *other = other_of(groups, group->word[3]);
  if (other == NULL)
    return;
  other->weight += other->weight < 255 ? with_pi : 0;
  measure_rds_cell_take(&other->tp, b >> 4 & 1, with_pi);
  if (b >> 11 & 1) {
    measure_rds_cell_take(&other->ta, b >> 3 & 1, with_pi);
    return;
  }
  const unsigned weight = measure_rds_weight(group, 2, 2) < with_pi ? group->state[2] : with_pi;
  if (weight > 0)
    take_variant(other, b & 15, c, weight);
}

static enum sc_truth truth_of(const struct measure_rds_cell *cell)
{
  return !cell->sure ? SC_UNKNOWN : cell->value != 0 ? SC_YES : SC_NO;
}

static void other_result(const struct measure_rds_other *other, struct sc_rds_data *data)
{
  uint8_t codes[8];
  bool all;
  if (other->weight < 3)
    return;
  struct sc_rds_other *out = &data->eon[data->eon_count++];
  out->pi = other->pi;
  const size_t count = measure_rds_text_codes(&other->ps, 8, codes, &all);
  if (all)
    measure_rds_text_utf8(codes, count, out->ps, sizeof out->ps);
  out->pty = other->pty.sure ? (int)other->pty.value : -1;
  out->tp = truth_of(&other->tp);
  out->ta = truth_of(&other->ta);
  for (size_t i = 0; i < SC_RDS_OTHER_AF_MAX; i++)
    if (other->af[i].sure)
      out->af_mhz[out->af_count++] = measure_rds_af_mhz((uint8_t)other->af[i].value);
}

void measure_rds_more_result(const struct measure_rds_groups *groups, struct sc_rds_data *data)
{
  af_result(&groups->af, data);
  clock_result(&groups->clock, data);
  oda_result(groups, data);
  tags_result(groups, data);
  for (size_t i = 0; i < SC_RDS_EON_MAX; i++)
    if (groups->others[i].used)
      other_result(&groups->others[i], data);
}
