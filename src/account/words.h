/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Names of lines and of products of them. */
#ifndef SIDECOMB_ACCOUNT_WORDS_H
#define SIDECOMB_ACCOUNT_WORDS_H

#include <stddef.h>

#include <sidecomb/api.h>

#include "account/scene.h"

enum { ACCOUNT_NAME_LENGTH = 48, ACCOUNT_TERMS_LENGTH = 80 };

/* "1000 Hz", "61.3 kHz", to 0.1 Hz. */
void account_frequency_words(double frequency_hz, char name[ACCOUNT_NAME_LENGTH]);
/* The same of a line's place without its sign, in no more digits than are known of it. */
void account_place_words(const struct sc_quantity *offset_hz, char name[ACCOUNT_NAME_LENGTH]);
/* A component that is called by a name and not by its frequency. */
bool account_has_name(const struct sc_line *line);
/* "pilot", or its frequency: a component of a product. */
void account_component_words(const struct sc_line *line, char name[ACCOUNT_NAME_LENGTH]);
/* "2 x pilot - 1000 Hz", the highest component first and the sum above zero; "carrier" for none.
 * The orders, as named, go to `orders`. */
void account_way_words(const struct account_scene *scene, const struct account_way *way,
                       char words[ACCOUNT_TERMS_LENGTH], int orders[SC_LINE_ORDERS_MAX],
                       size_t *order_count);
SC_PRINTF(2, 3) void account_label(struct sc_line *line, const char *format, ...);
SC_PRINTF(3, 4)
void account_verdict(struct sc_line *line, enum sc_verdict verdict, const char *format, ...);

#endif
