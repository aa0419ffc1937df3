/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What is measured, as the screen needs it: one spectrum, the results so far, their times.
 *
 * Frequencies are the capture's own: on air relative to its centre, on the composite and in
 * audio from zero. Nothing here is state of the user's; see state.h. */
#ifndef SIDECOMB_VIEW_MODEL_H
#define SIDECOMB_VIEW_MODEL_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/result.h>
#include <sidecomb/sight.h>
#include <sidecomb/spectrum.h>

enum view_id { VIEW_AIR, VIEW_COMPOSITE, VIEW_AUDIO, VIEW_COUNT };

/* "on air", "composite", "audio". */
const char *view_id_name(enum view_id view);
/* The same in one word, for commands: "air". */
const char *view_id_word(enum view_id view);

/* Spectra of successive rows of time, the oldest first. */
struct view_course {
  const float *level_db; /* rows * columns, 10 log10(power); NAN: nothing was read of it yet */
  size_t rows, columns, filled; /* filled: rows of which something was read */
  double start_hz, step_hz;     /* middle of the first column, and between two */
  double rbw_hz;
  double from_s, each_s;  /* of the selected part */
  double low_db, high_db; /* about the floor, and the highest cell */
  double spread_db;       /* the strongest row's power over the weakest's; NAN: too few */
  size_t zeros;           /* rows of nothing but zeros, which have no part in it */
};

/* A spectrum of one passage of the capture. */
struct view_spectrum {
  enum view_id view;
  struct sc_trace trace;    /* points 0: nothing yet */
  double from_s, to_s;      /* of the selected part */
  bool refining;            /* more of the passage is still being read ... */
  double share;             /* ... and this much of it was */
  const char *why;          /* not NULL: this view has no spectrum, and why */
  struct sc_trace expected; /* on air, where asked for: what the composite makes; points 0: none */
  const float *difference_db; /* at the trace's points: measured over expected; NULL: none */
  struct view_course course;  /* where asked for, instead of a trace; rows 0: none */
};

struct view_model {
  const struct sc_source_info *info;
  double start_s;        /* of the selected part within the file */
  double full_scale_khz; /* composite captures: deviation of full scale; 0: unknown */
  struct view_spectrum spectrum;
  bool channel_known; /* a first look found the transmitter */
  double channel_hz, channel_level_dbfs;
  const struct sc_result *result; /* of the survey of the whole capture; NULL: none yet */
  double survey_s;                /* how much of the capture the result covers */
  bool survey_done;
  bool ended;              /* live: no more will come in */
  double silent_s;         /* live: for so long nothing has come in */
  struct sc_losses losses; /* live: of the device */
  /* live: frames that the viewer was too slow to draw, and to measure */
  uint64_t undrawn_frames, unmeasured_frames;
  /* live: of the last second; frames at either end of the range, NAN: not known */
  uint64_t clipped_frames;
  double peak_dbfs;
  bool keeping;                     /* live: a recording is being made */
  double kept_s;                    /* how long it is */
  const char *trouble;              /* reading failed: the line to show; NULL: none */
  const struct view_model *against; /* a second capture to compare with; NULL: none */
  const float *against_db; /* at the trace's points: this capture over that; NULL: not yet */
};

/* Seconds in the selected part; 0 when unknown. */
double view_model_duration(const struct view_model *model);
/* Whether that is known and one can go to any time of it. */
static inline bool view_model_has_length(const struct view_model *model)
{
  return !model->info->live && model->info->frames > 0;
}
/* Whether this kind of capture has the view at all. */
bool view_model_offers(const struct view_model *model, enum view_id view);
/* The view that a capture of this kind opens with. */
enum view_id view_model_first(const struct view_model *model);
/* Lowest and highest frequency of a view. */
void view_model_limits(const struct view_model *model, enum view_id view, double *low_hz,
                       double *high_hz);
/* What axes count from: the carrier on air, zero elsewhere. */
double view_model_origin(const struct view_model *model, enum view_id view);
/* The span that shows what matters: the channel on air, everything elsewhere. */
void view_model_fit(const struct view_model *model, enum view_id view, double *centre_hz,
                    double *span_hz);

/* The scale of a view's levels. */
struct sc_sight_scale view_model_scale(const struct view_model *model, enum view_id view);

/* The measured lines of a view; an empty list where there are none. */
const struct sc_line_list *view_model_lines(const struct view_model *model, enum view_id view);
/* Where a line stands on the view's axis, in the capture's frequencies. */
static inline double view_line_hz(const struct sc_line *line)
{
  return line->tone.frequency_hz.value;
}
/* The standard position nearest to it, and how far above that it stands. */
const struct sc_position *view_model_line_nearest(const struct view_model *model, enum view_id view,
                                                  const struct sc_line *line, double *distance_hz);
/* Its level on the view's scale. */
double view_model_line_level(const struct view_model *model, enum view_id view,
                             const struct sc_line *line);
/* Whether the spectrum belongs to the view and holds something. */
bool view_model_has_trace(const struct view_model *model, enum view_id view);

#endif
