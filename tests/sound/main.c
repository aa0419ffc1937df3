/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Sound cards, through the real ALSA library and without any hardware. */
#include "sound/suites.h"
#include "support/support.h"

int main(void)
{
  Suite *(*const makers[])(void) = {sound_suite, trouble_suite};
  return support_run(makers, sizeof makers / sizeof makers[0]);
}
