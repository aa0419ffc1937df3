/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Models for the viewer's tests: made up, with round numbers that a test can look for. */
#ifndef SIDECOMB_TESTS_VIEW_FIXTURE_H
#define SIDECOMB_TESTS_VIEW_FIXTURE_H

#include "view/grid.h"
#include "view/model.h"
#include "view/state.h"

enum { FIXTURE_POINTS = 1601, FIXTURE_LINES = 9 };

/* A transmitter at 91.2 MHz, 4 570 Hz below the centre of a capture of 2.4 s. On air: carrier,
 * pilot lines, a residual at 38 kHz, a carrier of its own, something unknown. */
struct fixture {
  struct sc_source_info info;
  struct sc_result result;
  struct sc_line lines[FIXTURE_LINES];
  float mean[FIXTURE_POINTS], high[FIXTURE_POINTS], low[FIXTURE_POINTS];
  struct view_model model;
  struct view_state state;
};

/* The view on air with everything measured. */
void fixture_air(struct fixture *f);
/* The composite, with the pilot, its residual at 38 kHz and a whistle. */
void fixture_composite(struct fixture *f);
/* Draws into a grid of that size, which the state then knows as its screen, and returns its text;
 * free() it. */
char *fixture_draw(struct fixture *f, int width, int height, bool ascii);
/* Draws so, and fails where one of the texts, up to a NULL, is not on the screen. */
void fixture_expect(struct fixture *f, int width, int height, bool ascii, const char *const *texts);
#define FIXTURE_EXPECT(f, width, height, ...)                                                      \
  fixture_expect(f, width, height, false, (const char *const[]){__VA_ARGS__, NULL})
/* Keys of a string, one after another. */
void fixture_type(struct fixture *f, const char *keys);
void fixture_press(struct fixture *f, int key);
/* What keys change: the pane that is shown, a marker's distance from the carrier (NAN: it is off),
 * width and middle of what is shown. */
const struct view_pane *fixture_pane(const struct fixture *f);
double fixture_marker_hz(const struct fixture *f, char name);
double fixture_span(const struct fixture *f);
double fixture_centre(const struct fixture *f);

#endif
