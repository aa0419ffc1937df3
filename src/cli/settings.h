/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the user asked for on the command line. */
#ifndef SIDECOMB_CLI_SETTINGS_H
#define SIDECOMB_CLI_SETTINGS_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/capture.h>
#include <sidecomb/compare.h>
#include <sidecomb/compose.h>
#include <sidecomb/result.h>
#include <sidecomb/sequence.h>

/* The wanted transmitter: with a sign an offset from the capture's centre, without one a
 * frequency on the capture's axis. */
struct cli_carrier {
  bool given, is_offset;
  double hz;
};

enum { CLI_ASSIGNMENTS_MAX = 64 };

/* What the emission is judged by. */
struct cli_emission {
  const char *mask_paths[SC_MASKS_MAX];
  size_t mask_count;
  double power_w;               /* of the transmitter; NAN: not given */
  double nominal_hz, raster_hz; /* 0: not given */
  double reference_hz;          /* of the transmitter's oscillator; 0: not given */
  double full_scale_dbm;        /* NAN: not given */
  const char *baseline_path;    /* NULL: none */
};

/* A capture to be made. What is not given is as the scenario says. */
struct cli_compose {
  const char *ready;    /* the scenario to begin with; NULL: the plainest */
  const char *scenario; /* its file; NULL: none */
  const char *assignments[CLI_ASSIGNMENTS_MAX];
  size_t assignment_count;
  enum sc_kind what;       /* SC_KIND_UNDECIDED: not given */
  double rate_hz, seconds; /* 0: not given */
  double seed;             /* NAN: not given */
  double bits;             /* of sound files; 0: not given */
  struct sc_compose_settings file;
  bool print, replace;
};

/* A spectrum on paper. */
struct cli_plot {
  int view;               /* enum sc_sight_of + 1; 0: not given */
  double middle_hz;       /* of the axis; NAN: not given */
  double span_hz, rbw_hz; /* 0: not given */
  bool expected;
};

struct cli_settings {
  struct sc_source_options source;
  const char *captures[SC_COMPARED_MAX]; /* where several are named; source.path is the first */
  size_t capture_count;
  struct cli_compose compose;
  struct sc_sequence_settings sequence; /* its file is in `compose` */
  struct cli_carrier carrier;
  struct cli_emission emission;
  struct cli_plot plot;
  enum sc_rds_region rds_region;
  double rds_groups;                  /* to list; 0: none */
  double threads;                     /* 0: as many as help */
  double full_scale_khz;              /* 0: not given */
  int deemphasis;                     /* 0: not given; 1: none, 2: 50 us, 3: 75 us */
  const char *audio_path;             /* NULL: decoded audio is not written */
  const char *against_path;           /* NULL: no second capture */
  bool no_colour, plain, no_settings; /* of the viewer */
  bool json;
  double every_s;          /* of watch */
  const char *keys;        /* of watch; NULL: the usual ones */
  const char *limits_path; /* NULL: no limits */
  size_t lines;            /* shown of each table; 0: all */
  bool lines_given;
  bool help, version;
};

#endif
