/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The programme's own data: PI, names, text, switches. */
#include "measure/rds_groups.h"

#include "measure/rds_names.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { PTYN_LENGTH = 8, PS_LENGTH = 8, RT_LENGTH = 64, RT_SHORT = 32 };

void measure_rds_groups_start(struct measure_rds_groups *groups, enum sc_rds_region region)
{
  memset(groups, 0, sizeof *groups);
  groups->region = region;
  groups->rt_flag = groups->ptyn_flag = -1;
}

unsigned measure_rds_weight(const struct sc_rds_group *group, unsigned first, unsigned second)
{
  const unsigned a = group->state[first], b = group->state[second];
  return a < b ? a : b; /* lost 0, corrected 1, clean 2 */
}

/* Another station: what was known belongs to the old one. */
static void take_pi(struct measure_rds_groups *g, uint16_t pi, unsigned weight)
{
  if (weight == 0)
    return;
  const bool was_sure = g->pi.sure;
  const uint64_t before = g->pi.value;
  measure_rds_cell_take(&g->pi, pi, weight);
  if (!was_sure || g->pi.value == before)
    return;
  const struct measure_rds_cell now = g->pi;
  const uint64_t groups = g->groups;
  uint64_t counts[SC_RDS_GROUP_TYPES];
  memcpy(counts, g->counts, sizeof counts);
  measure_rds_groups_start(g, g->region);
  g->pi = now;
  g->groups = groups;
  memcpy(g->counts, counts, sizeof counts);
}

static void take_pair(struct measure_rds_text *text, size_t pair, uint16_t word, unsigned weight)
{
  if (weight > 0 && pair < MEASURE_RDS_PAIRS)
    measure_rds_cell_take(&text->pair[pair], word, weight);
}

/* A change of the flag begins a new text; a corrected block is not believed about that. */
static bool follow_flag(struct measure_rds_text *text, int *flag, int now, unsigned weight)
{
  if (*flag == now)
    return true;
  if (*flag >= 0 && weight < SC_RDS_BLOCK_CLEAN)
    return false;
  memset(text, 0, sizeof *text);
  *flag = now;
  return true;
}

/* TA, MS and one bit of DI: block B of 0A, 0B and 15B. */
static void take_switches(struct measure_rds_groups *g, uint16_t b, unsigned weight)
{
  measure_rds_cell_take(&g->ta, b >> 4 & 1, weight);
  measure_rds_cell_take(&g->music, b >> 3 & 1, weight);
  measure_rds_cell_take(&g->di[3 - (b & 3)], b >> 2 & 1, weight);
}

static void take_basic(struct measure_rds_groups *g, const struct sc_rds_group *group, bool version)
{
  const uint16_t b = group->word[1];
  const unsigned segment = b & 3;
  take_switches(g, b, group->state[1]);
  take_pair(&g->ps, segment, group->word[3], measure_rds_weight(group, 1, 3));
  if (!version)
    measure_rds_af_take(&g->af, group->word[2], measure_rds_weight(group, 1, 2));
}

static void take_text(struct measure_rds_groups *g, const struct sc_rds_group *group, int version)
{
  const uint16_t b = group->word[1];
  const size_t segment = b & 15;
  const int flag = (b >> 4 & 1) + 2 * version; /* the version belongs to the text */
  const int before = g->rt_flag;
  if (!follow_flag(&g->rt, &g->rt_flag, flag, group->state[1]))
    return;
  if (before != flag) {
    g->rt_version = version;
    g->rt_last = g->rt_segment = segment;
    g->rt_round = false;
  }
  g->rt_round |= segment < g->rt_segment;
  g->rt_segment = segment;
  g->rt_last = segment > g->rt_last ? segment : g->rt_last;
  const unsigned c = measure_rds_weight(group, 1, 2), d = measure_rds_weight(group, 1, 3);
  if (version == 0)
    take_pair(&g->rt, 2 * segment, group->word[2], c);
  take_pair(&g->rt, version == 0 ? 2 * segment + 1 : segment, group->word[3], d);
}

static void take_type_name(struct measure_rds_groups *g, const struct sc_rds_group *group)
{
  const uint16_t b = group->word[1];
  const size_t segment = b & 1;
  if (!follow_flag(&g->ptyn, &g->ptyn_flag, b >> 4 & 1, group->state[1]))
    return;
  take_pair(&g->ptyn, 2 * segment, group->word[2], measure_rds_weight(group, 1, 2));
  take_pair(&g->ptyn, 2 * segment + 1, group->word[3], measure_rds_weight(group, 1, 3));
}

