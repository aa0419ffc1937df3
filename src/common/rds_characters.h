/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The basic character set of RDS (EN 50067:1998 table E.1, IEC 62106-4): rows 2 to C and D0 to DA
 * as the article on the EBU Latin set gives them, the rest from memory. Doubtful between printings
 * of the standard: 0x60, 0x7e, 0x9d, 0xa4, 0xce.
 */
#ifndef SIDECOMB_COMMON_RDS_CHARACTERS_H
#define SIDECOMB_COMMON_RDS_CHARACTERS_H

#include <stddef.h>
#include <stdint.h>

enum { COMMON_RDS_FIRST = 0x20, COMMON_RDS_UTF8_MAX = 3 };

/* Unicode of the codes 0x20 to 0xff, 0 where there is none. */
extern const uint16_t common_rds_unicode[224];

/* One code as UTF-8, ended by a zero; '?' for codes without a character, control codes among
 * them. Returns the bytes before the zero. */
size_t common_rds_utf8(uint8_t code, char utf8[COMMON_RDS_UTF8_MAX + 1]);

#endif
