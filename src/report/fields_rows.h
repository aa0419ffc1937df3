/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* How the tables of fields are written: a row is one macro, named after what kind of value it is. A
 * table defines OF, the struct that its rows are members of, and NEEDS, the offset of the quantity
 * without which its rows say nothing (0: none), before its first row.
 */
#ifndef SIDECOMB_REPORT_FIELDS_ROWS_H
#define SIDECOMB_REPORT_FIELDS_ROWS_H

#include <stddef.h>

#include <sidecomb/fields.h>

/* One row of a table. WHY: the reason of an absence that the value itself cannot give. */
#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define ROW(type, key, label, unit, decimals, member, why, choice)                                 \
  {                                                                                                \
    key, label, SC_UNIT_##unit, decimals, SC_FIELD_##type, offsetof(OF, member), why, choice,      \
        false, NULL, NULL, NULL, NEEDS, false                                                      \
  }
#define ESTIMATE(key, label, unit, decimals, member)                                               \
  ROW(ESTIMATE, key, label, unit, decimals, member, NULL, NULL)
/* One that goes by the sample clock. */
#define CLOCKED(key, label, unit, decimals, member)                                                \
  {                                                                                                \
    key, label, SC_UNIT_##unit, decimals, SC_FIELD_ESTIMATE, offsetof(OF, member), NULL, NULL,     \
        true, NULL, NULL, NULL, NEEDS, false                                                       \
  }
/* One with a bound that may hold where it is not seen. */
#define BOUNDED(key, label, unit, decimals, member, at_least, at_most)                             \
  {                                                                                                \
    key, label, SC_UNIT_##unit, decimals, SC_FIELD_ESTIMATE, offsetof(OF, member), NULL, NULL,     \
        false, at_least, at_most, NULL, NEEDS, false                                               \
  }
/* One that is defined over a time, of which less may have been seen. */
#define TIMED(key, label, unit, decimals, member, over_all)                                        \
  {                                                                                                \
    key, label, SC_UNIT_##unit, decimals, SC_FIELD_ESTIMATE, offsetof(OF, member), NULL, NULL,     \
        false, NULL, NULL, over_all, NEEDS, false                                                  \
  }
/* Nothing is said of one that is absent. */
#define RARE(key, label, unit, decimals, member)                                                   \
  {                                                                                                \
    key, label, SC_UNIT_##unit, decimals, SC_FIELD_ESTIMATE, offsetof(OF, member), NULL, NULL,     \
        false, NULL, NULL, NULL, NEEDS, true                                                       \
  }
#define EXACT(key, label, unit, decimals, member)                                                  \
  ROW(EXACT, key, label, unit, decimals, member, NULL, NULL)
#define NUMBER(key, label, unit, decimals, member, why)                                            \
  ROW(NUMBER, key, label, unit, decimals, member, why, NULL)
#define POSITIVE(key, label, unit, decimals, member, why)                                          \
  ROW(POSITIVE, key, label, unit, decimals, member, why, NULL)
#define NATURAL(key, label, member) ROW(COUNT, key, label, NONE, 0, member, NULL, NULL)
#define FLAG(key, label, member) ROW(FLAG, key, label, NONE, 0, member, NULL, NULL)
#define TRUTH(key, label, member, why) ROW(TRUTH, key, label, NONE, 0, member, why, NULL)
#define CHOICE(key, label, member, choice) ROW(CHOICE, key, label, NONE, 0, member, NULL, choice)
#define TEXT(key, label, member, why) ROW(TEXT, key, label, NONE, 0, member, why, NULL)
#define CHARS(key, label, member, why) ROW(CHARS, key, label, NONE, 0, member, why, NULL)
/* A key whose list is put in its place where there is one. */
#define LISTED(key)                                                                                \
  {                                                                                                \
    key, NULL, SC_UNIT_NONE, 0, SC_FIELD_ABSENT, 0, "there is no list", NULL, false, NULL, NULL,   \
        NULL, 0, false                                                                             \
  }
/* One section: its table with a key and a title. */
#define SECTION(key, title, fields)                                                                \
  {                                                                                                \
    key, title, fields, COUNT(fields)                                                              \
  }

#endif
