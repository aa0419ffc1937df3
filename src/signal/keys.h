/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The language of scenarios in one table: reader, check and manual walk it.
 */
#ifndef SIDECOMB_SIGNAL_KEYS_H
#define SIDECOMB_SIGNAL_KEYS_H

#include <stddef.h>

#include <sidecomb/scenario.h>

enum signal_key_type {
  SIGNAL_KEY_NUMBER,  /* double; `scale` from the file's unit to the struct's */
  SIGNAL_KEY_COUNT,   /* int */
  SIGNAL_KEY_SEED,    /* uint64_t */
  SIGNAL_KEY_FLAG,    /* bool */
  SIGNAL_KEY_TEXT,    /* char[room] */
  SIGNAL_KEY_PATH,    /* char[room], beside the scenario file */
  SIGNAL_KEY_WORD,    /* an enum by one of `words` */
  SIGNAL_KEY_TIME,    /* int64_t seconds since 1970, "YYYY-MM-DDTHH:MM:SSZ" */
  SIGNAL_KEY_NUMBERS, /* double[room] and a count */
  SIGNAL_KEY_BLOCKS,  /* uint16_t[room][4] and a count */
  SIGNAL_KEY_GROUP,   /* keys of `inside`, in the same struct */
  SIGNAL_KEY_LIST     /* structs of `size`, `room` of them, keys of `inside`, and a count */
};

struct signal_key {
  const char *name; /* NULL ends a table */
  enum signal_key_type type;
  size_t offset; /* in the struct of the table */
  const char *help;
  double low, high; /* numbers, in the file's unit */
  double scale;
  size_t room, size, count_offset;
  const char *const *words;
  const struct signal_key *inside;
  /* A rule of a text, or of a list's element as a whole: what is wrong with it, or NULL. */
  const char *(*wrong)(const void *value);
};

extern const struct signal_key signal_scenario_keys[];

/* The key of this name, or NULL. */
const struct signal_key *signal_key_find(const struct signal_key *keys, const char *name);

/* Rules of the table. */
const char *signal_wrong_part(const void *part);
const char *signal_wrong_eight(const void *text); /* characters of RDS */
const char *signal_wrong_radiotext(const void *text);

/* Every number of the scenario in its range, and what belongs together together. */
enum sc_error signal_scenario_check(const struct sc_scenario *scenario, struct sc_message *message);

#endif
