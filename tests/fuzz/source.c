/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Reads a hostile capture the way the program does, and checks what the header promises. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "common/text.h"
#include "fuzz/source.h"

enum { FILES_MAX = 4, BLOCK_FRAMES = 4096, BLOCKS_MAX = 64 };

static char folder[64];
static struct {
  char path[128];
} files[FILES_MAX];
static size_t file_count;

static void demand(int condition, const char *what)
{
  if (condition)
    return;
  (void)fprintf(stderr, "broken promise: %s\n", what);
  abort();
}

static void clear(void)
{
  for (size_t i = 0; i < file_count; i++)
    (void)unlink(files[i].path);
  (void)rmdir(folder);
}

static void make_folder(void)
{
  if (folder[0] != '\0')
    return;
  (void)snprintf(folder, sizeof folder, "%s", "/tmp/sidecomb-fuzz-XXXXXX");
  demand(mkdtemp(folder) != NULL, "a temporary folder can be made");
  (void)atexit(clear);
}

static const char *path_of(const char *name)
{
  char path[128];
  (void)snprintf(path, sizeof path, "%s/%.40s", folder, name);
  for (size_t i = 0; i < file_count; i++)
    if (strcmp(files[i].path, path) == 0)
      return files[i].path;
  demand(file_count < FILES_MAX, "few files are enough");
  memcpy(files[file_count].path, path, sizeof path);
  return files[file_count++].path;
}

const char *fuzz_file(const char *name, const void *data, size_t size)
{
  make_folder();
  const char *path = path_of(name);
  FILE *file = fopen(path, "wb");
  demand(file != NULL, "a temporary file can be written");
  demand(fwrite(data, 1, size, file) == size, "a temporary file can be filled");
  demand(fclose(file) == 0, "a temporary file can be closed");
  return path;
}

static void demand_clean(const char *text, const char *what)
{
  char cleaned[1024];
  size_t length = strlen(text);
  demand(length < sizeof cleaned, what);
  (void)common_clean(cleaned, sizeof cleaned, text, length);
  demand(strcmp(cleaned, text) == 0, what);
}

static void check_block(const struct sc_block *block, unsigned channels)
{
  demand(block->frames <= BLOCK_FRAMES, "no more frames than asked for");
  demand(block->channels == channels, "as many channels as the source says");
  for (size_t i = 0; i < block->frames * block->channels; i++)
    demand(isfinite(block->samples[i]), "samples are finite");
}

static void check_info(const struct sc_source *source)
{
  const struct sc_source_info *info = sc_source_info(source);
  demand(info->sample_rate_hz > 0 && isfinite(info->sample_rate_hz), "a usable rate");
  demand(info->kind != SC_KIND_UNDECIDED, "a kind");
  demand(isfinite(info->centre_hz), "a finite centre");
  demand_clean(info->name, "a clean name");
  demand_clean(info->format, "a clean format");
  demand_clean(info->kind_reason, "a clean reason");
  for (size_t i = 0; i < info->annotation_count; i++)
    demand_clean(info->annotations[i].text, "clean annotations");
}

static void check_notices(const struct sc_source *source)
{
  struct sc_notices notices;
  sc_source_notices(source, &notices);
  demand(notices.count <= SC_NOTICES_MAX, "notices are bounded");
  for (size_t i = 0; i < notices.count; i++)
    demand_clean(notices.text[i], "clean notices");
}

static enum sc_error read_some(struct sc_source *source, struct sc_message *message)
{
  unsigned channels = sc_source_info(source)->channels;
  for (int i = 0; i < BLOCKS_MAX; i++) {
    struct sc_block block;
    enum sc_error error = sc_source_read(source, BLOCK_FRAMES, &block, message);
    if (error != SC_OK || block.frames == 0)
      return error;
    check_block(&block, channels);
  }
  return SC_OK;
}

void fuzz_read(const struct sc_source_options *options)
{
  struct sc_source *source = NULL;
  struct sc_message message = {""};
  enum sc_error error = sc_source_open(options, &source, &message);
  demand((error == SC_OK) == (source != NULL), "a source exactly when opening went well");
  if (error == SC_OK) {
    check_info(source);
    error = read_some(source, &message);
    if (error == SC_OK && sc_source_seek(source, 1) == SC_OK)
      error = read_some(source, &message);
    check_notices(source);
  }
  sc_source_close(source);
  demand(error == SC_OK || message.text[0] != '\0', "a failure says a line");
  demand_clean(message.text, "a clean line");
}
