/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* `sidecomb record`: a capture kept on the disk as it comes in. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <limits.h>
#include <stdio.h>
#include <string.h>

#include <sidecomb/record.h>

#include "cli/capture.h"
#include "cli/command.h"
#include "cli/output.h"
#include "cli/progress.h"
#include "common/text.h"

static void tell(const char *path, const struct sc_record_summary *summary)
{
  char name[PATH_MAX];
  common_clean(name, sizeof name, path, strlen(path));
  fprintf(stderr, "%s: %.6g s, %llu frames", name, summary->seconds,
          (unsigned long long)summary->frames);
  if (summary->gaps > 0)
    fprintf(stderr, ", with %llu gap%s where samples were lost", (unsigned long long)summary->gaps,
            summary->gaps == 1 ? "" : "s");
  fputs(".\n", stderr);
  if (summary->untold > 0)
    fprintf(
        stderr,
        "%s: has no place for tuned frequency, time and settings of %llu capture segment%s: WAV "
        "holds none, SigMF at most %d\n",
        name, (unsigned long long)summary->untold, summary->untold == 1 ? "" : "s",
        SC_RECORD_CAPTURES);
}

static enum sc_error record(const struct cli_settings *settings, bool *came,
                            struct sc_message *message)
{
  struct sc_source *source;
  struct sc_record_summary summary;
  struct cli_progress progress = {.duration_s = settings->source.duration_s};
  const struct sc_record_settings wanted = {.path = settings->compose.file.path,
                                            .replace = settings->compose.replace};
  enum sc_error error = cli_source_open(&settings->source, &source, message);
  if (error != SC_OK)
    return error;
  progress.source = source;
  cli_signals_catch(); /* each of them ends an orderly record */
  error = sc_record_source(source, &wanted, cli_progress_show, &progress, &summary, message);
  cli_progress_clear(&progress);
  *came = summary.frames > 0;
  if (*came)
    tell(wanted.path, &summary);
  else if (error == SC_OK)
    sc_fail(message, error, "%s: no samples came, so nothing is recorded",
            sc_source_info(source)->name);
  sc_source_close(source);
  return error;
}

enum cli_status cli_run_record(const struct cli_settings *settings)
{
  struct sc_message message = {""};
  bool came = false;
  if (settings->compose.file.path == NULL)
    return cli_complain("record: name the file with --out, ending in .sigmf-meta or .wav");
  enum sc_error error = record(settings, &came, &message);
  if (error == SC_OK && came)
    return CLI_MEASURED;
  const enum cli_status status =
      cli_complain(message.text[0] != '\0' ? message.text : sc_error_text(error));
  return error == SC_OK ? CLI_NOT_MEASURED : status;
}
