/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The table of sample types against the grammar of the SigMF standard, and its converters
 * against numbers that can be checked by hand. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <check.h>

#include <sidecomb/capture.h>

#include "capture/suites.h"
#include "capture/types.h"
#include "support/random.h"
#include "support/support.h"

/* SigMF 1.0, "Dataset Format": type = ("c" | "r") ((bits "_" endian) | byte), where a width of
 * 8 bits has no byte order. The whole language, written out by its rule. */
START_TEST(names_are_those_of_the_standard)
{
  static const char *const stems[] = {"f32", "f64", "i32", "i16", "u32", "u16"};
  size_t expected = 0, found = 0;
  for (const char *first = "cr"; *first != 0; first++) {
    char name[16];
    for (size_t i = 0; i < 6; i++)
      for (int big = 0; big < 2; big++) {
        (void)snprintf(name, sizeof name, "%c%s_%s", *first, stems[i], big ? "be" : "le");
        ck_assert_msg(capture_type_find(name) != NULL, "%s", name);
        expected++;
      }
    for (const char *byte = "iu"; *byte != 0; byte++) {
      (void)snprintf(name, sizeof name, "%c%c8", *first, *byte);
      ck_assert_msg(capture_type_find(name) != NULL, "%s", name);
      expected++;
    }
  }
  for (const struct capture_type *type = capture_types; type->name != NULL; type++)
    found++;
  ck_assert_uint_eq(found, expected);
}
END_TEST

START_TEST(entries_agree_with_their_names)
{
  for (const struct capture_type *type = capture_types; type->name != NULL; type++) {
    unsigned bits = 0;
    ck_assert_int_eq(sscanf(type->name + 2, "%u", &bits), 1);
    ck_assert_uint_eq(type->bytes * 8, bits);
    ck_assert_uint_eq(type->bits, type->name[1] == 'f' ? 0 : bits);
    ck_assert_int_eq(type->is_complex, type->name[0] == 'c');
    ck_assert_ptr_eq(capture_type_find(type->name), type);
    ck_assert_ptr_nonnull(strstr(type->words, type->is_complex ? "complex" : "real"));
  }
}
END_TEST

START_TEST(public_list_is_the_table)
{
  const char *const *names = sc_source_type_names();
  size_t i = 0;
  for (; capture_types[i].name != NULL; i++)
    ck_assert_str_eq(names[i], capture_types[i].name);
  ck_assert_ptr_null(names[i]);
}
END_TEST

static float decode_one(const char *name, const unsigned char *bytes)
{
  float value = 99;
  capture_type_find(name)->decode(bytes, &value, 1);
  return value;
}

/* Bytes by the definition of two's complement and of IEEE 754 (1.0 is 3f800000 and
 * 3ff0000000000000, -0.15625 is be200000: the worked example of many textbooks). */
START_TEST(known_codes_have_known_values)
{
  static const struct {
    const char *name;
    unsigned char bytes[8];
    double value;
  } known[] = {
      {"ri8", {0x00}, 0},
      {"ri8", {0x40}, 0.5},
      {"ri8", {0x80}, -1},
      {"ri8", {0x7f}, 127.0 / 128},
      {"ri16_le", {0x00, 0x40}, 0.5},
      {"ri16_be", {0x40, 0x00}, 0.5},
      {"ri16_le", {0x00, 0x80}, -1},
      {"ri16_be", {0xff, 0xff}, -1.0 / 32768},
      {"ri32_le", {0x00, 0x00, 0x00, 0xc0}, -0.5},
      {"ri32_be", {0x40, 0x00, 0x00, 0x00}, 0.5},
      {"ru8", {0xff}, 127.5 / 128},
      {"ru8", {0x00}, -127.5 / 128},
      {"ru8", {0x80}, 0.5 / 128},
      {"ru16_le", {0xff, 0x7f}, -0.5 / 32768},
      {"ru16_be", {0xff, 0xff}, 32767.5 / 32768},
      {"ru32_le", {0x00, 0x00, 0x00, 0x80}, 0},
      {"ru32_be", {0xc0, 0x00, 0x00, 0x00}, 0.5},
      {"rf32_le", {0x00, 0x00, 0x80, 0x3f}, 1},
      {"rf32_be", {0xbe, 0x20, 0x00, 0x00}, -0.15625},
      {"rf64_le", {0, 0, 0, 0, 0, 0, 0xf0, 0x3f}, 1},
      {"rf64_be", {0xbf, 0xc4, 0, 0, 0, 0, 0, 0}, -0.15625},
  };
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
    float value = decode_one(known[i].name, known[i].bytes);
    ck_assert_msg((double)value == known[i].value, "%s, entry %zu: %.9g", known[i].name, i,
                  (double)value);
  }
}
END_TEST

