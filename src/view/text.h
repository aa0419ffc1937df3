/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Text on a screen of cells: characters, their widths, lines that fit. */
#ifndef SIDECOMB_VIEW_TEXT_H
#define SIDECOMB_VIEW_TEXT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { VIEW_CHARACTER_BYTES = 5 };

/* Decodes the character at `text`, which is not at its end. Returns its bytes (at least 1);
 * *code is U+FFFD for what is no UTF-8 and for control characters. */
size_t view_text_decode(const char *text, uint32_t *code);
/* Writes a character as UTF-8 with its final zero; returns its bytes. */
size_t view_text_encode(uint32_t code, char out[VIEW_CHARACTER_BYTES]);
/* Columns of one character: 0 (combining), 1 or 2. */
int view_text_character_width(uint32_t code);
/* What a screen without UTF-8 shows for a character beyond ASCII: a short text. */
const char *view_text_ascii(uint32_t code);
/* Columns that `text` takes, in ASCII replacement or not. */
int view_text_width(const char *text, bool ascii);

/* The first text where it fits, else the shorter one. */
const char *view_text_fitting(const char *text, const char *brief, int columns, bool ascii);

/* The next line of `text` that fits `columns`, cut at a space where there is one. Returns its
 * bytes and sets *next to where the following line starts; 0 at the end of the text. */
size_t view_text_line(const char *text, int columns, bool ascii, const char **next);
/* How many such lines it takes. */
int view_text_lines(const char *text, int columns, bool ascii);

#endif
