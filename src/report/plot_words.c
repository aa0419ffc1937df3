/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The sentences of a plot, and their breaking into lines. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <inttypes.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "report/plot_layout.h"

enum { LINE_BYTES = 512 };

static void add(char *text, const char *format, ...) SC_PRINTF(2, 3);
static void add(char *text, const char *format, ...)
{
  size_t used = strlen(text);
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(text + used, PLOT_TEXT_LENGTH - used, format, arguments);
  va_end(arguments);
}

void plot_title(const struct sc_plot *plot, char text[PLOT_TEXT_LENGTH])
{
  static const char *const titles[SC_SIGHT_COUNT] = {"Spectrum on air", "Spectrum of the composite",
                                                     "Spectrum of the audio"};
  snprintf(text, PLOT_TEXT_LENGTH, "%s: %s", titles[plot->of], plot->info->name);
}

void plot_subtitle(const struct sc_plot *plot, char text[PLOT_TEXT_LENGTH])
{
  snprintf(text, PLOT_TEXT_LENGTH, "%s, %.10g kS/s", plot->info->format,
           plot->info->sample_rate_hz * 1e-3);
  if (plot->info->kind == SC_KIND_IQ && plot->info->centre_hz > 0)
    add(text, ", tuned to %.10g MHz", plot->info->centre_hz * 1e-6);
  if (plot->of == SC_SIGHT_AIR && plot->result != NULL &&
      plot->result->carrier_frequency_hz.why == NULL)
    add(text, ", carrier at %.6f MHz", plot->result->carrier_frequency_hz.value * 1e-6);
  add(text, "; %.6g s to %.6g s", plot->from_s, plot->to_s);
  if (plot->carried_s > 0)
    add(text, ", the %.6g s with the carrier", plot->carried_s);
}

/* "300 Hz", "1.25 kHz" */
static void add_hz(char *text, double hz)
{
  if (hz >= 1000)
    add(text, "%.4g kHz", hz * 1e-3);
  else
    add(text, "%.4g Hz", hz);
}

static void add_time(char *text, double seconds)
{
  if (seconds < 1)
    add(text, "%.3g ms", seconds * 1e3);
  else
    add(text, "%.3g s", seconds);
}

void plot_making(const struct sc_plot *plot, char text[PLOT_TEXT_LENGTH])
{
  const struct sc_trace *trace = plot->trace;
  snprintf(text, PLOT_TEXT_LENGTH, "Resolution bandwidth ");
  add_hz(text, trace->rbw_hz);
  if (trace->rbw_limited)
    add(text, " (as fine as the capture's length allows)");
  add(text, ", %s window", sc_window_name(trace->window));
  if (trace->window == SC_WINDOW_KAISER)
    add(text, " of beta %.3g", trace->window_parameter);
  add(text, ", %s %" PRIu64 " %s of ", plot->highest ? "highest of" : "mean of", trace->records,
      trace->records == 1 ? "record" : "records");
  add_time(text, trace->record_s);
  add(text, ". A line's peak is its level; noise reads higher in a wider resolution.");
}

static const char *kept_word(enum sc_truth pass)
{
  return pass == SC_YES ? "kept" : pass == SC_NO ? "not kept" : "not judged";
}

void plot_mask_words(const struct sc_plot *plot, char text[PLOT_TEXT_LENGTH])
{
  text[0] = '\0';
  if (plot->mask == NULL)
    return;
  snprintf(text, PLOT_TEXT_LENGTH, "Dashed: limit of %s", plot->mask->name);
  if (plot->result != NULL && plot->result->mask_count > 0) {
    const struct sc_mask_result *judged = &plot->result->masks[0];
    add(text, ", %s", kept_word(judged->pass));
    if (judged->worst_margin_db.why == NULL && judged->worst_offset_hz.why == NULL)
      add(text, ", %.1f dB %s at %+.5g kHz", fabs(judged->worst_margin_db.value),
          judged->worst_margin_db.value < 0 ? "above it" : "below it",
          judged->worst_offset_hz.value * 1e-3);
    if (judged->unjudged[0] != '\0')
      add(text, "; %s", judged->unjudged);
  }
  add(text, ". This is a measurement, no certificate. %s", plot->mask->note);
}

void plot_level_words(const struct sc_plot *plot, struct sc_sight_scale scale,
                      char text[PLOT_TEXT_LENGTH])
{
  (void)plot;
  snprintf(text, PLOT_TEXT_LENGTH, "Level of a line in %s, %s", scale.unit, scale.meaning);
}

void plot_cause_words(const struct sc_line *line, bool with_name, char text[PLOT_TEXT_LENGTH])
{
  const bool named = with_name && strstr(line->cause, line->label) == NULL;
  snprintf(text, PLOT_TEXT_LENGTH, "%s%s%s", named ? line->label : "",
           named && line->cause[0] != '\0' ? ": " : "", line->cause);
}

/* The character after the one at `at`. */
static size_t next_character(const char *text, size_t at)
{
  do
    at++;
  while (((unsigned char)text[at] & 0xC0) == 0x80);
  return at;
}

struct ruler {
  double width;
  double (*measure)(void *context, const char *text);
  void *context;
};

static bool fits(const struct ruler *ruler, const char *text, size_t bytes)
{
  char line[LINE_BYTES];
  if (bytes >= sizeof line)
    return false;
  memcpy(line, text, bytes);
  line[bytes] = '\0';
  return ruler->measure(ruler->context, line) <= ruler->width;
}

size_t plot_wrap(const char *text, double width, double (*measure)(void *context, const char *text),
                 void *context, size_t *skip)
{
  const struct ruler ruler = {width, measure, context};
  size_t best = 0, end = 0;
  while (text[end] != '\0') { /* word by word */
    end += strcspn(text + end, " ");
    if (!fits(&ruler, text, end))
      break;
    best = end;
    end += text[end] == ' ';
  }
  if (best == 0 && text[0] != '\0') { /* a word too wide: as much of it as fits */
    best = next_character(text, 0);
    while (text[best] != '\0' && fits(&ruler, text, next_character(text, best)))
      best = next_character(text, best);
  }
  *skip = text[best] == ' ' ? 1 : 0;
  return best;
}