/* A silent converter's codes lie around 127.5, so their mean must be free of DC. */
START_TEST(unsigned_bytes_are_centred)
{
  unsigned char bytes[256];
  float values[256];
  double sum = 0;
  for (unsigned i = 0; i < 256; i++)
    bytes[i] = (unsigned char)i;
  capture_type_find("cu8")->decode(bytes, values, 256);
  for (unsigned i = 0; i < 256; i++)
    sum += (double)values[i];
  ck_assert(sum == 0);
}
END_TEST

START_TEST(ends_of_the_range_are_the_coded_ends)
{
  for (const struct capture_type *type = capture_types; type->name != NULL; type++) {
    double ends[2] = {-10, 10};
    unsigned char bytes[16];
    float back[2];
    if (type->bits == 0)
      continue;
    type->encode(ends, NULL, bytes, 2);
    type->decode(bytes, back, 2);
    ck_assert_msg(back[0] == type->low && back[1] == type->high, "%s: %.9g %.9g", type->name,
                  (double)back[0], (double)back[1]);
  }
}
END_TEST

/* Half a step, or what a float leaves of it. */
static double tolerance(const struct capture_type *type)
{
  return type->bits == 0 ? 1e-7 : fmax(ldexp(0.5000001, 1 - (int)type->bits), 1e-7);
}

/* Lengths around the vector widths, at all alignments: what loops get wrong. */
START_TEST(every_type_survives_the_way_there_and_back)
{
  enum { MOST = 67 };
  uint64_t state = support_seed("every_type_survives_the_way_there_and_back", 4711);
  for (const struct capture_type *type = capture_types; type->name != NULL; type++)
    for (size_t count = 0; count <= MOST; count++) {
      double in[MOST];
      float out[MOST];
      unsigned char bytes[MOST * 8 + 8];
      size_t shift = count % 8;
      for (size_t i = 0; i < count; i++)
        in[i] = 0.99 * support_uniform(&state);
      type->encode(in, NULL, bytes + shift, count);
      type->decode(bytes + shift, out, count);
      for (size_t i = 0; i < count; i++)
        ck_assert_msg(fabs((double)out[i] - in[i]) <= tolerance(type), "%s [%zu of %zu]: %g -> %g",
                      type->name, i, count, in[i], (double)out[i]);
    }
}
END_TEST

START_TEST(not_a_number_is_written_as_nothing)
{
  double in[1] = {(double)NAN};
  unsigned char bytes[2];
  float out[1];
  capture_type_find("ri16_le")->encode(in, NULL, bytes, 1);
  capture_type_find("ri16_le")->decode(bytes, out, 1);
  ck_assert(out[0] == 0);
}
END_TEST

static void check_refusal(const char *name, const char *part)
{
  struct sc_message message;
  ck_assert_int_eq(capture_type_refuse("--type", name, &message), SC_BAD_ARGUMENT);
  ck_assert_msg(strstr(message.text, part) != NULL, "%s", message.text);
}

START_TEST(refusals_say_what_to_write)
{
  check_refusal("ci16", "ci16_le (usual) or ci16_be");
  check_refusal("rf64", "rf64_le");
  check_refusal("ri24", "no sample type ri24");
  check_refusal("", "no sample type");
  check_refusal("a name that is far longer than any type can be, and then some", "no sample type");
}
END_TEST

Suite *types_suite(void)
{
  Suite *suite = suite_create("types");
  TCase *table = tcase_create("table");
  tcase_add_test(table, names_are_those_of_the_standard);
  tcase_add_test(table, entries_agree_with_their_names);
  tcase_add_test(table, public_list_is_the_table);
  tcase_add_test(table, refusals_say_what_to_write);
  suite_add_tcase(suite, table);
  TCase *converters = tcase_create("converters");
  tcase_add_test(converters, known_codes_have_known_values);
  tcase_add_test(converters, unsigned_bytes_are_centred);
  tcase_add_test(converters, ends_of_the_range_are_the_coded_ends);
  tcase_add_test(converters, every_type_survives_the_way_there_and_back);
  tcase_add_test(converters, not_a_number_is_written_as_nothing);
  suite_add_tcase(suite, converters);
  return suite;
}
