/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A long capture from end to end: `sidecomb report` of 1 GB of bare samples, the shipped sample
 * over and over, through a pipe. Its largest resident memory has a bound whatever the length. */
#define _GNU_SOURCE /* wait4 */
#include <config.h>

#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "bench/bench.h"
#include "support/support.h"

static const double capture_bytes = 1e9, resident_bound_mb = 60;
enum { SAMPLE_RATE_HZ = 384000, FRAME_BYTES = 2 };

static void give_up(const char *what)
{
  perror(what);
  exit(EXIT_FAILURE);
}

static void *read_sample(size_t *size)
{
  const char *path = support_source_path("samples/kitefield.sigmf-data");
  FILE *file = fopen(path, "rb");
  if (file == NULL || fseek(file, 0, SEEK_END) != 0)
    give_up(path);
  long length = ftell(file);
  rewind(file);
  void *sample = length > 0 ? malloc((size_t)length) : NULL;
  if (sample == NULL || fread(sample, 1, (size_t)length, file) != (size_t)length)
    give_up(path);
  fclose(file);
  *size = (size_t)length;
  return sample;
}

static pid_t start_report(int from)
{
  pid_t child = fork();
  if (child != 0)
    return child;
  int nowhere = open("/dev/null", O_WRONLY);
  if (nowhere < 0 || dup2(from, STDIN_FILENO) < 0 || dup2(nowhere, STDOUT_FILENO) < 0)
    _exit(126);
  execl("./sidecomb", "./sidecomb", "report", "-", "--type", "ci8", "--rate", "384000",
        (char *)NULL);
  _exit(127);
}

/* Returns the bytes that were taken. */
static double pour(int into, const unsigned char *sample, size_t size)
{
  double poured = 0;
  while (poured < capture_bytes) {
    for (size_t at = 0; at < size;) {
      ssize_t written = write(into, sample + at, size - at);
      if (written <= 0)
        give_up("the report stopped reading");
      at += (size_t)written;
    }
    poured += (double)size;
  }
  return poured;
}

static double seconds(const struct timeval *time)
{
  return (double)time->tv_sec + 1e-6 * (double)time->tv_usec;
}

int main(int argc, char **argv)
{
  if (!bench_start(argc, argv))
    return EXIT_FAILURE;
  size_t size;
  unsigned char *sample = read_sample(&size);
  int ends[2];
  if (pipe2(ends, O_CLOEXEC) != 0)
    give_up("pipe");
  pid_t child = start_report(ends[0]);
  if (child < 0)
    give_up("fork");
  close(ends[0]);
  double poured = pour(ends[1], sample, size);
  close(ends[1]);
  free(sample);
  int status;
  struct rusage usage;
  if (wait4(child, &status, 0, &usage) != child || status != 0) {
    fprintf(stderr, "sidecomb report ended with status %d\n", status);
    return EXIT_FAILURE;
  }
  double busy = seconds(&usage.ru_utime) + seconds(&usage.ru_stime);
  double resident_mb = (double)usage.ru_maxrss / 1024;
  bench_say("report_1gb_resident", resident_mb, "MB", resident_bound_mb);
  bench_say("report_1gb_times_real_time", poured / FRAME_BYTES / SAMPLE_RATE_HZ / busy, "x", NAN);
  if (resident_mb >= resident_bound_mb) {
    fprintf(stderr, "more than %.0f MB resident\n", resident_bound_mb);
    return EXIT_FAILURE;
  }
  return bench_end();
}
