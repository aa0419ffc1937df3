/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Table of response and separation over frequency. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdbool.h>
#include <stdio.h>

#include <sidecomb/fields.h>

#include "common/number.h"
#include "report/layout.h"
#include "report/tones.h"

enum { CELL = 64 };

/* Widths of the columns: with uncertainties, and without them where there is no room. */
struct columns {
  size_t tone, side, response, separation;
  bool uncertain;
};
static const struct columns wide = {9, 8, 19, 22, true}, narrow = {6, 6, 13, 15, false};

static const char note[] =
    "Response is relative to the channel's own at 1 kHz; separation is the tone's level "
    "where it was sent over that in the other channel.";

static void cell(struct sc_quantity quantity, int decimals, bool uncertain, char *text)
{
  const int enough = sc_decimals(quantity.uncertainty, decimals);
  if (quantity.why != NULL)
    snprintf(text, CELL, "lost in noise");
  else if (uncertain)
    sc_format_quantity(quantity, decimals, text, CELL);
  else
    snprintf(text, CELL, "%s", common_number(quantity.value, enough, false).text);
}

static void print_row(struct report_buffer *out, const struct sc_audio_point *point,
                      const struct columns *columns, bool separated)
{
  char text[CELL];
  snprintf(text, sizeof text, "%.0f", point->frequency_hz);
  report_right(out, text, columns->tone);
  report_right(out, point->right ? "right" : "left", columns->side);
  cell(point->response_db, 3, columns->uncertain, text);
  report_right(out, text, columns->response);
  cell(point->separation_db, 2, columns->uncertain, text);
  report_right(out, separated ? text : "-", columns->separation);
  report_add(out, "\n");
}

void report_tone_table(struct report_buffer *out, const struct sc_audio *audio, size_t width)
{
  if (audio->points_why != NULL)
    return;
  const bool separated = audio->separation_limit_db.why == NULL;
  const size_t room = wide.tone + wide.side + wide.response + wide.separation;
  const struct columns *columns = width >= room ? &wide : &narrow;
  report_add(out, "\n%s\n", sc_audio_tone_section()->title);
  report_wrap(out, note, 0, 0, width);
  report_right(out, "Hz", columns->tone);
  report_right(out, "sent", columns->side);
  report_right(out, "response dB", columns->response);
  report_right(out, "separation dB", columns->separation);
  report_add(out, "\n");
  for (int i = 0; i < SC_AUDIO_POINTS; i++)
    print_row(out, &audio->points[i], columns, separated);
}
