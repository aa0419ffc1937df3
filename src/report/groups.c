/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Groups of RDS, row by row. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>

#include "report/groups.h"
#include "report/layout.h"

enum { CELL = 32, WORDS = 4, MARKED = 6, JSON_DECIMALS = 9 };

/* Widths of the columns: with uncertainties, and without them where there is no room. */
struct columns {
  size_t time, uncertainty, group, word;
  int decimals;
};
static const struct columns wide = {13, 11, 7, 9, 6}, narrow = {8, 0, 4, 7, 3};

static const char note[] =
    "Time of a group's end from the beginning of what was measured. A word is as received, ~2 "
    "after it says that 2 bits were corrected, .... that the block was lost.";

/* Type and version stand in the second block. */
static const char *group_name(const struct sc_rds_group *group)
{
  return group->state[1] != SC_RDS_BLOCK_LOST ? sc_rds_group_name(group->word[1] >> 11) : NULL;
}

/* ---- text */

static void word_cell(const struct sc_rds_group *group, int block, char *text)
{
  const unsigned word = group->word[block];
  if (group->state[block] == SC_RDS_BLOCK_LOST)
    snprintf(text, CELL, "....");
  else if (group->state[block] == SC_RDS_BLOCK_CORRECTED)
    snprintf(text, CELL, "%04X~%u", word, (unsigned)group->corrected[block]);
  else
    snprintf(text, CELL, "%04X", word);
}

static void uncertainty_cell(double uncertainty, char *text)
{
  if (isfinite(uncertainty))
    snprintf(text, CELL, "%.1e", uncertainty);
  else
    snprintf(text, CELL, "not known");
}

static void print_group(struct report_buffer *out, const struct sc_rds_group *group,
                        const struct columns *columns)
{
  char text[CELL];
  snprintf(text, sizeof text, "%.*f", columns->decimals, group->time_s);
  report_right(out, text, columns->time);
  uncertainty_cell(group->time_uncertainty_s, text);
  if (columns->uncertainty > 0)
    report_right(out, text, columns->uncertainty);
  report_right(out, group_name(group) != NULL ? group_name(group) : "?", columns->group);
  for (int block = 0; block < WORDS; block++) {
    word_cell(group, block, text);
    report_add(out, "%*s", (int)columns->word - MARKED, "");
    if (block + 1 < WORDS)
      report_left(out, text, MARKED);
    else
      report_add(out, "%s", text);
  }
  report_add(out, "\n");
}

static void print_heads(struct report_buffer *out, const struct columns *columns)
{
  report_right(out, "s", columns->time);
  if (columns->uncertainty > 0)
    report_right(out, "uncertain", columns->uncertainty);
  report_right(out, columns->uncertainty > 0 ? "group" : "", columns->group);
  for (char block = 'A'; block < 'A' + WORDS; block++)
    report_add(out, "%*s%c%s", (int)columns->word - MARKED, "", block, block < 'D' ? "     " : "");
  report_add(out, "\n");
}

void report_group_table(struct report_buffer *out, const struct sc_rds_listing *listing,
                        size_t width)
{
  const struct columns *columns = &wide;
  if (listing->why != NULL)
    return;
  if (width < wide.time + wide.uncertainty + wide.group + WORDS * wide.word)
    columns = &narrow;
  report_add(out, "\nGroups of RDS\n");
  report_wrap(out, note, 0, 0, width);
  if (listing->earlier > 0)
    report_add(out, "%llu came before these and were not kept.\n",
               (unsigned long long)listing->earlier);
  if (listing->count == 0) {
    report_add(out, "None came.\n");
    return;
  }
  print_heads(out, columns);
  for (size_t i = 0; i < listing->count; i++)
    print_group(out, &listing->groups[i], columns);
}

/* ---- JSON */

static const char *state_name(unsigned state)
{
  return state == SC_RDS_BLOCK_CLEAN       ? "clean"
         : state == SC_RDS_BLOCK_CORRECTED ? "corrected"
                                           : "lost";
}

static void put_blocks(struct report_json *json, json_t *object, const struct sc_rds_group *group)
{
  json_t *words = json_array(), *blocks = json_array(), *corrected = json_array();
  for (int i = 0; i < WORDS; i++) {
    const bool lost = group->state[i] == SC_RDS_BLOCK_LOST;
    report_json_append(json, words,
                       lost ? json_null() : json_sprintf("%04X", (unsigned)group->word[i]));
    report_json_append(json, blocks, json_string(state_name(group->state[i])));
    report_json_append(json, corrected, json_integer(group->corrected[i]));
  }
  report_json_put(json, object, "words", words);
  report_json_put(json, object, "blocks", blocks);
  report_json_put(json, object, "corrected_bits", corrected);
}

/* A lost word is null and its block says so. */
static json_t *group_of(struct report_json *json, const struct sc_rds_group *group)
{
  const double uncertainty = group->time_uncertainty_s;
  json_t *object = json_object(), *why = json_object();
  report_json_put(json, object, "time_s", report_json_number(group->time_s, JSON_DECIMALS));
  if (isfinite(uncertainty))
    report_json_put(json, object, "time_uncertainty_s", report_json_uncertainty(uncertainty));
  else
    report_json_null(json, object, why, "time_uncertainty_s", "too few bits to tell");
  if (group_name(group) != NULL)
    report_json_put(json, object, "group", json_string(group_name(group)));
  else
    report_json_null(json, object, why, "group", "its second block was lost");
  put_blocks(json, object, group);
  report_json_put(json, object, "why", why);
  return object;
}

void report_json_groups(struct report_json *json, json_t *object,
                        const struct sc_rds_listing *listing)
{
  static const char key[] = "raw_groups", earlier[] = "raw_groups_earlier";
  json_t *why = json_object_get(object, "why");
  if (listing->why != NULL) {
    report_json_null(json, object, why, key, listing->why);
    report_json_null(json, object, why, earlier, listing->why);
    return;
  }
  json_t *array = json_array();
  for (size_t i = 0; i < listing->count; i++)
    report_json_append(json, array, group_of(json, &listing->groups[i]));
  report_json_put(json, object, key, array);
  report_json_put(json, object, earlier, json_integer((json_int_t)listing->earlier));
  (void)json_object_del(why, key);
}
