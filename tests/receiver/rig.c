/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The receiver of the bench through SoapySDR. */
#include "receiver/rig.h"

#include <stdio.h>
#include <stdlib.h>

#include <check.h>

#include "support/files.h"

const double rig_rate_hz = 240e3, rig_home_hz = 100e6;

const char *rig_numbered(void)
{
  static short pairs[2 * RIG_FRAMES];
  for (int i = 0; i < RIG_FRAMES; i++) {
    pairs[2 * i] = (short)(i - RIG_FRAMES / 2);
    pairs[2 * i + 1] = 8192;
  }
  return support_file_write("numbered.iq", pairs, sizeof pairs);
}

const char *rig_steady(void)
{
  short pair[2] = {8192, 0};
  return support_file_write("steady.iq", pair, sizeof pair);
}

void rig_setup(void)
{
  const char *build = getenv("SC_BUILDDIR");
  char folder[4096];
  support_files_setup();
  (void)snprintf(folder, sizeof folder, "%s/tests/receiver", build == NULL ? "." : build);
  ck_assert_int_eq(setenv("SOAPY_SDR_PLUGIN_PATH", folder, 1), 0);
  ck_assert_int_eq(setenv("SOAPY_SDR_ROOT", folder, 1), 0); /* no modules of this machine */
}

void rig_teardown(void)
{
  support_files_teardown();
}

struct sc_source_options rig_bench(const char *samples, const char *keys)
{
  char text[4096];
  (void)snprintf(text, sizeof text, "samples=%s,rate=%.0f,%s", samples, rig_rate_hz, keys);
  ck_assert_int_eq(setenv("SC_BENCH_RECEIVER", text, 1), 0);
  return (struct sc_source_options){.receiver = "driver=bench_receiver"};
}

struct sc_source *rig_open(const struct sc_source_options *options)
{
  struct sc_source *source;
  struct sc_message message = {""};
  enum sc_error error = sc_source_open(options, &source, &message);
  ck_assert_msg(error == SC_OK, "%s", message.text);
  return source;
}
