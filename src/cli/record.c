/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* `sidecomb record`: a capture kept on the disk as it comes in. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <limits.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/record.h>

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
    fprintf(stderr,
            "%s: has no place for the tuned frequency and time of %llu capture segment%s: WAV holds "
            "none, SigMF at most %d\n",
            name, (unsigned long long)summary->untold, summary->untold == 1 ? "" : "s",
            SC_RECORD_CAPTURES);
}

/* Where `path`, with the end of its name changed to that, leads to; false: to no file. */
static bool leads_to(const char *path, const char *ending, char place[PATH_MAX])
{
  char name[PATH_MAX];
  const char *last = strrchr(path, '.');
  const bool half = ending[0] != '\0' && last != NULL && strncmp(last, ".sigmf", 6) == 0;
  const size_t base = half ? (size_t)(last - path) : strlen(path);
  const int length = snprintf(name, sizeof name, "%.*s%s", (int)base, path, ending);
  return length > 0 && (size_t)length < sizeof name && realpath(name, place) != NULL;
}

/* Whether writing `to` would take away what is read, also through another name of it. */
static bool is_input(const char *from, const char *to)
{
  static const char *const endings[] = {"", ".sigmf-data", ".sigmf-meta"};
  enum { ENDINGS = sizeof endings / sizeof *endings };
  char read[PATH_MAX], written[PATH_MAX];
  for (size_t i = 0; from != NULL && i < ENDINGS; i++)
    for (size_t k = 0; k < ENDINGS; k++)
      if (leads_to(from, endings[i], read) && leads_to(to, endings[k], written) &&
          strcmp(read, written) == 0)
        return true;
  return false;
}

static enum sc_error record(const struct cli_settings *settings, bool *came,
                            struct sc_message *message)
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
  if (is_input(settings->source.path, settings->compose.file.path))
    return cli_complain("record: the file to write is the one that is read; give another name");
  enum sc_error error = record(settings, &came, &message);
  if (error == SC_OK && came)
    return CLI_MEASURED;
  const enum cli_status status = cli_complain(message.text[0] != '\0' ? message.text : sc_error_text(error));
  return error == SC_OK ? CLI_NOT_MEASURED : status;
}
