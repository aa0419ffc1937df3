/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Text from the air or from a file, made harmless for a terminal and for JSON.
 *
 * What comes out is valid UTF-8 (RFC 3629) without control characters (C0, DEL, C1), line
 * and paragraph separators, format characters (general category Cf: bidirectional overrides,
 * zero-width characters, tags) and noncharacters. Each of them becomes one '?', and so does
 * each maximal part of a broken sequence (The Unicode Standard, section 3.9), so that the
 * text never grows.
 */
#ifndef SIDECOMB_COMMON_TEXT_H
#define SIDECOMB_COMMON_TEXT_H

#include <stddef.h>

/* Cleans `length` bytes into `out`, which holds `size` > 0 bytes and may be `text` itself.
 * What does not fit is cut at a character's edge. A zero byte counts as a control character;
 * `out` is ended by one. Returns the bytes written without it. */
size_t common_clean(char *out, size_t size, const char *text, size_t length);

/* The same in place for a string, up to its end. */
void common_clean_string(char *text);

#endif
