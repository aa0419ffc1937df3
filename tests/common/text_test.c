/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Clean text, against the Unicode Character Database and The Unicode Standard's examples. */
#include <config.h>

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "common/suites.h"
#include "common/text.h"
#include "support/support.h"

enum { CODE_POINTS = 0x110000, RANDOM_TEXTS = 200000 };

static const uint64_t seed_of_random_bytes = 20261125;

static size_t encode(uint32_t code, char *out)
{
  if (code < 0x80) {
    out[0] = (char)code;
    return 1;
  }
  size_t length = code < 0x800 ? 2 : code < 0x10000 ? 3 : 4;
  for (size_t i = length - 1; i > 0; i--, code >>= 6)
    out[i] = (char)(0x80 | (code & 0x3f));
  out[0] = (char)((0xf00 >> length) | code);
  return length;
}

static void check_clean(const char *text, size_t length, const char *expected)
{
  char out[64];
  ck_assert_uint_eq(common_clean(out, sizeof out, text, length), strlen(expected));
  ck_assert_str_eq(out, expected);
}

/* Marks the ranges of tests/reference/unwanted-characters.txt, which names its source. */
static void read_reference(bool *unwanted)
{
  FILE *file = fopen(support_source_path("tests/reference/unwanted-characters.txt"), "r");
  ck_assert_ptr_nonnull(file);
  char line[128];
  unsigned ranges = 0;
  while (fgets(line, sizeof line, file) != NULL) {
    unsigned first, last;
    if (line[0] == '#')
      continue;
    ck_assert_int_eq(sscanf(line, "%x %x", &first, &last), 2);
    ck_assert_uint_lt(last, CODE_POINTS);
    for (unsigned code = first; code <= last; code++)
      unwanted[code] = true;
    ranges++;
  }
  fclose(file);
  ck_assert_uint_gt(ranges, 20);
}

/* Replaced although the database has no category for them yet: noncharacters (The Unicode
 * Standard, section 23.7), reserved default ignorable code points (its table of properties,
 * U+2065, U+FFF0 to U+FFF8, U+E0000 to U+E0FFF), and the rest of the Egyptian hieroglyph
 * format controls (from memory: assigned in version 15). */
static bool is_reserved(uint32_t code)
{
  return (code & 0xfffe) == 0xfffe || (code >= 0xfdd0 && code <= 0xfdef) || code == 0x2065 ||
         (code >= 0xfff0 && code <= 0xfff8) || (code >= 0x13439 && code <= 0x1343f) ||
         (code >= 0xe0000 && code <= 0xe00ff);
}

START_TEST(every_code_point_is_kept_or_replaced_as_its_category_says)
{
  bool *unwanted = calloc(CODE_POINTS, sizeof *unwanted);
  ck_assert_ptr_nonnull(unwanted);
  read_reference(unwanted);
  for (uint32_t code = 0; code < CODE_POINTS; code++) {
    if (code >= 0xd800 && code <= 0xdfff)
      continue;
    char text[4], out[8];
    size_t length = encode(code, text);
    size_t written = common_clean(out, sizeof out, text, length);
    bool kept = written == length && memcmp(text, out, length) == 0;
    bool wanted = code == '?' || !(unwanted[code] || is_reserved(code));
    if (kept != wanted || (!kept && strcmp(out, "?") != 0))
      ck_abort_msg("U+%04X %s", code, kept ? "kept" : "replaced");
  }
  free(unwanted);
}
END_TEST

START_TEST(a_terminal_gets_no_escape_sequence)
{
  check_clean("\x1b]0;x\x07", 6, "?]0;x?");
  check_clean("a\xc2\x9b"
              "2J",
              5, "a?2J");
  check_clean("a\r\n\tb\x7f", 6, "a???b?");
  check_clean("x\0y", 3, "x?y");
}
END_TEST

START_TEST(the_direction_of_text_cannot_be_turned)
{
  check_clean("abc\xe2\x80\xae"
              "fed",
              9, "abc?fed");
}
END_TEST

/* The Unicode Standard, version 14, table 3-8 and the example of conformant replacement of
 * maximal subparts in tables 3-9 to 3-11 (section 3.9). */
