/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the judges of composite lines share. Each `account_as_...` returns true when it gave the
 * line a verdict. */
#ifndef SIDECOMB_ACCOUNT_ROLES_H
#define SIDECOMB_ACCOUNT_ROLES_H

#include <stdbool.h>
#include <stddef.h>

#include "account/scene.h"

enum { ACCOUNT_STRONG_MAX = 8 };

struct account_composite {
  const struct account_scene *scene;
  struct sc_line_list *list;
  bool pilot;
  /* Of tones that the receiver may make, tuned onto the carrier, and that reception may make, as
   * the envelope moves; 0: of none. */
  double centred_index, received_index;
  bool changes; /* the programme does: its lines are averages */
  double pilot_hz, pilot_uncertainty_hz;
  ptrdiff_t pilot_line;                            /* -1: none */
  double unlocked_hz;                              /* a difference without a pilot is about this;
                                                      0: there is none */
  size_t strong[ACCOUNT_STRONG_MAX], strong_count; /* by falling amplitude */
  double grid_hz;                                  /* that all strong tones of the programme are
                                                      multiples of, and what a product of them is
                                                      too; 0: there is none */
  double mains_hz, mains_uncertainty_hz;           /* that several lines are multiples of;
                                                      0: none */
  double mains_most_db;                            /* stronger lines are of the programme */
  bool mains_round;                                /* so exactly as no mains are, by a clock here */
  bool mains_tones;                                /* strong ones as exact: no hum */
  bool mains_sure;                                 /* none of them is a tone of a programme */
  double repeats_hz;                               /* their cycle's frequency; 0: not known */
  double repeats_first;                            /* of their lines, in steps of that */
  bool repeats;                                    /* the data do: they have lines */
};

static inline double account_level_db(const struct sc_line *line)
{
  return line->tone.level_db.value;
}
/* Within what may be an exact coincidence. */
bool account_is_at(const struct account_composite *composite, const struct sc_line *line, double hz,
                   double uncertainty_hz);
/* Another line there that is no artefact, or NULL. */
const struct sc_line *account_line_at(const struct account_composite *composite,
                                      const struct sc_line *line, double hz, double uncertainty_hz);

/* products.c: of the pilot and a tone 19 kHz beside, and of two strong tones. */
bool account_as_pilot_product(const struct account_composite *composite, struct sc_line *line);
bool account_as_product(const struct account_composite *composite, struct sc_line *line);

/* service.c: of an FM subcarrier that was found (result->injections). */
bool account_as_service(const struct account_composite *composite, struct sc_line *line);

/* unlocked.c: of a stereo difference without a pilot at 19 kHz. */
void account_find_unlocked(struct account_composite *composite);
bool account_as_unlocked(const struct account_composite *composite, struct sc_line *line);

/* data_band.c: about 57 kHz. */
void account_find_repeats(struct account_composite *composite);
bool account_as_data(const struct account_composite *composite, struct sc_line *line);

/* mains.c: hum. */
void account_find_mains(struct account_composite *composite);
/* Of the mains' series, and not a side line of another. */
bool account_is_hum(const struct account_composite *composite, const struct sc_line *line);
bool account_as_mains(const struct account_composite *composite, struct sc_line *line);
bool account_as_beside_mains(const struct account_composite *composite, struct sc_line *line);

/* foreign.c: what folds at the capture's rate, and clocks. */
bool account_as_folded(const struct account_composite *composite, struct sc_line *line);
bool account_as_clock(const struct account_composite *composite, struct sc_line *line);

/* The multiple of 50 or 60 Hz that a frequency is within the mains' tolerance, as "2 x 50 Hz";
 * false: none. */
bool account_mains_words(double frequency_hz, char *words, size_t size);
/* An eighth of the capture's rate, or a multiple: numerator and denominator; false: none. */
bool account_is_rate_share(const struct sc_line_list *list, const struct sc_quantity *frequency_hz,
                           double rate_hz, int *numerator, int *denominator);

#endif
