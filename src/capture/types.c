/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The table of raw sample types; the option's help, the reader, the writer and the tests
 * walk it. */
#include <config.h>

#include "capture/types.h"

#include <stdio.h>
#include <string.h>

#include <sidecomb/capture.h>

#include "capture/decode.h"

#define UNSIGNED_8_END 0.99609375f          /* 127.5 / 128 */
#define UNSIGNED_16_END 0.9999847412109375f /* 32767.5 / 32768 */

#define TYPE(name, words, is_complex, bits, bytes, low, high)                                      \
  {                                                                                                \
    (is_complex) ? "c" #name : "r" #name, (is_complex) ? "complex " words : "real " words,         \
        is_complex, bytes, bits, low, high, capture_decode_##name, capture_encode_##name           \
  }
#define BOTH(name, words, bits, bytes, low, high)                                                  \
  TYPE(name, words, true, bits, bytes, low, high), TYPE(name, words, false, bits, bytes, low, high)

const struct capture_type capture_types[] = {
    BOTH(u8, "8-bit unsigned", 8, 1, -UNSIGNED_8_END, UNSIGNED_8_END),
    BOTH(i8, "8-bit signed", 8, 1, -1, 127 / 128.f),
    BOTH(u16_le, "16-bit unsigned, little-endian", 16, 2, -UNSIGNED_16_END, UNSIGNED_16_END),
    BOTH(u16_be, "16-bit unsigned, big-endian", 16, 2, -UNSIGNED_16_END, UNSIGNED_16_END),
    BOTH(i16_le, "16-bit signed, little-endian", 16, 2, -1, 32767 / 32768.f),
    BOTH(i16_be, "16-bit signed, big-endian", 16, 2, -1, 32767 / 32768.f),
    BOTH(u32_le, "32-bit unsigned, little-endian", 32, 4, -1, 1),
    BOTH(u32_be, "32-bit unsigned, big-endian", 32, 4, -1, 1),
    BOTH(i32_le, "32-bit signed, little-endian", 32, 4, -1, 1),
    BOTH(i32_be, "32-bit signed, big-endian", 32, 4, -1, 1),
    BOTH(f32_le, "32-bit float, little-endian", 0, 4, -1, 1),
    BOTH(f32_be, "32-bit float, big-endian", 0, 4, -1, 1),
    BOTH(f64_le, "64-bit float, little-endian", 0, 8, -1, 1),
    BOTH(f64_be, "64-bit float, big-endian", 0, 8, -1, 1),
    {0},
};

const struct capture_type *capture_type_find(const char *name)
{
  for (const struct capture_type *type = capture_types; type->name != NULL; type++)
    if (strcmp(type->name, name) == 0)
      return type;
  return NULL;
}

/* Length up to and without a byte order, if `name` is one of the table's names cut short. */
static bool lacks_byte_order(const char *name)
{
  char whole[16];
  if (strlen(name) > 8)
    return false;
  snprintf(whole, sizeof whole, "%.8s_le", name);
  return capture_type_find(whole) != NULL;
}

enum sc_error capture_type_refuse(const char *where, const char *name, struct sc_message *message)
{
  if (lacks_byte_order(name))
    return sc_fail(message, SC_BAD_ARGUMENT,
                   "%s: sample type %s lacks its byte order: write %s_le (usual) or %s_be", where,
                   name, name, name);
  return sc_fail(message, SC_BAD_ARGUMENT,
                 "%s: no sample type %.40s: write for example cu8, ci8, ci16_le, cf32_le for "
                 "complex samples, ri16_le, rf32_le for real ones",
                 where, name);
}

const char *const *sc_source_type_names(void)
{
  static const char *names[sizeof capture_types / sizeof capture_types[0]];
  for (size_t i = 0; capture_types[i].name != NULL; i++)
    names[i] = capture_types[i].name;
  return names;
}