START_TEST(broken_sequences_are_replaced_by_their_maximal_parts)
{
  check_clean("\xc0\xaf\xe0\x80\xbf\xf0\x81\x82\x41", 9, "????????A");
  check_clean("\xed\xa0\x80\xed\xbf\xbf\xed\xaf\x41", 9, "????????A");
  check_clean("\xf4\x91\x92\x93\xff\x41\x80\xbf\x42", 9, "?????A??B");
  check_clean("\xe1\x80\xe2\xf0\x91\x92\xf1\xbf\x41", 9, "????A");
}
END_TEST

START_TEST(a_sequence_cut_by_the_end_is_one_replacement)
{
  check_clean("ab\xe2\x82", 4, "ab?");
  check_clean("\xf0\x9f\x98", 3, "?");
  check_clean("", 0, "");
}
END_TEST

START_TEST(good_text_is_not_changed)
{
  const char *text = "Zürich 38 kHz \xe2\x88\x92\x33\x34 dB \xf0\x9d\x84\x9e";
  check_clean(text, strlen(text), text);
}
END_TEST

START_TEST(text_is_cut_between_characters)
{
  char out[5];
  ck_assert_uint_eq(common_clean(out, sizeof out, "abc\xc3\xa9", 5), 3);
  ck_assert_str_eq(out, "abc");
  ck_assert_uint_eq(common_clean(out, 1, "a", 1), 0);
  ck_assert_str_eq(out, "");
}
END_TEST

START_TEST(a_string_is_cleaned_in_place)
{
  char text[] = "a\xe2\x80\x8b"
                "b\xff\xc3\xa9";
  common_clean_string(text);
  ck_assert_str_eq(text, "a?b?\xc3\xa9");
}
END_TEST

static uint64_t step(uint64_t *state)
{
  *state = *state * 6364136223846793005u + 1442695040888963407u;
  return *state >> 33;
}

/* Bytes that make broken and good sequences more often than uniform ones would. */
static size_t random_text(uint64_t *state, char *text, size_t max)
{
  static const unsigned char heads[] = {0xc2, 0xe0, 0xe2, 0xed, 0xef, 0xf0, 0xf4, 0x1b};
  size_t length = (size_t)(step(state) % max);
  for (size_t i = 0; i < length; i++) {
    uint64_t byte = step(state);
    uint64_t choice = step(state) % 4;
    text[i] = (char)(choice == 0   ? heads[byte % sizeof heads]
                     : choice == 1 ? byte & 0xff
                                   : 0x80 | (byte & 0x3f));
  }
  return length;
}

START_TEST(clean_text_stays_as_it_is)
{
  uint64_t state = support_seed("clean_text_stays_as_it_is", seed_of_random_bytes);
  unsigned trials = support_trials(RANDOM_TEXTS);
  for (unsigned i = 0; i < trials; i++) {
    char text[24], once[32], twice[32];
    size_t length = random_text(&state, text, sizeof text);
    size_t first = common_clean(once, sizeof once, text, length);
    ck_assert_uint_le(first, length);
    ck_assert_uint_eq(strlen(once), first);
    ck_assert_uint_eq(common_clean(twice, sizeof twice, once, first), first);
    ck_assert_mem_eq(once, twice, first + 1);
  }
}
END_TEST

Suite *text_suite(void)
{
  Suite *suite = suite_create("text");
  TCase *characters = tcase_create("characters");
  tcase_add_test(characters, every_code_point_is_kept_or_replaced_as_its_category_says);
  tcase_add_test(characters, a_terminal_gets_no_escape_sequence);
  tcase_add_test(characters, the_direction_of_text_cannot_be_turned);
  tcase_add_test(characters, good_text_is_not_changed);
  suite_add_tcase(suite, characters);
  TCase *sequences = tcase_create("sequences");
  tcase_add_test(sequences, broken_sequences_are_replaced_by_their_maximal_parts);
  tcase_add_test(sequences, a_sequence_cut_by_the_end_is_one_replacement);
  tcase_add_test(sequences, text_is_cut_between_characters);
  tcase_add_test(sequences, a_string_is_cleaned_in_place);
  tcase_add_test(sequences, clean_text_stays_as_it_is);
  suite_add_tcase(suite, sequences);
  return suite;
}
