/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines near the capture's edge, which the filter before it weakens. Receivers do not say where
 * theirs falls; the lines do: each loses at least as much as its neighbour nearer to the middle,
 * and no more than the next one farther out. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <string.h>

#include "account/account.h"
#include "account/scene.h"
#include "account/words.h"

/* Neighbours may differ so much the wrong way: filters ripple, and lines have uncertainties. */
static const double ripple_db = 0.5, sigmas = 3;
static const double room_share = 0.4; /* of the way to the edge (our choice) */

/* What is missing of a predicted line; false: it is not one. */
static bool loss_of(const struct sc_line *line, double *loss_db)
{
  *loss_db = -line->rest_db.value;
  return line->rest_db.why == NULL;
}

/* The next predicted line from `i` on in steps of `way`, in the same part of the band; NULL: none.
 */
static const struct sc_line *next_predicted(const struct sc_line_list *list, size_t i, int way,
                                            double from_hz)
{
  const double side = list->lines[i].tone.frequency_hz.value < 0 ? -1 : 1;
  double loss_db;
  for (ptrdiff_t k = (ptrdiff_t)i + way; k >= 0 && k < (ptrdiff_t)list->count; k += way) {
    const struct sc_line *line = &list->lines[k];
    if (side * line->tone.frequency_hz.value < from_hz)
      return NULL;
    if (loss_of(line, &loss_db))
      return line;
  }
  return NULL;
}

static double doubt_db(const struct sc_line *a, const struct sc_line *b)
{
  return ripple_db + sigmas * hypot(a->rest_db.uncertainty, b->rest_db.uncertainty);
}

/* The outermost line has only one neighbour: that one has to have lost something. */
static bool is_on_slope(const struct sc_line *line, const struct sc_line *inner,
                        const struct sc_line *outer)
{
  double loss_db, inner_db, outer_db;
  if (inner == NULL || !loss_of(line, &loss_db) || !(loss_db > 0))
    return false;
  (void)loss_of(inner, &inner_db);
  if (inner_db > loss_db + doubt_db(line, inner))
    return false;
  if (outer == NULL)
    return inner_db > sigmas * inner->rest_db.uncertainty && inner_db > 0.1 * loss_db;
  (void)loss_of(outer, &outer_db);
  return outer_db > loss_db - doubt_db(line, outer);
}

/* What the line is, without what is left of it. */
static void take_what(const struct sc_line *line, char what[SC_LINE_CAUSE_LENGTH])
{
  memcpy(what, line->cause, SC_LINE_CAUSE_LENGTH);
  char *left = strrchr(what, ';');
  if (left != NULL)
    *left = '\0';
}

static void say_weakened(struct sc_line *line, double edge_hz)
{
  char what[SC_LINE_CAUSE_LENGTH], name[ACCOUNT_NAME_LENGTH];
  take_what(line, what);
  account_frequency_words(edge_hz, name);
  account_verdict(line, SC_VERDICT_ARTEFACT,
                  "%.120s; weakened by %.1f dB by the filter of the capture, towards whose edge at "
                  "%s lines lose more and more",
                  what, -line->rest_db.value, name);
}

/* Of a line that nothing predicts nothing tells how much it lost. */
static void say_perhaps_weakened(struct sc_line *line, double edge_hz)
{
  char what[SC_LINE_CAUSE_LENGTH], name[ACCOUNT_NAME_LENGTH];
  memcpy(what, line->cause, sizeof what);
  account_frequency_words(edge_hz, name);
  account_verdict(line, SC_VERDICT_SPURIOUS,
                  "%.130s; perhaps stronger, as a capture's filter weakens what is near its edge, "
                  "here at %s",
                  what, name);
}

/* Weaker than it should be, with none farther out that tells whether more is lost there, and none
 * nearer to it than a good part of the way to the edge, over which a filter may begin to fall. */
static bool may_be_weakened(const struct sc_line *line, const struct sc_line *inner,
                            const struct sc_line *outer, double end_hz)
{
  double loss_db;
  const double at_hz = line->tone.frequency_hz.value;
  const double room_hz = end_hz - fabs(at_hz);
  const bool tells =
      inner != NULL && fabs(inner->tone.frequency_hz.value - at_hz) < room_share * room_hz;
  return outer == NULL && !tells && loss_of(line, &loss_db) &&
         loss_db > ripple_db + sigmas * line->rest_db.uncertainty;
}

static void say_may_be_weakened(struct sc_line *line, double edge_hz)
{
  char what[SC_LINE_CAUSE_LENGTH], name[ACCOUNT_NAME_LENGTH];
  take_what(line, what);
  account_frequency_words(edge_hz, name);
  account_verdict(line, SC_VERDICT_UNKNOWN,
                  "%.120s; %.1f dB less than predicted, as a capture's filter takes it near its "
                  "edge, here at %s: no line farther out tells",
                  what, -line->rest_db.value, name);
}

void account_edges(struct sc_result *result)
{
  struct sc_line_list *list = &result->air_lines;
  const double end_hz = result->capture.info.sample_rate_hz / 2, edge_hz = account_edge_hz(result);
  for (size_t i = 0; i < list->count; i++) {
    struct sc_line *line = &list->lines[i];
    const double at_hz = line->tone.frequency_hz.value;
    const int outwards = at_hz < 0 ? -1 : 1;
    if (fabs(at_hz) < edge_hz)
      continue;
    if (line->verdict == SC_VERDICT_SPURIOUS && line->rest_db.why != NULL)
      say_perhaps_weakened(line, outwards * end_hz);
    if (line->verdict != SC_VERDICT_RESIDUAL)
      continue;
    const struct sc_line *inner = next_predicted(list, i, -outwards, edge_hz);
    const struct sc_line *outer = next_predicted(list, i, outwards, edge_hz);
    if (is_on_slope(line, inner, outer))
      say_weakened(line, outwards * end_hz);
    else if (may_be_weakened(line, inner, outer, end_hz))
      say_may_be_weakened(line, outwards * end_hz);
  }
}
