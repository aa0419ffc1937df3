/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What an analysis is made of: analysis.c makes it and takes what is fed, wanted.c leads an IQ
 * capture to the channel that it looks for, analysis_result.c has the result. */
#ifndef SIDECOMB_ANALYSIS_ANALYSIS_PARTS_H
#define SIDECOMB_ANALYSIS_ANALYSIS_PARTS_H

#include <stdbool.h>
#include <stdint.h>

#include <sidecomb/analysis.h>

#include "analysis/baseband.h"
#include "analysis/channel.h"
#include "analysis/emission.h"
#include "analysis/head.h"
#include "analysis/later.h"
#include "analysis/listener.h"
#include "analysis/rounded.h"
#include "analysis/variation.h"

struct sc_analysis {
  struct sc_source_info info;
  struct sc_analysis_settings settings;
  struct sc_capture_facts facts;
  uint64_t other_settings; /* frames left out */
  struct analysis_variation variation;
  /* kind iq */
  struct sc_spectrum *air;
  struct analysis_emission *emission;
  struct analysis_rounded *rounded; /* NULL: not wanted */
  struct analysis_head *head;       /* NULL when the channel is known */
  struct analysis_later *later;     /* NULL: the channel is not known, or was stated */
  bool tentative;                   /* a result was asked for: the channel is by part of the head */
  uint64_t searched;                /* frames before the channel's first, ... */
  uint64_t head_at;                 /* ... before the head's */
  uint64_t taken;                   /* frames from there on */
  uint64_t passed;                  /* all frames so far */
  double channel_hz;
  bool skipped; /* the spectra were left out of something */
  struct analysis_channel *channel;
  const char *channel_why; /* why there is no channel */
  /* kinds composite and audio */
  struct analysis_baseband *baseband;
  float *scaled;                      /* SCALE_FRAMES */
  struct analysis_listener *listener; /* kind audio */
};

/* The scale of a composite is known. */
bool analysis_is_absolute(const struct sc_analysis *analysis);

/* Of kind iq. Begins with the channel that was stated, or looks for one. */
enum sc_error analysis_wanted_create(struct sc_analysis *analysis);
enum sc_error analysis_wanted_feed(struct sc_analysis *analysis, const float *iq, size_t frames,
                                   bool discontinuity);
/* Where the head is not full yet: the channel by what there is of it, until more is fed. */
enum sc_error analysis_wanted_now(struct sc_analysis *analysis);

#endif
