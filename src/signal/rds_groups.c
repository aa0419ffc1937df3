/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Groups of RDS, their order, and their check words. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <string.h>

#include "signal/rds_groups.h"
#include "signal/rds_text.h"

static const uint32_t generator = 0x5b9;
static const uint16_t offsets[] = {0x0fc, 0x198, 0x168, 0x350, 0x1b4};

enum { AF_NONE = 224, AF_FILLER = 205, END_OF_TEXT = 0x0d };

uint32_t signal_rds_block(uint16_t word, int offset)
{
  uint32_t rest = (uint32_t)word << 10;
  for (int bit = 25; bit >= 10; bit--)
    if (rest >> bit & 1)
      rest ^= generator << (bit - 10);
  return (uint32_t)word << 10 | (rest ^ offsets[offset]);
}

void signal_rds_bits(const uint16_t group[4], uint8_t *bits)
{
  const int third = group[1] >> 11 & 1 ? SIGNAL_RDS_C2 : SIGNAL_RDS_C;
  const int order[4] = {SIGNAL_RDS_A, SIGNAL_RDS_B, third, SIGNAL_RDS_D};
  for (int b = 0; b < 4; b++) {
    const uint32_t block = signal_rds_block(group[b], order[b]);
    for (int i = 25; i >= 0; i--)
      *bits++ = block >> i & 1;
  }
}

/* ---- layouts */

static uint16_t pair(unsigned high, unsigned low)
{
  return (uint16_t)((high & 0xff) << 8 | (low & 0xff));
}

static void head(const struct sc_rds_content *content, unsigned type, unsigned low,
                 uint16_t group[4])
{
  group[0] = (uint16_t)content->pi;
  group[1] = (uint16_t)(type << 12 | (content->tp ? 1u << 10 : 0) |
                        ((unsigned)content->pty & 31) << 5 | (low & 31));
}

static unsigned af_code(double mhz)
{
  return (unsigned)lround((mhz - 87.5) * 10);
}

/* Method A: a count, then the list; two codes a group. */
static uint16_t af_pair(const struct sc_rds_content *content, size_t *next)
{
  if (content->af_count == 0)
    return pair(AF_NONE, AF_FILLER);
  const size_t at = *next;
  *next = at + 2 > content->af_count ? 0 : at + 2;
  const unsigned first =
      at == 0 ? AF_NONE + (unsigned)content->af_count : af_code(content->af_mhz[at - 1]);
  const unsigned second =
      at < content->af_count ? af_code(content->af_mhz[at]) : (unsigned)AF_FILLER;
  return pair(first, second);
}

void signal_rds_basic(const struct sc_rds_content *content, const uint8_t ps[8], unsigned segment,
                      size_t *af_next, uint16_t group[4])
{
  const unsigned stereo = content->stereo && segment == 3;
  head(content, 0, (content->ta ? 16u : 0) | (content->music ? 8u : 0) | stereo << 2 | segment,
       group);
  group[2] = af_pair(content, af_next);
  group[3] = pair(ps[2 * segment], ps[2 * segment + 1]);
}

static void radio_text(const struct signal_rds_coder *coder, unsigned segment, uint16_t group[4])
{
  const uint8_t *text = coder->text + 4 * segment;
  head(coder->content, 2, segment, group);
  group[2] = pair(text[0], text[1]);
  group[3] = pair(text[2], text[3]);
}

static void type_name(const struct signal_rds_coder *coder, unsigned segment, uint16_t group[4])
{
  const uint8_t *text = coder->ptyn + 4 * segment;
  head(coder->content, 10, segment, group);
  group[2] = pair(text[0], text[1]);
  group[3] = pair(text[2], text[3]);
}

static void country(const struct sc_rds_content *content, uint16_t group[4])
{
  head(content, 1, 0, group);
  group[2] = (uint16_t)(content->ecc & 0xff);
  group[3] = 0;
}

