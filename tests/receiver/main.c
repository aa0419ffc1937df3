/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Receivers, through the real SoapySDR and without any hardware. */
#include "receiver/suites.h"
#include "support/support.h"

int main(void)
{
  Suite *(*const makers[])(void) = {receiver_suite, kept_suite};
  return support_run(makers, sizeof makers / sizeof makers[0]);
}
