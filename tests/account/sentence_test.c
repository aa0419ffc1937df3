/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the first sentence says of results made by hand. */
#include <config.h>

#include <string.h>

#include "account/account.h"
#include "account/suites.h"

/* _i: what comes back in the right channel is as sent, inverted, or shifted by a filter; then the
 * same where the order is not known. */
START_TEST(an_inverted_channel_is_named)
{
  static const double phase_deg[] = {0.3, 180, 60, -179.6};
  static const bool inverted[] = {false, true, false, true};
  static struct sc_result result;
  result = (struct sc_result){.composite_why = "audio holds no composite"};
  result.capture.info.kind = SC_KIND_AUDIO;
  result.audio.sequence = SC_YES;
  result.audio.order = _i < 4 ? SC_ORDER_NORMAL : SC_ORDER_UNKNOWN;
  result.audio.phase_deg = sc_measured(phase_deg[_i % 4], 0.01);
  result.air_lines.why = "audio holds no carrier";
  account_sentence(&result);
  ck_assert_ptr_nonnull(strstr(result.account, "the test audio is in it"));
  ck_assert_msg((strstr(result.account, "one channel is inverted") != NULL) == inverted[_i % 4],
                "%s", result.account);
  result.audio.phase_deg = sc_not_measured("noise");
  account_sentence(&result);
  ck_assert_ptr_null(strstr(result.account, "inverted"));
}
END_TEST

START_TEST(a_refused_baseline_is_named)
{
  static struct sc_result result;
  result = (struct sc_result){.composite_why = "there is no carrier"};
  result.capture.info.kind = SC_KIND_IQ;
  account_sentence(&result);
  ck_assert_ptr_null(strstr(result.account, "baseline"));
  result.baseline_refused = true;
  account_sentence(&result);
  ck_assert_ptr_nonnull(strstr(result.account, "The baseline is not used"));
}
END_TEST

Suite *sentence_suite(void)
{
  Suite *suite = suite_create("sentence");
  TCase *sentences = tcase_create("sentences");
  tcase_add_loop_test(sentences, an_inverted_channel_is_named, 0, 8);
  tcase_add_test(sentences, a_refused_baseline_is_named);
  suite_add_tcase(suite, sentences);
  return suite;
}
