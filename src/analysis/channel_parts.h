/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a channel is made of: channel_make.c makes it and leads what is demodulated to its parts,
 * channel.c feeds it and has the results. */
#ifndef SIDECOMB_ANALYSIS_CHANNEL_PARTS_H
#define SIDECOMB_ANALYSIS_CHANNEL_PARTS_H

#include <stdbool.h>

#include <sidecomb/am.h>
#include <sidecomb/composite.h>

#include "analysis/baseband.h"
#include "analysis/beneath.h"
#include "analysis/channel.h"
#include "analysis/holes.h"
#include "analysis/stretches.h"
#include "analysis/worker.h"

struct analysis_channel {
  struct analysis_channel_settings settings;
  struct sc_demodulator_info info;
  struct sc_demodulator *demodulator;
  struct sc_carrier_meter *carrier;
  struct sc_am_meter *am;
  struct analysis_baseband *composite;
  double image;                         /* by the last result, see image_share */
  struct analysis_stretches *stretches; /* before all that is fed by the demodulator */
  uint64_t passed;                      /* frames of the stretches, with and without a carrier */
  struct sc_passages carried;           /* from the channel's first frame */
  struct analysis_holes holes;
  uint64_t lost; /* holes amid the signal */
  bool skipped;  /* the search outside was left out of something */
  /* With two threads the one that calls does the search outside as well, the other what is fed by
   * the demodulator; with more a search's whole records are looked at by a third, and a fourth.
   * NULL: it is done by who feeds it. */
  struct analysis_worker *listener, *outer_searcher, *inner_searcher;
  struct analysis_worker *inner_feeder; /* feeds the search inside; NULL: who calls */
  struct sc_lines *inside, *outside;    /* NULL when not asked for, or when nothing is outside */
  struct analysis_beneath *beneath;     /* fed with the one inside; NULL when not asked for */
  float previous[2];                    /* frame that those two were fed */
};

#endif
