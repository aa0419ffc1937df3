/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the containers share when they open: files, names, and who opens what. */
#ifndef SIDECOMB_CAPTURE_OPEN_H
#define SIDECOMB_CAPTURE_OPEN_H

#include "capture/container.h"
#include "capture/types.h"

/* Opens a regular file for reading; refuses anything else. On failure *descriptor is -1. */
enum sc_error capture_open_file(const char *path, int *descriptor, uint64_t *size,
                                struct sc_message *message);
/* The same for an input, which may be "-", standard input: a regular file too, under a descriptor
 * of its own, read from byte *start, where it stands; *size are the bytes from there on. */
enum sc_error capture_open_input(const char *path, int *descriptor, uint64_t *start, uint64_t *size,
                                 struct sc_message *message);
/* capture_shown of an input's path. */
const char *capture_input_shown(char *out, const char *path);
/* Reads a whole regular file of at most `most` bytes; *text is ended by a zero byte and to be
 * freed by the caller. */
enum sc_error capture_read_whole(const char *path, size_t most, char **text, size_t *length,
                                 struct sc_message *message);
/* Sets capture->name to the last part of `path`, clean. */
void capture_name(struct capture *capture, const char *path);

/* The containers. `shown` is options->path as messages may show it. */
enum sc_error capture_soundfile_open(const struct sc_source_options *options,
                                     struct capture **capture, struct sc_message *message);
enum sc_error capture_sigmf_open(const struct sc_source_options *options, struct capture **capture,
                                 struct sc_message *message);
/* Whether the descriptor has something to read, or has ended, within so many milliseconds; false
 * also when a signal came. */
bool capture_wait(int descriptor, int timeout_ms);

/* Takes over the descriptor, except standard input. */
enum sc_error capture_pipe_open(int descriptor, const char *path, const struct capture_type *type,
                                double rate_hz, struct capture **capture,
                                struct sc_message *message);
/* The pipe goes on when its writer has left, with a gap before the next one's samples. Its
 * descriptor was opened for writing too, so that it never ends. */
enum sc_error capture_pipe_follow(struct capture *capture, const char *path,
                                  struct sc_message *message);
/* Whether `path` names a SigMF recording: either half, or both halves' common base name. */
bool capture_sigmf_named(const char *path);
/* What a sound file that begins with these bytes is marked by; NULL: it is none. */
const char *capture_sound_mark(const unsigned char *head, size_t length);
/* Whether `path` names the half with the samples. */
bool capture_sigmf_data(const char *path);

#endif
