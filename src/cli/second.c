/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A second capture, to be set beside the first. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <string.h>

#include "cli/second.h"

static const struct cli_yardsticks no_yardsticks;

/* A container that says what it holds is believed; bare samples are of the first's type. */
static bool describes_itself(const struct sc_source_options *options)
{
  struct sc_source *source;
  struct sc_message ignored;
  enum sc_error error = sc_source_open(options, &source, &ignored);
  if (error == SC_OK)
    sc_source_close(source);
  return error == SC_OK || error == SC_UNDECIDED;
}

static enum sc_error check_second(const struct cli_settings *settings, struct sc_message *message)
{
  const char *first = settings->source.path; /* NULL: a device */
  bool both = first != NULL && strcmp(first, "-") == 0 && strcmp(settings->against_path, "-") == 0;
  return both ? sc_fail(message, SC_BAD_ARGUMENT,
                        "--against -: the first capture is standard input already; name a file")
              : SC_OK;
}

/* A finished capture, whatever the first is. */
static struct sc_source_options options_of(const struct cli_settings *settings)
{
  struct sc_source_options options = settings->source;
  options.path = settings->against_path;
  options.sound = options.receiver = NULL;
  options.tuning = (struct sc_tuning){.tune_hz = 0};
  options.follow = options.newest = false;
  return options;
}

enum sc_error cli_second_open(const struct cli_settings *settings, enum sc_kind kind,
                              struct cli_settings *second, struct cli_capture *capture,
                              struct sc_message *message)
{
  *second = *settings;
  second->source = options_of(settings);
  second->source.type = NULL;
  second->source.rate_hz = second->source.centre_hz = 0;
  enum sc_error error = check_second(settings, message);
  if (error != SC_OK)
    return error;
  if (settings->source.type != NULL && !describes_itself(&second->source))
    second->source = options_of(settings);
  error = cli_capture_open(second, &no_yardsticks, capture, message);
  if (error != SC_OK)
    return error;
  const struct sc_source_info *info = sc_source_info(capture->source);
  if (info->kind == kind)
    return SC_OK;
  error = sc_fail(message, SC_BAD_ARGUMENT,
                  "--against: %.100s holds %s, the first capture %s: name captures of one kind, or "
                  "say --as",
                  info->name, sc_kind_name(info->kind), sc_kind_name(kind));
  cli_capture_close(capture);
  return error;
}
