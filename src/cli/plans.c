/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <limits.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/file.h>
#include <sidecomb/plans.h>

#include "cli/plans.h"

/* Of some kilobytes; whatever is longer was not written here. */
enum { LONGEST = 1 << 18 };

static bool find(char *path)
{
  const char *folder = getenv("XDG_CACHE_HOME"), *home = getenv("HOME");
  int length = -1;
  if (folder != NULL && folder[0] == '/') /* others are to be ignored */
    length = snprintf(path, PATH_MAX, "%s/sidecomb/plans", folder);
  else if (home != NULL && home[0] == '/')
    length = snprintf(path, PATH_MAX, "%s/.cache/sidecomb/plans", home);
  return length > 0 && length < PATH_MAX;
}

void cli_plans_load(void)
{
  char path[PATH_MAX];
  FILE *file = find(path) ? fopen(path, "rb") : NULL;
  char *text = malloc(LONGEST);
  if (file != NULL && text != NULL) {
    size_t length = fread(text, 1, LONGEST - 1, file);
    text[length] = '\0';
    (void)sc_plans_take(text); /* else trials are made again */
  }
  if (file != NULL)
    (void)fclose(file);
  free(text);
}

void cli_plans_save(void)
{
  char path[PATH_MAX];
  struct sc_message unsaid;
  char *text = sc_plans_text();
  if (text != NULL && find(path)) {
    sc_file_make_folders(path);
    if (sc_file_save(path, text, strlen(text), true, &unsaid) != SC_OK)
      unsaid.text[0] = '\0'; /* the next run tries again */
  }
  free(text);
}
