/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Cells of RDS data, and the texts that are made of them. */
#include "measure/rds_cells.h"

#include "common/rds_characters.h"
#include "common/text.h"

#include <string.h>

enum { ENOUGH = 3, WEIGHT_CLEAN = 2, WEIGHT_MAX = 254, END_OF_TEXT = 0x0d };

/* A corrected block may be one that was corrected to something else than what was sent. */
static bool is_doubtful(const struct measure_rds_cell *cell, uint64_t value, unsigned weight)
{
  return weight < WEIGHT_CLEAN && cell->sure && cell->candidate == cell->value &&
         cell->candidate != value && cell->weight > ENOUGH;
}

void measure_rds_cell_take(struct measure_rds_cell *cell, uint64_t value, unsigned weight)
{
  if (is_doubtful(cell, value, weight)) {
    cell->weight /= 2;
    return;
  }
  if (cell->weight == 0 || cell->candidate != value) {
    cell->candidate = value;
    cell->weight = 0;
  }
  cell->weight = (uint8_t)(cell->weight + weight < WEIGHT_MAX ? cell->weight + weight : WEIGHT_MAX);
  if (cell->weight >= ENOUGH) {
    cell->value = value;
    cell->sure = true;
  }
}

uint8_t measure_rds_cell_times(const struct measure_rds_cell *cell)
{
  return (uint8_t)((cell->weight + WEIGHT_CLEAN - 1) / WEIGHT_CLEAN);
}

size_t measure_rds_text_codes(const struct measure_rds_text *text, size_t length, uint8_t *codes,
                              bool *all)
{
  *all = true;
  for (size_t i = 0; i < length; i++) {
    const struct measure_rds_cell *cell = &text->pair[i / 2];
    *all &= cell->sure && cell->candidate == cell->value;
    codes[i] = (uint8_t)(i % 2 == 0 ? cell->value >> 8 : cell->value);
    if (codes[i] == END_OF_TEXT)
      return i;
  }
  return length;
}

void measure_rds_text_utf8(const uint8_t *codes, size_t count, char *utf8, size_t size)
{
  size_t used = 0;
  while (count > 0 && codes[count - 1] == ' ')
    count--;
  utf8[0] = '\0';
  for (size_t i = 0; i < count; i++) {
    char one[COMMON_RDS_UTF8_MAX + 1];
    const size_t bytes = common_rds_utf8(codes[i], one);
    if (used + bytes >= size)
      break;
    memcpy(utf8 + used, one, bytes + 1);
    used += bytes;
  }
  common_clean_string(utf8);
}

void measure_rds_text_characters(const struct measure_rds_text *text, size_t length,
                                 struct sc_rds_character *characters)
{
  bool ended = false;
  memset(characters, 0, length * sizeof *characters);
  for (size_t i = 0; i < length && !ended; i++) {
    const struct measure_rds_cell *cell = &text->pair[i / 2];
    const uint8_t code = (uint8_t)(i % 2 == 0 ? cell->candidate >> 8 : cell->candidate);
    ended = cell->weight > 0 && code == END_OF_TEXT;
    if (cell->weight == 0 || ended)
      continue;
    (void)common_rds_utf8(code, characters[i].utf8);
    characters[i].times = measure_rds_cell_times(cell);
  }
}
