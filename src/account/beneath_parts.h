/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the judgement of lines beneath the modulation knows while it goes on (beneath.c), and its
 * two questions about a line: whether something else makes it in what a limiter takes away
 * (beneath_made.c), and whether it is of amplitude modulation (beneath_am.c).
 */
#ifndef SIDECOMB_ACCOUNT_BENEATH_PARTS_H
#define SIDECOMB_ACCOUNT_BENEATH_PARTS_H

#include <stdbool.h>
#include <stddef.h>

#include "account/scene.h"

enum { BENEATH_PARENTS_MAX = 16, BENEATH_AM_MAX = 8 };

/* Shares are our choice, tried on some 600 made scenes: of programmes of noise, tones, combs,
 * sweeps and bursts, with carriers, AM, images, and without. */
#define BENEATH_MAKES 0.3 /* of a line's amplitude, that something else makes of it */

struct beneath_parent {
  double offset_hz, uncertainty_hz;
  double own_hz; /* uncertainty against lines of the same search */
  double amplitude;
  double passes_hz; /* either side: it stays while the carrier drifts */
};

struct beneath_am {
  double frequency_hz, amplitude; /* of one side line in the remainder, re a line of 1 */
};

struct beneath {
  struct account_scene *scene;
  struct sc_line_list *list;
  struct account_prediction tripled;
  double unseen; /* amplitude below which an image may have made a line in a way that is not told */
  double image;  /* amplitude of the receiver's, 0: not seen */
  double mean_s, rate_hz;
  bool ghosts_known;                                  /* doubled and tripled are there */
  struct beneath_parent parents[BENEATH_PARENTS_MAX]; /* one-sided lines, the strongest first */
  size_t parent_count;
  struct beneath_am ams[BENEATH_AM_MAX]; /* that the spectrum does not show */
  size_t am_count;
};

/* Frequency's uncertainty. From the lines of the modulation: where the carrier's own line is not
 * seen, nor are they, and its mean frequency is no better known than that of a programme. */
double beneath_spread(const struct beneath *beneath, const struct sc_line *line);
double beneath_exact_hz(const struct beneath *beneath, double uncertainty_hz);
/* What is predicted at a place; or, as two lines so near to each other are measured as one between
 * them, a share of what is within the resolution. */
double beneath_size_at(const struct beneath *beneath, const struct account_prediction *prediction,
                       double frequency_hz, double reach_hz);

/* Of strong tones alone. What a one-sided line makes of the composite are tones as well, so weak
 * that their own lines are half of it. */
bool beneath_is_of_strong_tones(const struct account_prediction *prediction,
                                const struct account_spot *spot);

/* What is to be expected of ghosts and images; image: as seen elsewhere (struct account_beneath).
 */
void beneath_expect(struct beneath *beneath, double image);
/* A line that has ghosts. */
void beneath_note_parent(struct beneath *beneath, const struct sc_line *line);
/* So near to the carrier nothing is looked for in what a limiter takes away, but ghosts of what
 * stands there, a receiver's direct current for one, come far out with the modulation. */
void beneath_note_near_carrier(struct beneath *beneath);
/* By the limiter out of others, or by the receiver's image. */
bool beneath_is_made(const struct beneath *beneath, const struct sc_line *line);
/* What the strongest may make anywhere: ghosts, where there is no room to predict them, and
 * products with itself. */
double beneath_made_unseen(const struct beneath *beneath);

bool beneath_is_of_known_am(const struct beneath *beneath, const struct sc_line *line);
/* A side line of AM has its twin beside the same line; all others of that AM follow from it. True:
 * the line has its verdict. */
bool beneath_is_new_am(struct beneath *beneath, struct sc_line *line);

#endif
