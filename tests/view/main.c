/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs the tests of src/view. Widths of characters depend on the locale. */
#include <locale.h>
#include <stdio.h>
#include <stdlib.h>

#include "support/support.h"
#include "view/suites.h"

int main(void)
{
  static Suite *(*const suites[])(void) = {
      text_suite,    grid_suite,   format_suite, axis_suite, layout_suite,  curve_suite,
      labels_suite,  data_suite,   draw_suite,   keys_suite, markers_suite, clock_suite,
      command_suite, slice_suite,  beside_suite, save_suite, choices_suite, sheets_suite,
      band_suite,    course_suite, halves_suite, help_suite, intake_suite,  whole_suite};
  if (setlocale(LC_CTYPE, "C.UTF-8") == NULL) {
    fputs("the locale C.UTF-8 is needed for these tests and is not here\n", stderr);
    return EXIT_FAILURE;
  }
  return support_run(suites, sizeof suites / sizeof suites[0]);
}
