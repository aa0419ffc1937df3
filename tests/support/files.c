/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Temporary files of tests. */
#include <config.h>

#include "support/files.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <check.h>

enum { PATHS = 8, LENGTH = 4096 };

static char folder[LENGTH];

void support_files_setup(void)
{
  const char *top = getenv("SC_BUILDDIR");
  int written = snprintf(folder, sizeof folder, "%s/files-XXXXXX", top != NULL ? top : ".");
  ck_assert_int_lt(written, LENGTH / 2);
  ck_assert_ptr_nonnull(mkdtemp(folder));
}

/* Calls `use` for each file of the folder. */
static size_t walk(int (*use)(const char *path))
{
  DIR *stream = opendir(folder);
  ck_assert_ptr_nonnull(stream);
  size_t count = 0;
  for (struct dirent *entry; (entry = readdir(stream)) != NULL;) {
    if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0)
      continue;
    count++;
    if (use != NULL)
      (void)use(support_file(entry->d_name));
  }
  closedir(stream);
  return count;
}

void support_files_teardown(void)
{
  (void)walk(remove);
  ck_assert_int_eq(rmdir(folder), 0);
}

size_t support_file_count(void)
{
  return walk(NULL);
}

const char *support_file(const char *name)
{
  static char paths[PATHS][2 * LENGTH];
  static unsigned next;
  char *path = paths[next++ % PATHS];
  (void)snprintf(path, sizeof paths[0], "%s/%s", folder, name);
  return path;
}

const char *support_file_write(const char *name, const void *bytes, size_t length)
{
  const char *path = support_file(name);
  (void)remove(path); /* some file systems wait for the disk when a file is written over */
  FILE *file = fopen(path, "wb");
  ck_assert_ptr_nonnull(file);
  ck_assert_uint_eq(fwrite(bytes, 1, length, file), length);
  ck_assert_int_eq(fclose(file), 0);
  return path;
}

unsigned char *support_file_read(const char *path, size_t *length)
{
  FILE *file = fopen(path, "rb");
  ck_assert_ptr_nonnull(file);
  ck_assert_int_eq(fseek(file, 0, SEEK_END), 0);
  long size = ftell(file);
  ck_assert_int_ge(size, 0);
  rewind(file);
  unsigned char *bytes = malloc((size_t)size + 1);
  ck_assert_ptr_nonnull(bytes);
  *length = fread(bytes, 1, (size_t)size, file);
  bytes[*length] = 0;
  ck_assert_int_eq(fclose(file), 0);
  return bytes;
}
