/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* UTF-8 to the basic character set of RDS (common/rds_characters.h). */
#ifndef SIDECOMB_SIGNAL_RDS_TEXT_H
#define SIDECOMB_SIGNAL_RDS_TEXT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* At most `room` characters; *count is how many there are. False: a character that the set lacks,
 * text that is not UTF-8, or too much of it. */
bool signal_rds_text(const char *utf8, uint8_t *codes, size_t room, size_t *count);

#endif
