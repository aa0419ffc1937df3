/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* `sidecomb record`: a capture kept on the disk as it comes in. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <signal.h>
#include <stdio.h>

#include <sidecomb/record.h>

#include "cli/command.h"
#include "cli/output.h"
#include "cli/progress.h"

static void tell(const char *path, const struct sc_record_summary *summary)
{
  fprintf(stderr, "%s: %.6g s, %llu frames", path, summary->seconds,
          (unsigned long long)summary->frames);
  if (summary->gaps > 0)
    fprintf(stderr, ", with %llu gap%s where samples were lost",
            (unsigned long long)summary->gaps, summary->gaps == 1 ? "" : "s");
  fputs(".\n", stderr);
}

static enum sc_error record(const struct cli_settings *settings, struct sc_message *message)
{
  struct sc_source *source;
  struct sc_record_summary summary;
  struct cli_progress progress = {0};
  const struct sc_record_settings wanted = {.path = settings->compose.file.path,
                                            .replace = settings->compose.replace};
  enum sc_error error = sc_source_open(&settings->source, &source, message);
  if (error != SC_OK)
    return error;
  cli_signal_catch(SIGINT); /* each of them ends an orderly record */
  cli_signal_catch(SIGTERM);
  cli_signal_catch(SIGHUP);
  error = sc_record_source(source, &wanted, cli_progress_show, &progress, &summary, message);
  cli_progress_clear(&progress);
  if (summary.frames > 0)
    tell(wanted.path, &summary);
  sc_source_close(source);
  return error;
}

enum cli_status cli_run_record(const struct cli_settings *settings)
{
  struct sc_message message = {""};
  if (settings->compose.file.path == NULL)
    return cli_complain("record: name the file with --out, ending in .sigmf-meta or .wav");
  enum sc_error error = record(settings, &message);
  if (error == SC_OK)
    return CLI_MEASURED;
  return cli_complain(message.text[0] != '\0' ? message.text : sc_error_text(error));
}
