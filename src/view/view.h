/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The viewer: a capture on the terminal, until the user leaves. */
#ifndef SIDECOMB_VIEW_VIEW_H
#define SIDECOMB_VIEW_VIEW_H

#include <stdbool.h>
#include <stdio.h>

#include <sidecomb/analysis.h>
#include <sidecomb/capture.h>

/* An open capture, with what it was opened and is to be measured with. */
struct view_capture {
  struct sc_source *source;
  const struct sc_source_options *options;
  struct sc_analysis_settings analysis;
};

struct view_settings {
  struct sc_analysis_settings analysis;
  const struct view_capture *against; /* a second capture of the same kind; NULL: none */
  bool no_colour;                     /* besides the variable NO_COLOR */
  bool no_settings;                   /* do not read the file of settings */
  bool plain;                         /* no characters beyond ASCII, whatever the locale */
};

/* Shows `source`, which was opened with `options`, and returns when the user leaves. The
 * source must not be used meanwhile; the caller closes it. SC_CANNOT_OPEN: there is no
 * terminal to show it on. The caller has called setlocale(LC_CTYPE, ""). Ended by a signal
 * (TERM, INT, HUP, QUIT), it restores the terminal and raises that signal again. */
enum sc_error view_run(struct sc_source *source, const struct sc_source_options *options,
                       const struct view_settings *settings, struct sc_message *message);

/* Writes the table of keys as text ("KEY  what it does"), for --help and the man page. */
void view_keys_print(FILE *stream);

#endif
