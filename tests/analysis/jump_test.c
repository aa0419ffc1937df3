/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines of a transmitter that is retuned during the capture. What was sent is known: FM of two
 * tones, one carrier that jumps along with it, and one that does not. */
#include <config.h>

#include <math.h>
#include <string.h>

#include "analysis/scene.h"
#include "analysis/suites.h"
#include "support/support.h"

#define SENT(SECONDS)                                                                              \
  "seconds = " SECONDS "; station = { programme = ("                                               \
  " { kind = \"tone\"; to = \"left\"; hz = 1000.7; khz = 20; } ); };"                              \
  "receiver = { carriers = ( { hz = 71234; dbc = -60; } ); };"

/* From the middle of the capture; the carrier stands at 60.12 kHz and is at half the scale. */
static const double carrier_hz = 60120, along_hz = 131234, still_hz = 8765.4, still = 0.5e-3;

static bool is_settled(const struct sc_line *line)
{
  return line->verdict == SC_VERDICT_EXPLAINED || line->verdict == SC_VERDICT_ARTEFACT;
}

/* The two carriers, as they stood in one of the stretches, and nothing else, neither on air nor in
 * the composite, which their beats go through. Returns how many lines on air there are. */
static size_t check_lines(const struct sc_result *result, double moved_hz)
{
  size_t found = 0;
  for (size_t i = 0; i < result->air_lines.count; i++) {
    const struct sc_line *line = &result->air_lines.lines[i];
    const double at_hz = line->tone.frequency_hz.value;
    const bool sent = fabs(at_hz - along_hz - moved_hz) < 1 || fabs(at_hz - still_hz) < 1;
    ck_assert_msg(sent ? line->verdict == SC_VERDICT_SPURIOUS : is_settled(line), "%g Hz: %s",
                  line->offset_hz.value, line->cause);
    ck_assert_double_eq_tol(at_hz - line->offset_hz.value, carrier_hz + moved_hz, 1);
    found += sent;
  }
  ck_assert_uint_eq(found, 2);
  for (size_t i = 0; i < result->composite_lines.count; i++) {
    const struct sc_line *line = &result->composite_lines.lines[i];
    ck_assert_msg(is_settled(line), "composite, %g Hz: %s", line->offset_hz.value, line->cause);
  }
  return result->air_lines.count;
}

static bool warns(const struct sc_result *result)
{
  for (size_t i = 0; i < result->warnings.count; i++)
    if (strstr(result->warnings.text[i], "The carrier jumps. Lines are those of one stretch"))
      return true;
  return false;
}

static size_t check_sent(const char *sent, const struct scene_move *moved, double in_stretch_hz)
{
  struct sc_result result = scene_moved(sent, 81, moved);
  const bool jumps = moved->jump_hz != 0;
  ck_assert(result.air_lines.jumped == jumps && warns(&result) == jumps);
  const size_t lines = check_lines(&result, in_stretch_hz);
  sc_result_clear(&result);
  return lines;
}

/* _i: the jump, before or behind the middle, which decides about the stretch. In two seconds there
 * are whole records, in one there is none. */
START_TEST(a_jump_makes_no_lines)
{
  static const struct {
    double hz, at;
  } jumps[] = {{100, 0.3}, {800, 0.45}, {-3000, 0.7}, {5000, 0.6}};
  static const char *const sent[] = {SENT("2.0"), SENT("1.0")};
  for (size_t i = 0; i < 2; i++) {
    const double seconds = 2 - (double)i;
    const struct scene_move steady = {0, still_hz, still, 0, 0};
    const struct scene_move moved = {0, still_hz, still, jumps[_i].hz, jumps[_i].at * seconds};
    const size_t all = check_sent(sent[i], &steady, 0);
    const size_t lines = check_sent(sent[i], &moved, jumps[_i].at < 0.5 ? jumps[_i].hz : 0);
    ck_assert_msg(10 * lines > 9 * all, "%zu of %zu lines", lines, all);
  }
}
END_TEST

Suite *jump_suite(void)
{
  Suite *suite = suite_create("jump");
  TCase *tcase = tcase_create("jump");
  tcase_add_loop_test(tcase, a_jump_makes_no_lines, 0, (int)(4 / support_stride(4)));
  suite_add_tcase(suite, tcase);
  return suite;
}
