/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* `sidecomb sequence`: the test audio for a transmitter, and what to mind when it is played. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/sequence.h>

#include "cli/command.h"
#include "cli/output.h"
#include "cli/progress.h"
#include "common/text.h"
#include "report/layout.h"

static const double usual_level_dbfs = -6;

static const char *const advice[] = {
    "Set the level by the line-up tone. With pilot, data and all processing off, the tones of "
    "13 586.8 and 8 666.8 Hz make 75 kHz of deviation when the second and the third time the "
    "carrier's own line vanishes on a spectrum analyser as the level is raised from nothing.",
    "Record the radio's output without stopping: from before the first chirps to after the last, "
    "with no automatic gain or noise reduction; then 'sidecomb report RECORDING'.",
    "Caution: played into a transmitter this is radiated, and full tones over-deviate a "
    "transmitter "
    "that is set too high. Begin low, work into a screened load that bears the full power, never "
    "key without load, and put enough attenuation before a receiver. Radiating needs a licence or "
    "a named exemption nearly everywhere: local rules and licensed practice decide.",
    "Caution: steady full tones harm ears and loudspeakers. Turn the volume down before it plays, "
    "and wear no headphones.",
};

static void list_parts(struct report_buffer *out)
{
  const struct sc_sequence_part *parts = sc_sequence_parts();
  for (int i = 0; i < SC_PARTS; i++)
    report_add(out, "%7.1f s  %s\n", parts[i].start_s, parts[i].what);
}

static void describe(struct report_buffer *out, const struct cli_settings *settings)
{
  const struct sc_sequence_settings *sequence = &settings->sequence;
  const size_t width = cli_width();
  char line[PATH_MAX + 512], path[PATH_MAX];
  common_clean(path, sizeof path, settings->compose.file.path, strlen(settings->compose.file.path));
  snprintf(line, sizeof line,
           "%s: %.0f s at 48 kHz, %.0f bits; peak level %.1f dBFS, which is the line-up tone's. "
           "The null tones are %.1f and %.1f dB below it, for a pre-emphasis of %.4g µs.",
           path, sc_sequence_seconds(), settings->compose.bits > 0 ? settings->compose.bits : 24,
           sequence->level_dbfs < 0 ? sequence->level_dbfs : usual_level_dbfs,
           -sc_sequence_null_db(sc_sequence_parts()[SC_PART_NULL_SECOND].left_hz,
                                sequence->preemphasis_us),
           -sc_sequence_null_db(sc_sequence_parts()[SC_PART_NULL_THIRD].left_hz,
                                sequence->preemphasis_us),
           sequence->preemphasis_us);
  report_wrap(out, line, 0, 0, width);
  list_parts(out);
  for (size_t i = 0; i < sizeof advice / sizeof advice[0]; i++)
    report_wrap(out, advice[i], 0, 0, width);
}

static void print(const struct cli_settings *settings)
{
  struct report_buffer out = {0};
  describe(&out, settings);
  char *text = report_take(&out);
  if (text != NULL && !cli_utf8())
    report_to_ascii(text);
  fputs(text != NULL ? text : advice[2], stderr);
  free(text);
}

enum cli_status cli_run_sequence(const struct cli_settings *settings)
{
  struct cli_progress progress = {0};
  const struct sc_sequence_file file = {.path = settings->compose.file.path,
                                        .bits = (unsigned)settings->compose.bits,
                                        .keep = !settings->compose.replace,
                                        .progress = cli_progress_show,
                                        .context = &progress};
  struct sc_message message = {""};
  if (file.path == NULL)
    return cli_complain("name what to write with --out FILE (.wav or .flac); "
                        "'sidecomb sequence --help' shows more");
  cli_signals_catch();
  const enum sc_error error = sc_sequence_write(&settings->sequence, &file, &message);
  cli_progress_clear(&progress);
  if (error != SC_OK && cli_signal_caught() != 0)
    return cli_end_by_signal();
  if (error != SC_OK)
    return cli_complain(message.text);
  print(settings);
  return CLI_MEASURED;
}
