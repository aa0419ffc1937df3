/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#include "sound/rig.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

#include <check.h>

#include "support/files.h"

static char config[4096];

SC_PRINTF(1, 0) static void append(const char *format, va_list arguments)
{
  FILE *file = fopen(config, "a");
  ck_assert_ptr_nonnull(file);
  ck_assert_int_gt(vfprintf(file, format, arguments), 0);
  ck_assert_int_eq(fclose(file), 0);
}

void rig_define(const char *format, ...)
{
  va_list arguments;
  va_start(arguments, format);
  append(format, arguments);
  va_end(arguments);
}

void rig_setup(void)
{
  const char *build = getenv("SC_BUILDDIR");
  char *whole = realpath(build == NULL ? "." : build, NULL); /* the library wants it so */
  ck_assert_ptr_nonnull(whole);
  support_files_setup();
  ck_assert_int_eq(setenv("SOAPY_SDR_ROOT", whole, 1), 0); /* no receivers of this machine */
  (void)snprintf(config, sizeof config, "%s", support_file("sound.conf"));
  ck_assert_int_eq(setenv("ALSA_CONFIG_PATH", config, 1), 0);
  rig_define("pcm_type.bench_card { lib \"%s/tests/sound/bench_card.so\" }\n",
             whole);
  free(whole);
}

void rig_teardown(void)
{
  support_files_teardown();
}

void rig_card(const char *name, const char *samples, const char *format, ...)
{
  va_list arguments;
  rig_define("pcm.%s {\n  type bench_card\n  samples \"%s\"\n", name, samples);
  va_start(arguments, format);
  append(format, arguments);
  va_end(arguments);
  rig_define("\n  hint { show on description \"%s on the bench\" }\n}\n", name);
}

const char *rig_ramp(void)
{
  static short samples[2 * RIG_FRAMES];
  for (int i = 0; i < RIG_FRAMES; i++)
    samples[2 * i] = samples[2 * i + 1] = (short)(i - RIG_FRAMES / 2);
  return support_file_write("ramp.raw", samples, sizeof samples);
}

long rig_frame(float sample)
{
  return lrint((double)sample * 32768) + RIG_FRAMES / 2;
}

struct sc_source *rig_open(const struct sc_source_options *options)
{
  struct sc_source *source;
  struct sc_message message = {""};
  enum sc_error error = sc_source_open(options, &source, &message);
  ck_assert_msg(error == SC_OK, "%s", message.text);
  return source;
}
