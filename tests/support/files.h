/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A folder of its own for each test that writes files: inside the build folder, and gone
 * afterwards. */
#ifndef SIDECOMB_TESTS_SUPPORT_FILES_H
#define SIDECOMB_TESTS_SUPPORT_FILES_H

#include <stddef.h>

/* Makes the folder; to be used as the two halves of a checked fixture. */
void support_files_setup(void);
void support_files_teardown(void);

/* Path of a file in that folder. A few of them stay valid at a time. */
const char *support_file(const char *name);
/* Writes `length` bytes under that name, and returns its path. */
const char *support_file_write(const char *name, const void *bytes, size_t length);
/* Reads a whole file (any path); the caller frees it. */
unsigned char *support_file_read(const char *path, size_t *length);
/* How many files the folder holds now. */
size_t support_file_count(void);

#endif
