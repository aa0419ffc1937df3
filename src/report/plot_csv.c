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
    report_add(out, ",%s",
               common_number(10 * log10((double)power[i]) + offset_db, 3, false).text);
  else
    report_add(out, ",");
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
    report_add(out, "\n");
  }
}

enum sc_error sc_plot_csv(const struct sc_plot *plot, char **text)
{
  struct report_buffer out = {0};
  struct sc_sight_scale scale =
      sc_sight_scale(plot->of, plot->info->kind, plot->full_scale_khz, plot->result);
  const char *unit = unit_word(scale.unit);
  bool offsets = plot->of == SC_SIGHT_AIR && !plot->absolute;
  add_head(&out, plot, scale);
  report_add(&out, "%s_hz,mean_%s,highest_%s,lowest_%s\n", offsets ? "offset" : "frequency", unit,
             unit, unit);
  add_points(&out, plot, scale.offset_db);
  *text = report_take(&out);
  return *text != NULL ? SC_OK : SC_NO_MEMORY;
}
