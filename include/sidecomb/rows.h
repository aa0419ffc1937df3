/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The report for people, row by row: its text prints these rows and the viewer's page shows them,
 * so that no value stands in one of them alone. */
#ifndef SIDECOMB_ROWS_H
#define SIDECOMB_ROWS_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/api.h>
#include <sidecomb/error.h>
#include <sidecomb/fields.h>
#include <sidecomb/report.h>
#include <sidecomb/result.h>

enum sc_row_kind {
  SC_ROW_SENTENCE, /* of the whole, or of a section that has nothing else */
  SC_ROW_TITLE,    /* of the section that follows */
  SC_ROW_VALUE,    /* behind its label */
  SC_ROW_ABSENT,   /* what has no value in this section, and why */
  SC_ROW_REMARK,   /* a sentence about the section */
  SC_ROW_NOTICE,   /* a sentence of a list */
  SC_ROW_LIMIT,    /* the label says whether it is kept */
  SC_ROW_LINE,     /* of a table that was made for the width: not to be wrapped */
  SC_ROW_TABLE     /* where the text has a table of lines; the label is its title, the text says
                      how they were searched for */
};

struct sc_row {
  enum sc_row_kind kind;
  bool leads;        /* read before the values: answers, notices, limits */
  const char *label; /* "": none; a leading blank: it tells more of the row above */
  char *text;        /* UTF-8, free of control characters */
  /* Of a value in struct sc_result: where else it can be read from; else NULL. */
  const struct sc_field *field;
  /* Of a table; the pairs of lines on air are one of their own, without label and text. */
  const struct sc_line_list *lines;
  bool pairs;
};

struct sc_rows {
  struct sc_row *at;
  size_t count;
};

/* Rows of `result` in the order of the report. `beside`: of a second capture: what only that has
 * measured has a row as well, "not measured"; NULL: none. settings->width: of the tables. *rows is
 * to be freed with sc_rows_free, and points into `result` until then; empty after SC_NO_MEMORY. */
SC_API SC_MUST_USE enum sc_error sc_rows_make(const struct sc_result *result,
                                              const struct sc_result *beside,
                                              const struct sc_report_settings *settings,
                                              struct sc_rows *rows);
SC_API void sc_rows_free(struct sc_rows *rows);

/* How many sentences say what limits the measurement, or what is to be known of the capture, and
 * how many limits and masks are not kept. limits: NULL: those that the standards set. */
struct sc_cautions {
  size_t notices, broken;
};
SC_API struct sc_cautions sc_cautions_count(const struct sc_result *result,
                                            const struct sc_limits *limits);

#endif
