/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A file written whole or not at all: a part beside it is renamed, or linked where nothing may be
 * replaced, since a link never takes the place of a file. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <sidecomb/file.h>

#include "capture/notice.h"

bool sc_file_exists(const char *path)
{
  struct stat there;
  return lstat(path, &there) == 0;
}

void sc_file_make_folders(const char *path)
{
  char part[PATH_MAX];
  for (const char *slash = strchr(path + 1, '/'); slash != NULL; slash = strchr(slash + 1, '/')) {
    int length = snprintf(part, sizeof part, "%.*s", (int)(slash - path), path);
    if (length > 0 && (size_t)length < sizeof part)
      (void)mkdir(part, 0700);
  }
}

static enum sc_error refuse(const char *path, struct sc_message *message)
{
  char shown[CAPTURE_SHOWN_LENGTH];
  return sc_fail(message, SC_WRITE_FAILED, "%s: cannot be written: %s", capture_shown(shown, path),
                 strerror(errno));
}

static enum sc_error refuse_there(const char *path, struct sc_message *message)
{
  char shown[CAPTURE_SHOWN_LENGTH];
  return sc_fail(message, SC_WRITE_FAILED,
                 "%s: is there already; name another file, or say --replace",
                 capture_shown(shown, path));
}

static enum sc_error look(const char *path, bool replace, struct sc_message *message)
{
  struct stat there;
  char shown[CAPTURE_SHOWN_LENGTH];
  if (stat(path, &there) != 0)
    return SC_OK;
  if (!S_ISREG(there.st_mode))
    return sc_fail(message, SC_WRITE_FAILED, "%s: cannot be written: it is no plain file",
                   capture_shown(shown, path));
  return replace ? SC_OK : refuse_there(path, message);
}

static bool fill(const char *part, const void *bytes, size_t size)
{
  FILE *file = fopen(part, "wbx");
  if (file == NULL)
    return false;
  bool good = size == 0 || fwrite(bytes, 1, size, file) == size;
  int why = errno;
  bool closed = fclose(file) == 0;
  if (good && closed)
    return true;
  if (!good)
    errno = why;
  return false;
}

/* Some file systems know no links; there a short race remains. */
static bool name_new(const char *part, const char *path)
{
  if (link(part, path) == 0) {
    (void)remove(part);
    return true;
  }
  if (errno == EEXIST || sc_file_exists(path)) {
    errno = EEXIST;
    return false;
  }
  return rename(part, path) == 0;
}

enum sc_error sc_file_save(const char *path, const void *bytes, size_t size, bool replace,
                           struct sc_message *message)
{
  char part[PATH_MAX];
  int length = snprintf(part, sizeof part, "%s.part%ld", path, (long)getpid());
  if (path[0] == '\0' || length < 0 || (size_t)length >= sizeof part)
    return sc_fail(message, SC_BAD_ARGUMENT, "the name of the file to write is empty or too long");
  enum sc_error error = look(path, replace, message);
  if (error != SC_OK)
    return error;
  bool good = fill(part, bytes, size) && (replace ? rename(part, path) == 0 : name_new(part, path));
  if (good)
    return SC_OK;
  error = errno == EEXIST && !replace && sc_file_exists(path) ? refuse_there(path, message)
                                                              : refuse(path, message);
  (void)remove(part);
  return error;
}