static void take_labelling(struct measure_rds_groups *g, const struct sc_rds_group *group)
{
  const unsigned weight = measure_rds_weight(group, 1, 2);
  const unsigned variant = group->word[2] >> 12 & 7;
  if (weight == 0)
    return;
  if (variant == 0 && (group->word[2] & 0xff) != 0)
    measure_rds_cell_take(&g->ecc, group->word[2] & 0xff, weight);
  else if (variant == 3)
    measure_rds_cell_take(&g->language, group->word[2] & 0xff, weight);
}

/* Of 1A and 1B; a day of 0 says that there is none. */
static void take_item(struct measure_rds_groups *g, const struct sc_rds_group *group)
{
  const unsigned weight = measure_rds_weight(group, 1, 3), word = group->word[3];
  if (weight > 0 && word >> 11 != 0 && (word >> 6 & 31) < 24 && (word & 63) < 60)
    measure_rds_cell_take(&g->pin, word, weight);
}

static void take_typed(struct measure_rds_groups *g, const struct sc_rds_group *group,
                       unsigned type)
{
  const unsigned weight = measure_rds_weight(group, 2, 3);
  switch (type) {
  case 0:
  case 1:
    take_basic(g, group, type == 1);
    break;
  case 2:
    take_labelling(g, group);
    take_item(g, group);
    break;
  case 3:
    take_item(g, group);
    break;
  case 4:
  case 5:
    take_text(g, group, type == 5);
    break;
  case 6:
    measure_rds_oda_take(g, group->word, weight < group->state[1] ? weight : group->state[1]);
    break;
  case 8:
    measure_rds_clock_take(g, group);
    break;
  case 20:
    take_type_name(g, group);
    break;
  case 28:
  case 29:
    measure_rds_other_take(g, group);
    break;
  case 31:
    take_switches(g, group->word[1], group->state[1]);
    break;
  default:
    break;
  }
  measure_rds_tags_take(g, type, group->word, weight < group->state[1] ? weight : group->state[1]);
}

void measure_rds_groups_take(struct measure_rds_groups *groups, const struct sc_rds_group *group)
{
  struct measure_rds_groups *g = groups;
  const unsigned known = group->state[1];
  take_pi(g, group->word[0], group->state[0]);
  if (known == SC_RDS_BLOCK_LOST)
    return;
  const unsigned type = group->word[1] >> 11;
  if (type & 1)
    take_pi(g, group->word[2], measure_rds_weight(group, 1, 2));
  g->groups++;
  g->counts[type]++;
  measure_rds_cell_take(&g->tp, group->word[1] >> 10 & 1, known);
  measure_rds_cell_take(&g->pty, group->word[1] >> 5 & 31, known);
  take_typed(g, group, type);
}

/* ---- result */

static enum sc_truth truth_of(const struct measure_rds_cell *cell)
{
  return !cell->sure ? SC_UNKNOWN : cell->value != 0 ? SC_YES : SC_NO;
}

static void name_result(const struct measure_rds_text *text, size_t length, char *utf8, size_t size)
{
  uint8_t codes[RT_LENGTH];
  bool all;
  const size_t count = measure_rds_text_codes(text, length, codes, &all);
  if (all)
    measure_rds_text_utf8(codes, count, utf8, size);
}

size_t measure_rds_rt_length(const struct measure_rds_groups *g)
{
  const size_t most = g->rt_version == 0 ? RT_LENGTH : RT_SHORT;
  const size_t length = (g->rt_last + 1) * (g->rt_version == 0 ? 4 : 2);
  return length < most ? length : most;
}

/* All of it: up to the code that ends it, or up to the last segment once they began anew. */
static void text_result(const struct measure_rds_groups *g, struct sc_rds_data *data)
{
  uint8_t codes[RT_LENGTH];
  bool all;
  const size_t most = g->rt_version == 0 ? RT_LENGTH : RT_SHORT;
  const size_t length = measure_rds_rt_length(g);
  const size_t count = measure_rds_text_codes(&g->rt, length, codes, &all);
  measure_rds_text_characters(&g->rt, most, data->rt_characters);
  if (g->rt_flag < 0)
    return;
  data->rt_flag[0] = g->rt_flag & 1 ? 'B' : 'A';
  const bool ended = count < length || length == most || g->rt_round;
  if (all && ended)
    measure_rds_text_utf8(codes, count, data->rt, sizeof data->rt);
}

