/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Fuzz target: RDS groups, decisions into the synchroniser, and the conversion of characters.
 * Whatever comes in, every text is clean, ended and UTF-8, and no list is longer than its room. */
#include <config.h>

#include <stdlib.h>
#include <string.h>

#include "common/rds_characters.h"
#include "common/text.h"
#include "fuzz/target.h"
#include "measure/rds_groups.h"
#include "measure/rds_sync.h"

enum { GROUP_BYTES = 9 };

static struct measure_rds_groups groups;
static struct measure_rds_sync sync;
static struct sc_rds_data data;

static void check_text(const char *text, size_t room)
{
  char clean[512];
  const char *end = memchr(text, '\0', room);
  if (end == NULL)
    abort();
  const size_t length = (size_t)(end - text);
  if (common_clean(clean, sizeof clean, text, length) != length || strcmp(clean, text) != 0)
    abort();
}

static void check_characters(const struct sc_rds_character *characters, size_t count)
{
  for (size_t i = 0; i < count; i++)
    check_text(characters[i].utf8, sizeof characters[i].utf8);
}

static void check(void)
{
  measure_rds_groups_result(&groups, &data);
  check_text(data.pi, sizeof data.pi);
  check_text(data.ps, sizeof data.ps);
  check_text(data.rt, sizeof data.rt);
  check_text(data.ptyn, sizeof data.ptyn);
  check_text(data.ct, sizeof data.ct);
  check_text(data.di, sizeof data.di);
  check_text(data.language, sizeof data.language);
  check_text(data.country, sizeof data.country);
  check_text(data.call_letters, sizeof data.call_letters);
  check_text(data.pty_name, sizeof data.pty_name);
  check_text(data.region_evidence, sizeof data.region_evidence);
  check_text(data.af_list, sizeof data.af_list);
  check_characters(data.ps_characters, 8);
  check_characters(data.rt_characters, 64);
  check_characters(data.ptyn_characters, 8);
  if (data.af_count > SC_RDS_AF_LIST_MAX || data.eon_count > SC_RDS_EON_MAX ||
      data.oda_count > SC_RDS_ODA_MAX || data.tag_count > SC_RDS_TAGS_MAX)
    abort();
  for (size_t i = 0; i < data.eon_count; i++)
    check_text(data.eon[i].ps, sizeof data.eon[i].ps);
  for (size_t i = 0; i < data.tag_count; i++)
    check_text(data.tags[i].text, sizeof data.tags[i].text);
}

/* Eight bytes of words, one of states: two bits a block, 3 being clean. Each twice, so that much
 * of it is believed. */
static void feed_groups(const uint8_t *bytes, size_t size)
{
  for (; size >= GROUP_BYTES; bytes += GROUP_BYTES, size -= GROUP_BYTES) {
    struct sc_rds_group group = {.time_s = (double)size};
    for (int i = 0; i < 4; i++) {
      const uint8_t state = bytes[8] >> 2 * i & 3;
      group.word[i] = (uint16_t)(bytes[2 * i] << 8 | bytes[2 * i + 1]);
      group.state[i] = state > SC_RDS_BLOCK_CLEAN ? SC_RDS_BLOCK_CLEAN : state;
    }
    measure_rds_groups_take(&groups, &group);
    measure_rds_groups_take(&groups, &group);
  }
}

static void take(void *context, const struct sc_rds_group *group)
{
  measure_rds_groups_take(context, group);
}

static void feed_decisions(const uint8_t *bytes, size_t size)
{
  measure_rds_sync_start(&sync, take, &groups);
  for (size_t i = 0; i < size; i++) {
    if (bytes[i] == 0)
      measure_rds_sync_break(&sync);
    measure_rds_sync_feed(&sync, (float)(bytes[i] - 128), (double)i);
  }
}

/* The first byte is the room; a text that fits is complete, less blanks at its end. */
static void convert(const uint8_t *bytes, size_t size)
{
  char utf8[256], one[COMMON_RDS_UTF8_MAX + 1];
  if (size == 0)
    return;
  const size_t room = 1 + (size_t)bytes[0];
  size_t wanted = 0, last = 0;
  for (size_t i = 1; i < size; i++) {
    const size_t length = common_rds_utf8(bytes[i], one);
    if (length == 0 || length > COMMON_RDS_UTF8_MAX || strlen(one) != length)
      abort();
    check_text(one, sizeof one);
    wanted += length;
    last = bytes[i] != ' ' ? wanted : last;
  }
  measure_rds_text_utf8(bytes + 1, size - 1, utf8, room);
  check_text(utf8, room);
  if (last < room && strlen(utf8) != last)
    abort();
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size)
{
  if (size == 0)
    return 0;
  measure_rds_groups_start(&groups, (enum sc_rds_region)(bytes[0] % 3));
  if (bytes[0] & 0x40) {
    convert(bytes + 1, size - 1);
    return 0;
  }
  if (bytes[0] & 0x80)
    feed_decisions(bytes + 1, size - 1);
  else
    feed_groups(bytes + 1, size - 1);
  check();
  return 0;
}
