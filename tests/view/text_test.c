/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Characters, widths, line breaks. */
#include <string.h>

#include "view/suites.h"
#include "view/text.h"

START_TEST(every_character_comes_back_from_its_bytes)
{
  static const uint32_t codes[] = {' ', '~', 0xA0, 0x7FF, 0x800, 0x28FF, 0xFFFC, 0x10000, 0x10FFFD};
  for (size_t i = 0; i < sizeof codes / sizeof *codes; i++) {
    char bytes[VIEW_CHARACTER_BYTES];
    uint32_t back;
    size_t length = view_text_encode(codes[i], bytes);
    ck_assert_uint_eq(strlen(bytes), length);
    ck_assert_uint_eq(view_text_decode(bytes, &back), length);
    ck_assert_uint_eq(back, codes[i]);
  }
}
END_TEST

/* RFC 3629, section 3: no overlong forms, no surrogates, nothing above U+10FFFF. */
START_TEST(what_is_no_character_becomes_the_replacement)
{
  static const char *const broken[] = {
      "\x1b[2J",          "\x9b", "\xC2\x9b", "\xC0\x80", "\xE0\x80\x80", "\xED\xA0\x80",
      "\xF4\x90\x80\x80", "\xFF", "\xE2\x82", "\n"};
  for (size_t i = 0; i < sizeof broken / sizeof *broken; i++) {
    uint32_t code;
    ck_assert_uint_ge(view_text_decode(broken[i], &code), 1);
    ck_assert_uint_eq(code, 0xFFFD);
  }
}
END_TEST

START_TEST(decoding_never_passes_the_end)
{
  static const char text[] = "\xE2\x82";
  uint32_t code;
  size_t at = 0;
  while (text[at] != 0)
    at += view_text_decode(text + at, &code);
  ck_assert_uint_eq(at, strlen(text));
}
END_TEST

START_TEST(widths_follow_the_character)
{
  ck_assert_int_eq(view_text_width("abc", false), 3);
  ck_assert_int_eq(view_text_width("\xE5\xB1\xB1", false), 2); /* U+5C71, wide */
  ck_assert_int_eq(view_text_width("e\xCC\x81", false), 1);    /* with U+0301, combining */
  ck_assert_int_eq(view_text_width("±", false), 1);
  ck_assert_int_eq(view_text_width("±", true), 3);
}
END_TEST

static void expect_line(const char **text, int columns, const char *line)
{
  size_t bytes = view_text_line(*text, columns, false, text);
  ck_assert_uint_eq(bytes, strlen(line));
}

START_TEST(lines_break_at_spaces)
{
  const char *text = "one two three";
  expect_line(&text, 7, "one two");
  expect_line(&text, 7, "three");
  ck_assert_str_eq(text, "");
}
END_TEST

START_TEST(a_word_too_long_is_cut)
{
  const char *text = "abcdefgh ij";
  expect_line(&text, 5, "abcde");
  expect_line(&text, 5, "fgh");
  expect_line(&text, 5, "ij");
}
END_TEST

START_TEST(a_line_always_goes_on)
{
  const char *text = "\xE5\xB1\xB1\xE5\xB1\xB1";
  for (int i = 0; i < 2; i++)
    ck_assert_uint_eq(view_text_line(text, 1, false, &text), 3);
  ck_assert_str_eq(text, "");
}
END_TEST

Suite *text_suite(void)
{
  Suite *suite = suite_create("text");
  TCase *characters = tcase_create("characters");
  tcase_add_test(characters, every_character_comes_back_from_its_bytes);
  tcase_add_test(characters, what_is_no_character_becomes_the_replacement);
  tcase_add_test(characters, decoding_never_passes_the_end);
  tcase_add_test(characters, widths_follow_the_character);
  suite_add_tcase(suite, characters);
  TCase *lines = tcase_create("lines");
  tcase_add_test(lines, lines_break_at_spaces);
  tcase_add_test(lines, a_word_too_long_is_cut);
  tcase_add_test(lines, a_line_always_goes_on);
  suite_add_tcase(suite, lines);
  return suite;
}
