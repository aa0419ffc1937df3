/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs the tests of src/account. */
#include "account/suites.h"
#include "support/support.h"

int main(void)
{
  static Suite *(*const suites[])(void) = {beats_suite,    edge_suite,        explain_suite,
                                           predict_suite,  receiver_suite,    roles_suite,
                                           sentence_suite, subcarriers_suite, words_suite};
  return support_run(suites, sizeof suites / sizeof suites[0]);
}
