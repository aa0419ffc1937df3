/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Small files that the program writes: whole, or not at all.
 *
 * The bytes go into a file beside the wanted one, which takes its name when all of them are
 * there. Cost: one file; no memory is kept. */
#ifndef SIDECOMB_FILE_H
#define SIDECOMB_FILE_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/api.h>
#include <sidecomb/error.h>

/* Writes `size` bytes to `path`. Without `replace` a file that is there already stays as it is,
 * also one that appears meanwhile. SC_WRITE_FAILED with its line: the disk is full, the folder is
 * not there, the file is, or the path names a folder or a device; nothing is left behind then. */
SC_API SC_MUST_USE enum sc_error sc_file_save(const char *path, const void *bytes, size_t size,
                                              bool replace, struct sc_message *message);

/* Makes the folders that lead to `path`, private to the user, as the XDG Base Directory
 * Specification asks below the home folder. Most are there; what cannot be made, sc_file_save
 * tells.
 */
SC_API void sc_file_make_folders(const char *path);

/* Whether something has that name already. */
SC_API bool sc_file_exists(const char *path);

#endif
