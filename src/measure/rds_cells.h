/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Values that are believed once they were received often enough in a row.
 *
 * A clean block counts 2, a corrected one 1; 3 are enough: two receptions, one of them clean. What
 * was received often is put in question by a clean block at once, by a corrected one only by half.
 */
#ifndef SIDECOMB_MEASURE_RDS_CELLS_H
#define SIDECOMB_MEASURE_RDS_CELLS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/rds.h>

struct measure_rds_cell {
  uint64_t value, candidate;
  uint8_t weight; /* of the candidate */
  bool sure;
};
void measure_rds_cell_take(struct measure_rds_cell *cell, uint64_t value, unsigned weight);
/* How often the candidate was received in a row, 255 at most. */
uint8_t measure_rds_cell_times(const struct measure_rds_cell *cell);

/* Text in pairs of characters. */
enum { MEASURE_RDS_PAIRS = 32 };
struct measure_rds_text {
  struct measure_rds_cell pair[MEASURE_RDS_PAIRS];
};
/* Characters, ended by one that ends text (0x0d) or by `length`; *all: each was confirmed. */
size_t measure_rds_text_codes(const struct measure_rds_text *text, size_t length, uint8_t *codes,
                              bool *all);
/* To UTF-8 without blanks at the end; harmless for a terminal. */
void measure_rds_text_utf8(const uint8_t *codes, size_t count, char *utf8, size_t size);
/* Each character and how often it came, confirmed or not. */
void measure_rds_text_characters(const struct measure_rds_text *text, size_t length,
                                 struct sc_rds_character *characters);

#endif
