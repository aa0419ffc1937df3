/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Error codes: every code of the list has a name and a sentence of its own. */
#include <string.h>

#include <check.h>

#include <sidecomb/error.h>

#include "common/suites.h"

START_TEST(every_code_has_a_name_and_a_text)
{
#define CHECK_ENTRY(code, text)                                                                    \
  ck_assert_str_eq(sc_error_name(code), #code);                                                    \
  ck_assert_str_eq(sc_error_text(code), text);
  SC_ERROR_LIST(CHECK_ENTRY)
#undef CHECK_ENTRY
}
END_TEST

START_TEST(texts_are_sentences_of_their_own)
{
  for (int a = 0; a < SC_ERROR_COUNT; a++) {
    const char *text = sc_error_text((enum sc_error)a);
    ck_assert_uint_gt(strlen(text), 5);
    ck_assert_int_ne(text[strlen(text) - 1], '.');
    for (int b = 0; b < a; b++)
      ck_assert_str_ne(text, sc_error_text((enum sc_error)b));
  }
}
END_TEST

START_TEST(an_unlisted_code_is_said_to_be_unknown)
{
  ck_assert_str_eq(sc_error_name(SC_ERROR_COUNT), "SC_UNKNOWN");
  ck_assert_str_eq(sc_error_text((enum sc_error) - 1), "unknown error");
}
END_TEST

START_TEST(zero_is_good)
{
  ck_assert_int_eq(SC_OK, 0);
}
END_TEST

START_TEST(fail_writes_the_line_and_returns_the_code)
{
  struct sc_message message;
  ck_assert_int_eq(sc_fail(&message, SC_BAD_FORMAT, "%s: rate %d", "a.wav", 0), SC_BAD_FORMAT);
  ck_assert_str_eq(message.text, "a.wav: rate 0");
}
END_TEST

START_TEST(fail_needs_no_message)
{
  ck_assert_int_eq(sc_fail(NULL, SC_NO_MEMORY, "%d", 1), SC_NO_MEMORY);
}
END_TEST

START_TEST(fail_lets_no_control_character_through)
{
  struct sc_message message;
  ck_assert_int_eq(sc_fail(&message, SC_CANNOT_OPEN, "%s", "a\x1b[2Jb\nc\x7f"), SC_CANNOT_OPEN);
  for (const char *c = message.text; *c != '\0'; c++)
    ck_assert_int_ge((unsigned char)*c, 0x20);
  ck_assert_ptr_null(strchr(message.text, 0x7f));
}
END_TEST

Suite *error_suite(void)
{
  Suite *suite = suite_create("error");
  TCase *codes = tcase_create("codes");
  tcase_add_test(codes, every_code_has_a_name_and_a_text);
  tcase_add_test(codes, texts_are_sentences_of_their_own);
  tcase_add_test(codes, an_unlisted_code_is_said_to_be_unknown);
  tcase_add_test(codes, zero_is_good);
  suite_add_tcase(suite, codes);
  TCase *messages = tcase_create("messages");
  tcase_add_test(messages, fail_writes_the_line_and_returns_the_code);
  tcase_add_test(messages, fail_needs_no_message);
  tcase_add_test(messages, fail_lets_no_control_character_through);
  suite_add_tcase(suite, messages);
  return suite;
}
