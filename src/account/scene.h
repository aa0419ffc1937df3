/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the parts of the account share while they explain one result. */
#ifndef SIDECOMB_ACCOUNT_SCENE_H
#define SIDECOMB_ACCOUNT_SCENE_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/result.h>

#include "account/predict.h"

struct account_scene {
  struct sc_result *result;
  struct account_prediction prediction;
  size_t component_lines[ACCOUNT_COMPONENTS_MAX]; /* on the composite, by component */
  double floor;                                   /* amplitude that a prediction goes down to */
  double common;     /* factor of all lines by modulation that is no tone */
  ptrdiff_t carrier; /* line on air at offset 0, -1: none */
};

/* How far a frequency may be from an exact sum and still be it: four standard uncertainties and
 * what turns a phase by an eighth of a radian over the record. */
double account_exact_hz(const struct sc_line_list *list, double uncertainty_hz);
/* How far a measured line may be from a predicted one: a bin of the search beside that. */
double account_reach_hz(const struct sc_line_list *list, double uncertainty_hz);
/* |A| of a line on air relative to the unmodulated carrier, and its uncertainty. */
double account_amplitude(const struct sc_line *line);
double account_amplitude_uncertainty(const struct sc_line *line);
/* How far above what a line needs to be found this one is, in dB. */
double account_margin_db(const struct sc_line_list *list, const struct sc_line *line);
/* A line at the mirrored offset would have been seen: the place is in the capture, and a line of
 * this one's level has an energy of 3 dB more than is needed. */
bool account_mirror_visible(const struct sc_result *result, const struct sc_line *line);
/* At 0 Hz of the capture, where receivers put a line of their own, and the carrier is elsewhere. */
bool account_is_direct_current(const struct sc_result *result, const struct sc_line *line);

/* Lines of the composite that the discriminator makes of one-sided lines on air: artefacts. */
void account_find_beats(struct account_scene *scene);
/* Label, verdict and cause of the other lines of the composite. */
void account_give_roles(struct sc_result *result);
/* The same for the lines on air, from the prediction. */
void account_judge_air(struct account_scene *scene);

#endif
