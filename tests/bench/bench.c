/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the benchmarks share: a clock, and lines for people and for comparing with older runs. */
#include "bench/bench.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>

static FILE *json;

bool bench_start(int argc, char **argv)
{
  if (argc == 1)
    return true;
  if (argc != 3 || strcmp(argv[1], "--json") != 0) {
    fprintf(stderr, "usage: %s [--json FILE]\n", argv[0]);
    return false;
  }
  json = fopen(argv[2], "a");
  if (!json)
    perror(argv[2]);
  return json;
}

void bench_say(const char *name, double value, const char *unit, double reference)
{
  printf("%-36s %10.4g %-10s", name, value, unit);
  if (isfinite(reference))
    printf(" against %10.4g: %.3f", reference, value / reference);
  putchar('\n');
  fflush(stdout);
  if (!json)
    return;
  fprintf(json, "{\"name\": \"%s\", \"value\": %.6g, \"unit\": \"%s\", \"reference\": ", name,
          value, unit);
  fprintf(json, isfinite(reference) ? "%.6g}\n" : "null}\n", reference);
}

static double seconds_of(clockid_t clock)
{
  struct timespec now;
  clock_gettime(clock, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

double bench_seconds(void)
{
  return seconds_of(CLOCK_PROCESS_CPUTIME_ID);
}

double bench_wall_seconds(void)
{
  return seconds_of(CLOCK_MONOTONIC);
}

double bench_resident_mb(void)
{
  struct rusage usage;
  getrusage(RUSAGE_SELF, &usage);
  return (double)usage.ru_maxrss / 1024;
}

int bench_end(void)
{
  if (json && (ferror(json) | fclose(json))) {
    perror("writing the figures");
    return EXIT_FAILURE;
  }
  return EXIT_SUCCESS;
}
