/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Running Check suites, and the environment variables that steer the tests. */
#include <config.h>

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/support.h"

int support_run(Suite *(*const makers[])(void), size_t count)
{
  SRunner *runner = srunner_create(NULL);
  for (size_t i = 0; i < count; i++)
    srunner_add_suite(runner, makers[i]());
  srunner_run_all(runner, CK_ENV);
  int ran = srunner_ntests_run(runner);
  int failed = srunner_ntests_failed(runner);
  srunner_free(runner);
  if (ran == 0)
    fputs("no check was run\n", stderr);
  return ran > 0 && failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}

bool support_long(void)
{
  const char *value = getenv("SC_LONG");
  return value != NULL && strcmp(value, "1") == 0;
}

unsigned support_trials(unsigned usual)
{
  const char *value = getenv("SC_TRIALS");
  unsigned long trials = value != NULL ? strtoul(value, NULL, 10) : usual;
#ifdef SC_SANITIZED
  trials /= 10;
#endif
  return trials > 0 ? (unsigned)trials : 1;
}

unsigned support_stride(unsigned sanitized)
{
#ifdef SC_SANITIZED
  return sanitized;
#else
  (void)sanitized;
  return 1;
#endif
}

double support_mean_square_limit(unsigned trials)
{
  const double third = 2.0 / (9.0 * trials); /* Wilson and Hilferty 1931, at 4 sigma */
  return pow(1.0 - third + 4.0 * sqrt(third), 3.0);
}

uint64_t support_seed(const char *test, uint64_t fixed)
{
  const char *value = getenv("SC_SEED");
  uint64_t seed = value != NULL ? strtoull(value, NULL, 0) : fixed;
  printf("%s: SC_SEED=%" PRIu64 "\n", test, seed);
  fflush(stdout);
  return seed;
}

const char *support_source_path(const char *relative)
{
  static char path[4096];
  const char *top = getenv("SC_SRCDIR");
  snprintf(path, sizeof path, "%s/%s", top != NULL ? top : ".", relative);
  return path;
}
