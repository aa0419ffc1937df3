/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a receiver was set to, in SigMF metadata. The standard's core namespace has the tuned
 * frequency alone, so the rest stands in a namespace of our own, declared in core:extensions as
 * the standard asks and described in man/sidecomb.sigmf-ext.md. */
#ifndef SIDECOMB_CAPTURE_SIGMF_TUNING_H
#define SIDECOMB_CAPTURE_SIGMF_TUNING_H

#include <stdbool.h>
#include <stddef.h>

#include <jansson.h>

#include <sidecomb/capture.h>

/* Whether anything of it but the frequency is known. */
bool capture_tuning_known(const struct sc_tuning *tuning);
/* The same in everything but the frequency. */
bool capture_tuning_same(const struct sc_tuning *a, const struct sc_tuning *b);
/* The list for core:extensions; NULL without memory. */
json_t *capture_tuning_extensions(void);
/* Adds what is known to an entry of "captures"; 0 on success. */
int capture_tuning_put(json_t *capture, const struct sc_tuning *tuning);
/* Reads it from there, except the frequency; foreign text, so each value is checked. *unusable
 * counts those that are left out. */
void capture_tuning_get(const json_t *capture, struct sc_tuning *tuning, size_t *unusable);

#endif
