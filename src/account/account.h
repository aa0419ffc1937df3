/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* From measured lines to an account of them: what is seen, and what each line is. */
#ifndef SIDECOMB_ACCOUNT_ACCOUNT_H
#define SIDECOMB_ACCOUNT_ACCOUNT_H

#include <stdbool.h>

#include <sidecomb/error.h>
#include <sidecomb/result.h>

/* What was found beneath the modulation. */
struct account_beneath {
  struct sc_line_list list; /* `beneath` of a line: the spectrum hides it */
  /* From which level on, by index of the lines on air, one would surely stand there as well if it
   * changed the envelope; INFINITY: that cannot be told. NULL: of none. */
  const double *shows_dbc;
  double rate_hz;   /* of the channel that a limiter was made of: what that makes is folded there */
  double mean_s;    /* between means of the envelope, that were taken away */
  double image;     /* amplitude of the receiver's image as the envelope tells it; 0: it does not */
  double least_dbc; /* given back: what is weaker may be made by the limiter, of other lines */
};

/* Fills for every line the nearest standard position, label, cause and verdict; for lines on air
 * also what is predicted there, the rest and the orders. Needs all else of the result. Where
 * there is no composite, all lines stay unknown. Of what was found beneath the modulation (NULL:
 * nobody looked) the strongest remain that the spectrum does not show and that nothing else makes;
 * when they have joined the lines on air, what they make of the composite is known, and more may be
 * found. SC_NO_MEMORY. */
SC_MUST_USE enum sc_error account_explain(struct sc_result *result,
                                          struct account_beneath *beneath);
/* Afterwards: residual lines that a filter weakened at the edge of the capture become artefacts. */
void account_edges(struct sc_result *result);
/* By so much that other measurements suffer, and not because the capture cuts the modulation. */
bool account_envelope_moves(const struct sc_result *result);
/* Writes result->account, one or two sentences, from all that is measured in it. */
void account_sentence(struct sc_result *result);

/* A series of this frequency within the mains' tolerance is neither a generator's nor of an
 * instrument in tune. */
bool account_is_off_round(double mains_hz, double uncertainty_hz);

/* Noise of this density is enough that a converter's steps make no lines. */
bool account_covers_steps(double bits, double rate_hz, double noise_dbfs_hz);
/* Of this level re full scale or less, where too little noise covers the steps of the capture's
 * converter: they make such lines of a steady signal, the weaker the more noise there is. */
bool account_below_converter(const struct sc_result *result, double level_dbfs);
/* The same of a line of a captured composite, whose strongest tone fills the steps. */
bool account_tone_below_converter(const struct sc_result *result, const struct sc_line *line);
/* Amplitude, re full scale, of the strongest such line without any noise. */
double account_converter_line(const struct sc_result *result);

#endif
