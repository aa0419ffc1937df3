/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Values as JSON: clean text, numbers with the digits that they deserve, null with its reason.
 * A failed allocation is remembered and asked for once, at the end. */
#ifndef SIDECOMB_REPORT_JSON_WRITE_H
#define SIDECOMB_REPORT_JSON_WRITE_H

#include <stdbool.h>

#include <jansson.h>

#include <sidecomb/fields.h>

enum { REPORT_KEY_MAX = 96 };

/* Zero-initialise. */
struct report_json {
  bool failed; /* out of memory somewhere */
};

/* Both take over `value`, which may be NULL: then memory is out. */
void report_json_put(struct report_json *json, json_t *object, const char *key, json_t *value);
void report_json_append(struct report_json *json, json_t *array, json_t *value);

json_t *report_json_text(const char *text);
json_t *report_json_number(double value, int decimals);
json_t *report_json_uncertainty(double uncertainty);
/* A value that is there. */
json_t *report_json_value(const struct sc_value *value);

/* `key` is null, and `why` says the reason; NULL: a general one. */
void report_json_null(struct report_json *json, json_t *object, json_t *why, const char *key,
                      const char *reason);
/* The field of the struct at `base`, with its uncertainty beside it. */
void report_json_field(struct report_json *json, json_t *object, json_t *why,
                       const struct sc_field *field, const void *base);
/* The whole object as text and its end; NULL: memory failed. */
char *report_json_finish(struct report_json *json, json_t *root);
/* The same on one line. */
char *report_json_line(struct report_json *json, json_t *root);

#endif
