/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers as people type them: 19k, 2.4M, 97.6MHz, 0.5±0.1. */
#ifndef SIDECOMB_CLI_NUMBER_H
#define SIDECOMB_CLI_NUMBER_H

#include <stdbool.h>
#include <stddef.h>

/* The whole of `text` (`length` bytes of it) must be a finite decimal number, followed by
 * nothing or by `unit`; where the unit is "Hz" by k, M or G too. No hexadecimal, no nan. */
bool cli_number(const char *text, size_t length, const char *unit, double *value);

/* VALUE±U, VALUE+-U or VALUE,U. */
bool cli_number_pair(const char *text, double *value, double *uncertainty);

#endif
