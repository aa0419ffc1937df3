/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The trace of a plot as numbers: CSV (RFC 4180), with comment lines before it that say how it was
 * made. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <inttypes.h>
#include <math.h>
#include <string.h>

#include "common/number.h"
#include "common/text.h"
#include "report/buffer.h"
#include "report/plot_layout.h"

static void add_comment(struct report_buffer *out, const char *name, const char *value)
{
  char clean[PLOT_TEXT_LENGTH];
  common_clean(clean, sizeof clean, value, strlen(value));
  report_add(out, "# %s: %s\n", name, clean);
}

static void add_head(struct report_buffer *out, const struct sc_plot *plot,
                     struct sc_sight_scale scale)
{
  const struct sc_trace *trace = plot->trace;
  add_comment(out, "spectrum", sc_sight_name(plot->of));
  add_comment(out, "capture", plot->info->name);
  add_comment(out, "format", plot->info->format);
  report_add(out, "# passage: %.6f s to %.6f s\n", plot->from_s, plot->to_s);
  if (plot->carried_s > 0)
    report_add(out, "# of it, with the carrier: %.6f s\n", plot->carried_s);
  report_add(out, "# resolution: %.6g Hz noise bandwidth, %s window", trace->rbw_hz,
             sc_window_name(trace->window));
  if (trace->window == SC_WINDOW_KAISER)
    report_add(out, " of beta %.6g", trace->window_parameter);
  report_add(out, "\n# records: %" PRIu64 " of %.6g s, worth %.6g independent ones\n",
             trace->records, trace->record_s, trace->independent_records);
  report_add(out, "# level of a line in %s, %s; density is that less %.4f dB, per hertz\n",
             scale.unit, scale.meaning, 10 * log10(trace->rbw_hz));
}

/* "dBc" as the end of a column's name: "dbc". */
static const char *unit_word(const char *unit)
{
  static const char *const units[][2] = {
      {"dBc", "dbc"}, {"dB75", "db75"}, {"dBp", "db_pilot"}, {"dBFS", "dbfs"}};
  for (size_t i = 0; i < sizeof units / sizeof units[0]; i++)
    if (strcmp(units[i][0], unit) == 0)
      return units[i][1];
  return "db";
}

/* An empty cell where nothing was measured. */
static void add_level(struct report_buffer *out, const float *power, size_t i, double offset_db)
{
  if (power != NULL && power[i] > 0)
    report_add(out, ",%s", common_number(10 * log10((double)power[i]) + offset_db, 3, false).text);
  else
    report_add(out, ",");
}

/* On the straight line between two points in dB; NAN outside. */
static double level_at(const struct sc_trace *trace, double hz)
{
  const double place = (hz - trace->start_hz) / trace->step_hz;
  if (!(place >= 0) || !(place <= (double)(trace->points - 1)))
    return (double)NAN;
  const size_t first = (size_t)place, next = first + 1 < trace->points ? first + 1 : first;
  const double low = 10 * log10((double)trace->mean[first]);
  const double high = 10 * log10((double)trace->mean[next]);
  return low + (high - low) * (place - (double)first);
}

/* A trace beside the first, at the first one's points. */
static void add_beside(struct report_buffer *out, const struct sc_trace *trace, double hz,
                       double offset_db)
{
  const double level_db = level_at(trace, hz) + offset_db;
  if (isfinite(level_db))
    report_add(out, ",%s", common_number(level_db, 3, false).text);
  else
    report_add(out, ",");
}

static bool is_drawn(const struct sc_trace *trace)
{
  return trace != NULL && trace->points > 0;
}

static const struct sc_trace *second_of(const struct sc_plot *plot)
{
  return plot->other != NULL && is_drawn(plot->other->trace) ? plot->other->trace : NULL;
}

static void add_headings(struct report_buffer *out, const struct sc_plot *plot, const char *unit)
{
  const bool offsets = plot->of == SC_SIGHT_AIR && !plot->absolute;
  if (second_of(plot) != NULL) {
    add_comment(out, "second", plot->other->name);
    report_add(out,
               "# second: against its own %s, %.6g Hz noise bandwidth, between its points on a "
               "straight line\n",
               plot->of == SC_SIGHT_AIR ? "carrier" : "reference", second_of(plot)->rbw_hz);
  }
  report_add(out, "%s_hz,mean_%s,highest_%s,lowest_%s", offsets ? "offset" : "frequency", unit,
             unit, unit);
  if (is_drawn(plot->expected))
    report_add(out, ",expected_%s", unit);
  if (second_of(plot) != NULL)
    report_add(out, ",second_%s", unit);
  report_add(out, "\n");
}

static void add_points(struct report_buffer *out, const struct sc_plot *plot, double offset_db)
{
  const struct sc_trace *trace = plot->trace;
  for (size_t i = 0; i < trace->points; i++) {
    double hz = trace->start_hz + (double)i * trace->step_hz;
    if (hz < plot->low_hz || hz > plot->high_hz)
      continue;
    report_add(out, "%s", common_number(hz - plot->origin_hz, 4, false).text);
    add_level(out, trace->mean, i, offset_db);
    add_level(out, trace->max_hold, i, offset_db);
    add_level(out, trace->min_hold, i, offset_db);
    if (is_drawn(plot->expected))
      add_beside(out, plot->expected, hz, offset_db);
    if (second_of(plot) != NULL)
      add_beside(out, second_of(plot), hz + plot->other->shift_hz, plot->other->offset_db);
    report_add(out, "\n");
  }
}

enum sc_error sc_plot_csv(const struct sc_plot *plot, char **text)
{
  struct report_buffer out = {0};
  struct sc_sight_scale scale =
      sc_sight_scale(plot->of, plot->info->kind, plot->full_scale_khz, plot->result);
  add_head(&out, plot, scale);
  add_headings(&out, plot, unit_word(scale.unit));
  add_points(&out, plot, scale.offset_db);
  *text = report_take(&out);
  return *text != NULL ? SC_OK : SC_NO_MEMORY;
}
