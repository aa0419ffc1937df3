/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* How a call says that the world, or its caller, failed.
 *
 * Three things are kept apart: the caller's mistake (SC_BAD_ARGUMENT, asserted in
 * debug builds), the world's failure (any other code), and "not measurable here",
 * which is no error at all: see quantity.h. The library never prints, exits or
 * aborts. The sentence for the user is written into a message that the caller owns.
 */
#ifndef SIDECOMB_ERROR_H
#define SIDECOMB_ERROR_H

#include <sidecomb/api.h>

/* Code, name and text from one list; tests/common walks it. */
#define SC_ERROR_LIST(entry)                                                                       \
  entry(SC_OK, "no error")                                                                         \
  entry(SC_BAD_ARGUMENT, "an argument is out of its range")                                        \
  entry(SC_NO_MEMORY, "not enough memory")                                                         \
  entry(SC_CANNOT_OPEN, "a file or device cannot be opened")                                       \
  entry(SC_BAD_FORMAT, "a file's content is not what its format promises")                         \
  entry(SC_UNDECIDED, "what the samples are cannot be told from the evidence")                     \
  entry(SC_READ_FAILED, "reading failed")                                                          \
  entry(SC_WRITE_FAILED, "writing failed")                                                         \
  entry(SC_UNSUPPORTED, "the input does not allow this")

#define SC_ERROR_CODE(code, text) code,
enum sc_error { SC_ERROR_LIST(SC_ERROR_CODE) SC_ERROR_COUNT };
#undef SC_ERROR_CODE

/* One line for the user: what, where, what to do. No newline, no control character:
 * text from files is cleaned on its way in. */
struct sc_message {
  char text[512];
};

/* The code's name ("SC_NO_MEMORY") or its general sentence; never NULL. */
SC_API const char *sc_error_name(enum sc_error error);
SC_API const char *sc_error_text(enum sc_error error);

/* Writes a formatted line into `message` (may be NULL) and returns `error`, so that a
 * failure is one statement: return sc_fail(message, SC_BAD_FORMAT, "...", ...). The
 * text is cleaned: valid UTF-8, control and format characters become a question mark. */
SC_API enum sc_error sc_fail(struct sc_message *message, enum sc_error error, const char *format,
                             ...) SC_PRINTF(3, 4);

#endif
