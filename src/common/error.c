/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Error codes, their texts, and the one line that a user reads. */
#include <config.h>

#include <stdarg.h>
#include <stdio.h>

#include <sidecomb/error.h>

#include "common/text.h"

struct entry {
  const char *name;
  const char *text;
};

#define ERROR_ENTRY(code, text) {#code, text},
static const struct entry entries[] = {SC_ERROR_LIST(ERROR_ENTRY)};
#undef ERROR_ENTRY

static const struct entry *find(enum sc_error error)
{
  static const struct entry unknown = {"SC_UNKNOWN", "unknown error"};
  return (unsigned)error < SC_ERROR_COUNT ? &entries[error] : &unknown;
}

const char *sc_error_name(enum sc_error error)
{
  return find(error)->name;
}

const char *sc_error_text(enum sc_error error)
{
  return find(error)->text;
}

enum sc_error sc_fail(struct sc_message *message, enum sc_error error, const char *format, ...)
{
  if (message == NULL)
    return error;
  va_list arguments;
  va_start(arguments, format);
  (void)vsnprintf(message->text, sizeof message->text, format, arguments);
  va_end(arguments);
  common_clean_string(message->text);
  return error;
}