/* Whole days since 1858-11-17 (the modified Julian date), hour and minute of UTC. */
void signal_rds_clock(const struct sc_rds_content *content, int64_t utc_s, uint16_t group[4])
{
  const int64_t days = (utc_s - (utc_s % 86400 + 86400) % 86400) / 86400;
  const int64_t seconds = utc_s - days * 86400;
  const unsigned date = (unsigned)(days + 40587);
  const unsigned hour = (unsigned)(seconds / 3600), minute = (unsigned)(seconds / 60 % 60);
  const int half_hours = content->clock_half_hours;
  const unsigned local = half_hours < 0 ? 32u | (unsigned)-half_hours : (unsigned)half_hours;
  head(content, 4, date >> 15 & 3, group);
  group[2] = (uint16_t)((date & 0x7fff) << 1 | hour >> 4);
  group[3] = (uint16_t)((hour & 15) << 12 | minute << 6 | local);
}

/* ---- order */

static bool padded_text(const char *utf8, uint8_t *codes, size_t room)
{
  size_t count;
  memset(codes, ' ', room);
  return signal_rds_text(utf8, codes, room, &count);
}

bool signal_rds_coder_init(struct signal_rds_coder *coder, const struct sc_rds_content *content)
{
  size_t count;
  memset(coder, 0, sizeof *coder);
  coder->content = content;
  memset(coder->text, ' ', sizeof coder->text);
  if (!padded_text(content->ps, coder->ps, 8) || !padded_text(content->ptyn, coder->ptyn, 8) ||
      !signal_rds_text(content->text, coder->text, 64, &count))
    return false;
  if (count > 0 && count < 64)
    coder->text[count++] = END_OF_TEXT;
  coder->text_groups = (count + 3) / 4;
  return true;
}

static bool minute_ends_here(double start_s, double end_s, const struct sc_rds_content *content,
                             int64_t *utc_s)
{
  const double half = (end_s - start_s) / 2;
  const double edge = 60 * floor(((double)content->clock_s + end_s + half) / 60);
  *utc_s = (int64_t)edge;
  return content->clock && edge > (double)content->clock_s + end_s - half;
}

/* A round: PS and RadioText in turn until both were sent, then what is sent now and then. */
static size_t round_length(const struct signal_rds_coder *coder)
{
  const size_t pairs = coder->text_groups > 4 ? coder->text_groups : 4;
  return coder->text_groups > 0 ? 2 * pairs : pairs;
}

static void sometimes(struct signal_rds_coder *coder, size_t step, uint16_t group[4])
{
  const struct sc_rds_content *content = coder->content;
  const size_t names = content->ptyn[0] != 0 ? 2 : 0;
  if (step < names)
    type_name(coder, (unsigned)step, group);
  else if (step == names && content->ecc != 0)
    country(content, group);
  else
    memcpy(group, content->groups[step - names - (content->ecc != 0)], 4 * sizeof *group);
}

static void in_turn(struct signal_rds_coder *coder, uint16_t group[4])
{
  if (coder->text_groups > 0 && coder->step % 2 == 1) {
    radio_text(coder, (unsigned)coder->text_next, group);
    coder->text_next = (coder->text_next + 1) % coder->text_groups;
    return;
  }
  signal_rds_basic(coder->content, coder->ps, (unsigned)coder->ps_next, &coder->af_next, group);
  coder->ps_next = (coder->ps_next + 1) % 4;
}

void signal_rds_coder_next(struct signal_rds_coder *coder, double start_s, double end_s,
                           uint16_t group[4])
{
  const struct sc_rds_content *content = coder->content;
  const size_t extras =
      (content->ptyn[0] != 0 ? 2u : 0u) + (content->ecc != 0) + content->group_count;
  const size_t turns = content->groups_only ? 0 : round_length(coder);
  int64_t utc_s;
  if (minute_ends_here(start_s, end_s, content, &utc_s)) {
    signal_rds_clock(content, utc_s, group);
    return;
  }
  if (content->groups_only)
    memcpy(group, content->groups[coder->step], 4 * sizeof *group);
  else if (coder->step < turns)
    in_turn(coder, group);
  else
    sometimes(coder, coder->step - turns, group);
  coder->step = (coder->step + 1) % (content->groups_only ? content->group_count : turns + extras);
}
