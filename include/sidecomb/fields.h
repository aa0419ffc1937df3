/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a result holds, as tables: the report's JSON, its text and the viewer's pages walk
 * them and know no measurement by name.
 *
 * A section is an object of the report. A field is one member: its key carries the unit,
 * its offset says where the value stands in the struct that the section describes (struct
 * sc_result, or struct sc_line for a row of a line table). Adding a measurement is its
 * struct in sc_result, its rows in src/report/fields.c, its test.
 */
#ifndef SIDECOMB_FIELDS_H
#define SIDECOMB_FIELDS_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/api.h>
#include <sidecomb/quantity.h>

struct sc_result;

enum sc_unit {
  SC_UNIT_NONE,
  SC_UNIT_HZ,
  SC_UNIT_HZ_S,
  SC_UNIT_KHZ,
  SC_UNIT_MHZ,
  SC_UNIT_DB,
  SC_UNIT_DBC,
  SC_UNIT_DBFS,
  SC_UNIT_DBM,
  SC_UNIT_DBFS_HZ, /* power density */
  SC_UNIT_DBR,     /* relative to a sine of 19 kHz deviation (composite power) */
  SC_UNIT_DB75,    /* relative to 75 kHz peak deviation */
  SC_UNIT_DB_PILOT,
  SC_UNIT_SECOND,
  SC_UNIT_MICROSECOND,
  SC_UNIT_DEGREE,
  SC_UNIT_PERCENT,
  SC_UNIT_PPM,
  SC_UNIT_BPS,
  SC_UNIT_COUNT
};

struct sc_unit_names {
  const char *suffix;             /* ends a key: "dbc"; "" for SC_UNIT_NONE */
  const char *symbol;             /* after a number: "dBc" */
  const char *uncertainty_suffix; /* ends the key of the uncertainty: "db" */
};
/* Never NULL. */
SC_API const struct sc_unit_names *sc_unit_names(enum sc_unit unit);

enum sc_field_type {
  SC_FIELD_ESTIMATE, /* struct sc_quantity with an uncertainty */
  SC_FIELD_EXACT,    /* struct sc_quantity without one */
  SC_FIELD_NUMBER,   /* double; NAN: absent */
  SC_FIELD_POSITIVE, /* double; 0 or NAN: absent */
  SC_FIELD_COUNT,    /* uint64_t */
  SC_FIELD_FLAG,     /* bool */
  SC_FIELD_TRUTH,    /* enum sc_truth */
  SC_FIELD_CHOICE,   /* an enum, named by `choice`; a NULL name: absent */
  SC_FIELD_TEXT,     /* const char *; NULL or empty: absent */
  SC_FIELD_CHARS,    /* char[]; empty: absent */
  SC_FIELD_ABSENT    /* a list with rows of its own; null in the JSON where there is none */
};

struct sc_field {
  const char *key;   /* JSON key, ends in the unit's suffix */
  const char *label; /* a few words for people; NULL: only in the JSON */
  enum sc_unit unit;
  int decimals; /* at most so many are shown */
  enum sc_field_type type;
  size_t offset;
  const char *absent; /* why the value may be absent, where the value cannot say so */
  const char *(*choice)(int value);
  bool by_clock; /* a frequency, or how far one is off: as uncertain as the sample clock */
  /* Keys, in the same section, of what holds where this is too good, or too weak, to be seen: it is
   * no less, or no more. NULL: there is none. */
  const char *at_least, *at_most;
  /* Key, in the same section, of what this is no less than over the whole time that it is defined
   * over, where less was seen. NULL: it is of what was seen. */
  const char *over_all;
  /* Offset of the struct sc_quantity without which there is nothing to tell of: where it is absent
   * its reason stands in place of `absent`. 0: there is none. */
  size_t needs;
  bool rare; /* of something that few transmitters do: where it is absent nothing is said of it */
};

struct sc_section {
  const char *key; /* a dot nests: "audio.left" */
  const char *title;
  const struct sc_field *fields;
  size_t count;
};

/* Sections of struct sc_result in the order of the report; *count is set. */
SC_API const struct sc_section *sc_sections(size_t *count);
/* A field by the keys of section and field: "audio.left.snr_db", the last dot parts them. */
SC_API bool sc_field_find(const char *path, const struct sc_section **section,
                          const struct sc_field **field);
/* Whether the section is worth showing: a recording of audio has neither carrier nor composite,
 * and decoded audio is judged by the test audio or by a tone that dominates it. */
SC_API bool sc_section_concerns(const struct sc_section *section, const struct sc_result *result);
/* Rows of struct sc_line: on air, and on the composite (or the audio). */
SC_API const struct sc_section *sc_air_line_section(void);
SC_API const struct sc_section *sc_composite_line_section(void);
/* Rows of struct sc_injection. */
SC_API const struct sc_section *sc_injection_section(void);
/* Rows of struct sc_seen_span. */
SC_API const struct sc_section *sc_seen_section(void);
/* Rows of struct sc_unwanted_band. */
SC_API const struct sc_section *sc_unwanted_band_section(void);
/* Rows of struct sc_mask_result. */
SC_API const struct sc_section *sc_mask_section(void);
/* Rows of struct sc_audio_point. */
SC_API const struct sc_section *sc_audio_tone_section(void);

/* The value of one field, whatever its type. */
struct sc_value {
  const struct sc_field *field;
  struct sc_quantity number; /* types with a number; why set where it is absent */
  bool has_uncertainty;
  const char *text; /* types with a word, NULL when absent */
  enum sc_truth truth;
  const char *why; /* not NULL: absent, and why */
};
/* `base`: the struct that the section describes. Not for SC_FIELD_ABSENT rows' offset, whose
 * value is always absent. */
SC_API struct sc_value sc_field_value(const struct sc_field *field, const void *base);

/* A value that is there, with its unit, or its word, free of control characters. */
SC_API void sc_format_value(const struct sc_value *value, char *text, size_t size);

/* Key of the uncertainty that stands beside `field` ("offset_hz": "offset_uncertainty_hz"). */
SC_API void sc_field_uncertainty_key(const struct sc_field *field, char *key, size_t size);

/* Decimals that a number with this uncertainty deserves: two digits of the uncertainty, at
 * most `most`; `most` where the uncertainty is NAN, 0 or infinite. */
SC_API int sc_decimals(double uncertainty, int most);
/* "19000.012 ± 0.004" in UTF-8 without unit, "19000.0" where there is no uncertainty. */
SC_API void sc_format_quantity(struct sc_quantity quantity, int most_decimals, char *text,
                               size_t size);

#endif
