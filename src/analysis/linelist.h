/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Tones of one or more searches as one list of lines. */
#ifndef SIDECOMB_ANALYSIS_LINELIST_H
#define SIDECOMB_ANALYSIS_LINELIST_H

#include <sidecomb/error.h>
#include <sidecomb/lines.h>
#include <sidecomb/result.h>

/* A frequency's uncertainty with what the sample clock adds; NAN: nobody knows that clock, and it
 * is against it. */
double analysis_with_clock(double uncertainty_hz, double frequency_hz, double clock_relative);

/* An empty list that says why. */
struct sc_line_list analysis_no_lines(const char *why);

/* The carrier that a search was told, measured from channel_hz on. Against it lines are as well known
 * as it was followed, which is what its uncertainty is made then. */
struct analysis_followed {
  struct sc_carrier *carrier;
  double channel_hz;
};

/* Adds the tones of a search, shifted by `shift_hz` to the capture's own frequencies. The facts
 * of the first search stand for the list, and its lines alongside the composite's. SC_NO_MEMORY
 * leaves the list as it was. Lines of a search that followed the carrier go to where it was on
 * average; `followed` NULL: there is none. */
enum sc_error analysis_lines_add(struct sc_line_list *list, const struct sc_lines_result *found,
                                 double shift_hz, const struct analysis_followed *followed);

/* Notes a search that was added, how far from the carrier it reaches, and what it left out. */
void analysis_lines_reach(struct sc_line_list *list, const struct sc_lines_result *found,
                          double reach_hz);

/* Moves the lines of one list on air to another, so that they stand by offset, each with the index
 * of its mirror line; what the account said is forgotten, but for the names of lines beneath the
 * modulation. SC_NO_MEMORY leaves both as they were. */
enum sc_error analysis_lines_join(struct sc_line_list *list, struct sc_line_list *more);

/* Takes those out that are beneath the modulation. */
void analysis_lines_drop_beneath(struct sc_line_list *list);

/* Offsets from the carrier and levels in dBc; the lines are sorted and paired with the line at
 * the mirrored offset. Clock NAN: unknown, uncertainties are against the clock. */
void analysis_lines_on_air(struct sc_line_list *list, const struct sc_carrier *carrier,
                           double clock_relative_uncertainty);

/* Frequencies and deviations of lines of the composite or of audio. `pilot` NULL: none. */
void analysis_lines_on_composite(struct sc_line_list *list, bool absolute,
                                 const struct sc_pilot *pilot, double clock_relative_uncertainty);

#endif
