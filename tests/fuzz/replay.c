/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Stands in for a fuzzing engine under plain `make check`: replays a target's corpus, and
 * mutations of it that a fixed seed makes. Without arguments the corpus is
 * tests/fuzz/corpus/NAME for the program fuzz_NAME; otherwise the arguments are files.
 * SC_TRIALS sets the mutations of each input, SC_SEED their seed. */
#include <config.h>

#include <dirent.h>
#include <inttypes.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "fuzz/target.h"
#include "support/support.h"

enum { INPUT_MAX = 1 << 20, USUAL_MUTATIONS = 200 };

static uint8_t input[INPUT_MAX], mutated[INPUT_MAX];
static char now[512];

/* The engine would store the input; here its name and number repeat it. */
static void say_where(int number)
{
  static const char text[] = "\nended by a signal at ";
  if (write(STDERR_FILENO, text, sizeof text - 1) < 0 ||
      write(STDERR_FILENO, now, strlen(now)) < 0 || write(STDERR_FILENO, "\n", 1) < 0)
    _exit(EXIT_FAILURE);
  (void)signal(number, SIG_DFL);
  (void)raise(number);
}

static uint64_t step(uint64_t *state)
{
  *state = *state * 6364136223846793005u + 1442695040888963407u;
  return *state >> 33;
}

static size_t cut(uint64_t *state, uint8_t *bytes, size_t size)
{
  (void)bytes;
  return (size_t)(step(state) % (size + 1));
}

static size_t set_byte(uint64_t *state, uint8_t *bytes, size_t size)
{
  static const uint8_t extremes[] = {0, 1, 0x7f, 0x80, 0xff, '"', '-', '9'};
  if (size > 0)
    bytes[step(state) % size] = extremes[step(state) % sizeof extremes];
  return size;
}

static size_t flip_bit(uint64_t *state, uint8_t *bytes, size_t size)
{
  if (size > 0)
    bytes[step(state) % size] ^= (uint8_t)(1u << step(state) % 8);
  return size;
}

static size_t remove_run(uint64_t *state, uint8_t *bytes, size_t size)
{
  size_t at = (size_t)(step(state) % (size + 1));
  size_t length = (size_t)(step(state) % 16) % (size - at + 1);
  memmove(bytes + at, bytes + at + length, size - at - length);
  return size - length;
}

static size_t repeat_run(uint64_t *state, uint8_t *bytes, size_t size)
{
  size_t at = (size_t)(step(state) % (size + 1));
  size_t length = (size_t)(step(state) % 64) % (size - at + 1);
  if (size + length > INPUT_MAX)
    return size;
  memmove(bytes + at + length, bytes + at, size - at);
  return size + length;
}

static size_t mutate(uint64_t *state, uint8_t *bytes, size_t size)
{
  static size_t (*const ways[])(uint64_t *, uint8_t *, size_t) = {cut, set_byte, flip_bit,
                                                                  remove_run, repeat_run};
  for (uint64_t left = 1 + step(state) % 4; left > 0; left--)
    size = ways[step(state) % (sizeof ways / sizeof ways[0])](state, bytes, size);
  return size;
}

static void replay_file(const char *path, uint64_t seed, unsigned mutations)
{
  FILE *file = fopen(path, "rb");
  if (file == NULL) {
    perror(path);
    exit(EXIT_FAILURE);
  }
  size_t size = fread(input, 1, sizeof input, file);
  fclose(file);
  (void)snprintf(now, sizeof now, "%.400s", path);
  LLVMFuzzerTestOneInput(input, size);
  for (unsigned i = 0; i < mutations; i++) {
    uint64_t state = seed + i;
    memcpy(mutated, input, size);
    (void)snprintf(now, sizeof now, "%.400s, mutation %u", path, i);
    LLVMFuzzerTestOneInput(mutated, mutate(&state, mutated, size));
  }
}

static unsigned replay_folder(const char *folder, uint64_t seed, unsigned mutations)
{
  struct dirent **entries;
  int found = scandir(folder, &entries, NULL, alphasort);
  if (found < 0) {
    perror(folder);
    return 0;
  }
  unsigned replayed = 0;
  for (int i = 0; i < found; i++) {
    char path[4096];
    (void)snprintf(path, sizeof path, "%s/%s", folder, entries[i]->d_name);
    if (entries[i]->d_name[0] != '.') {
      replay_file(path, seed, mutations);
      replayed++;
    }
    free(entries[i]);
  }
  free(entries);
  return replayed;
}

static const char *corpus_of(const char *program)
{
  const char *name = strrchr(program, '/');
  name = name != NULL ? name + 1 : program;
  char relative[256];
  (void)snprintf(relative, sizeof relative, "tests/fuzz/corpus/%.100s",
                 strncmp(name, "fuzz_", 5) == 0 ? name + 5 : name);
  return support_source_path(relative);
}

int main(int argc, char **argv)
{
  static const int deaths[] = {SIGSEGV, SIGBUS, SIGABRT, SIGFPE, SIGILL};
  for (size_t i = 0; i < sizeof deaths / sizeof deaths[0]; i++)
    (void)signal(deaths[i], say_where);
  uint64_t seed = support_seed(argv[0], 1);
  unsigned mutations = support_trials(support_long() ? 100 * USUAL_MUTATIONS : USUAL_MUTATIONS);
  unsigned replayed = 0;
  for (int i = 1; i < argc; i++, replayed++)
    replay_file(argv[i], seed, 0);
  if (argc == 1)
    replayed = replay_folder(corpus_of(argv[0]), seed, mutations);
  printf("%u inputs replayed, each with %u mutations\n", replayed, argc > 1 ? 0 : mutations);
  return replayed > 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
