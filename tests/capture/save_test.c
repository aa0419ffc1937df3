/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Files written whole or not at all. */
#include <config.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include <sidecomb/file.h>

#include "capture/suites.h"
#include "support/files.h"

static void holds(const char *path, const char *text)
{
  size_t length;
  unsigned char *bytes = support_file_read(path, &length);
  ck_assert_uint_eq(length, strlen(text));
  ck_assert_int_eq(memcmp(bytes, text, length), 0);
  free(bytes);
}

START_TEST(nothing_is_replaced_unless_allowed)
{
  struct sc_message message = {""};
  const char *path = support_file("trace.csv");
  ck_assert(!sc_file_exists(path));
  ck_assert_int_eq(sc_file_save(path, "one", 3, false, &message), SC_OK);
  ck_assert(sc_file_exists(path));
  ck_assert_int_eq(sc_file_save(path, "two", 3, false, &message), SC_WRITE_FAILED);
  ck_assert_msg(strstr(message.text, "is there already") != NULL, "%s", message.text);
  holds(path, "one");
  ck_assert_int_eq(sc_file_save(path, "three", 5, true, &message), SC_OK);
  holds(path, "three");
  ck_assert_int_eq(sc_file_save(support_file("empty"), NULL, 0, false, &message), SC_OK);
  ck_assert_uint_eq(support_file_count(), 2); /* no part is left */
}
END_TEST

START_TEST(what_cannot_be_written_leaves_nothing)
{
  struct sc_message message = {""};
  char nowhere[4096];
  (void)snprintf(nowhere, sizeof nowhere, "%s/x", support_file("missing"));
  ck_assert_int_eq(sc_file_save(nowhere, "a", 1, false, &message), SC_WRITE_FAILED);
  ck_assert_msg(strstr(message.text, "cannot be written") != NULL, "%s", message.text);
  ck_assert_int_eq(sc_file_save("/dev/null", "a", 1, true, &message), SC_WRITE_FAILED);
  ck_assert_msg(strstr(message.text, "no plain file") != NULL, "%s", message.text);
  ck_assert_int_eq(sc_file_save("", "a", 1, true, &message), SC_BAD_ARGUMENT);
  ck_assert_uint_eq(support_file_count(), 0);
}
END_TEST

Suite *save_suite(void)
{
  Suite *suite = suite_create("save");
  TCase *tests = tcase_create("save");
  tcase_add_checked_fixture(tests, support_files_setup, support_files_teardown);
  tcase_add_test(tests, nothing_is_replaced_unless_allowed);
  tcase_add_test(tests, what_cannot_be_written_leaves_nothing);
  suite_add_tcase(suite, tests);
  return suite;
}