static void di_result(const struct measure_rds_groups *g, struct sc_rds_data *data)
{
  if (!g->di[0].sure)
    return;
  (void)snprintf(data->di, sizeof data->di, "%s%s%s%s", g->di[0].value ? "stereo" : "mono",
                 g->di[1].sure && g->di[1].value ? ", artificial head" : "",
                 g->di[2].sure && g->di[2].value ? ", compressed" : "",
                 g->di[3].sure && g->di[3].value ? ", dynamic PTY" : "");
}

static void type_result(const struct measure_rds_groups *g, struct sc_rds_data *data)
{
  data->pty = g->pty.sure ? (double)g->pty.value : (double)NAN;
  if (!g->pty.sure)
    return;
  const unsigned pty = (unsigned)g->pty.value;
  const char *rds = sc_rds_programme_type(SC_RDS_REGION_RDS, pty);
  const char *rbds = sc_rds_programme_type(SC_RDS_REGION_RBDS, pty);
  (void)snprintf(data->pty_names[0], sizeof data->pty_names[0], "%s", rds);
  (void)snprintf(data->pty_names[1], sizeof data->pty_names[1], "%s", rbds);
  if (data->region != SC_RDS_REGION_OPEN || strcmp(rds, rbds) == 0)
    (void)snprintf(data->pty_name, sizeof data->pty_name, "%s",
                   sc_rds_programme_type(data->region, pty));
  else
    (void)snprintf(data->pty_name, sizeof data->pty_name, "%s (North America: %s)", rds, rbds);
}

static void name_language(const struct measure_rds_groups *g, struct sc_rds_data *data)
{
  if (!g->language.sure)
    return;
  const char *language = measure_rds_language((uint8_t)g->language.value);
  if (language != NULL)
    (void)snprintf(data->language, sizeof data->language, "%s", language);
  else
    (void)snprintf(data->language, sizeof data->language, "code %02X",
                   (unsigned)(g->language.value & 0xff));
}

static void item_result(const struct measure_rds_groups *g, struct sc_rds_data *data)
{
  const unsigned word = (unsigned)g->pin.value;
  if (g->pin.sure)
    (void)snprintf(data->pin, sizeof data->pin, "day %u, %02u:%02u", word >> 11 & 31,
                   word >> 6 & 31, word & 63);
}

static void place_result(const struct measure_rds_groups *g, struct sc_rds_data *data)
{
  const uint16_t pi = (uint16_t)g->pi.value;
  const uint8_t ecc = (uint8_t)g->ecc.value;
  char letters[5];
  if (g->ecc.sure) {
    (void)snprintf(data->ecc, sizeof data->ecc, "%02X", (unsigned)ecc);
    const char *country = g->pi.sure ? measure_rds_country(pi, ecc) : NULL;
    (void)snprintf(data->country, sizeof data->country, "%s", country != NULL ? country : "");
  }
  measure_rds_region_result(g, data);
  name_language(g, data);
  if (g->pi.sure && data->region == SC_RDS_REGION_RBDS && measure_rds_call_letters(pi, letters))
    (void)snprintf(data->call_letters, sizeof data->call_letters, "maybe %s", letters);
}

void measure_rds_groups_result(const struct measure_rds_groups *groups, struct sc_rds_data *data)
{
  const struct measure_rds_groups *g = groups;
  memset(data, 0, sizeof *data);
  data->groups = g->groups;
  memcpy(data->group_counts, g->counts, sizeof data->group_counts);
  data->pi_times = measure_rds_cell_times(&g->pi);
  if (g->pi.sure) {
    data->pi_code = (uint16_t)g->pi.value;
    (void)snprintf(data->pi, sizeof data->pi, "%04X", (unsigned)data->pi_code);
  }
  name_result(&g->ps, PS_LENGTH, data->ps, sizeof data->ps);
  measure_rds_text_characters(&g->ps, PS_LENGTH, data->ps_characters);
  name_result(&g->ptyn, PTYN_LENGTH, data->ptyn, sizeof data->ptyn);
  measure_rds_text_characters(&g->ptyn, PTYN_LENGTH, data->ptyn_characters);
  text_result(g, data);
  data->tp = truth_of(&g->tp);
  data->ta = truth_of(&g->ta);
  data->music = truth_of(&g->music);
  di_result(g, data);
  item_result(g, data);
  measure_rds_more_result(g, data);
  place_result(g, data); /* the frequencies are evidence */
  type_result(g, data);
}
