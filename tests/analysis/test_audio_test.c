/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The test audio on its whole way: file, transmitter, receiver, decoder, judgement. And
 * programme, of which nobody knows what it was. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <sidecomb/sequence.h>

#include "analysis/scene.h"
#include "analysis/suites.h"
#include "support/files.h"
#include "support/random.h"
#include "support/support.h"

static double uniform(uint64_t *random, double from, double to)
{
  return from + (to - from) * fabs(support_uniform(random));
}

static void add_sound(struct sc_scenario *s, const char *path, double khz)
{
  struct sc_programme *p = &s->station.programme[s->station.programme_count++];
  *p = (struct sc_programme){.kind = SC_PROGRAMME_SOUND, .to = SC_TO_BOTH, .khz = khz};
  snprintf(p->path, sizeof p->path, "%s", path);
}

/* A transmitter whose pre-emphasis is not known beforehand, at 30 dB in 200 kHz. */
static struct sc_scenario random_transmitter(uint64_t *random, const char *path, double tau_us)
{
  struct sc_scenario s = scene_silent(384e3, 30);
  s.seconds = sc_sequence_seconds() + uniform(random, 0.5, 2);
  s.seed = support_random(random);
  s.offset_hz = uniform(random, 500, 3000);
  s.station.preemphasis_us = tau_us;
  s.station.pilot_khz = uniform(random, 6, 7.5);
  s.station.pilot_hz = 19000 + 2 * support_uniform(random);
  s.station.difference_gain_db = 0.3 * support_uniform(random);
  s.station.rds.khz = support_random(random) % 2 == 0 ? 2 : 0;
  s.station.rds.pi = 0x1234;
  snprintf(s.station.rds.ps, sizeof s.station.rds.ps, "BENCH");
  add_sound(&s, path, uniform(random, 60, 130)); /* 30 to 65 kHz of the line-up tone */
  return s;
}

enum { SHARES = 10 };

struct tally {
  double worst_us;
  unsigned within_one, beyond_three, trials;
};

static void check_constant(const struct sc_scenario *s, struct tally *tally)
{
  struct sc_result r = scene_play(s);
  const struct sc_preemphasis *p = &r.preemphasis;
  ck_assert_int_eq(r.audio.sequence, SC_YES);
  ck_assert_msg(p->tau_us.why == NULL, "%s", p->tau_us.why);
  ck_assert_double_eq(p->tau_us.value, s->station.preemphasis_us);
  const double error_us = fabs(p->fitted_us.value - s->station.preemphasis_us);
  tally->trials++;
  tally->worst_us = fmax(tally->worst_us, error_us);
  tally->within_one += error_us <= p->fitted_us.uncertainty;
  tally->beyond_three += error_us > 3 * p->fitted_us.uncertainty;
  ck_assert_double_le(error_us, 2);
  /* The report's other way to say it: what is off the pre-emphasis that was sent is next to
   * nothing, and a de-emphasis would be off by twice the curve. */
  const struct sc_quantity *off[] = {&r.audio.flat_db, &r.audio.preemphasis_50_db,
                                     &r.audio.preemphasis_75_db};
  const double tau_us = s->station.preemphasis_us;
  ck_assert_double_lt(off[tau_us < 25 ? 0 : tau_us < 60 ? 1 : 2]->value, 0.2);
  ck_assert_double_gt(r.audio.deemphasis_50_db.value, tau_us < 25 ? 2 : 5);
  sc_result_clear(&r);
}

/* A minute and more of signal each, so that a test takes a share of the trials; what `make check`
 * does in its place is in tests/measure/audio_test.c. */
START_TEST(preemphasis_is_told_from_the_test_audio)
{
  const unsigned trials = (support_trials(100) + SHARES - 1) / SHARES;
  uint64_t random = support_seed("preemphasis_is_told_from_the_test_audio", 50075 + (uint64_t)_i);
  struct tally tally = {0};
  for (unsigned t = 0; t < trials; t++) {
    const double tau_us = support_random(&random) % 2 == 0 ? 50 : 75;
    const char *path = support_file("sent.wav");
    const struct sc_sequence_settings sequence = {.level_dbfs = -6, .preemphasis_us = tau_us};
    const struct sc_sequence_file file = {.path = path, .bits = 24};
    struct sc_message message;
    ck_assert_int_eq(sc_sequence_write(&sequence, &file, &message), SC_OK);
    const struct sc_scenario s = random_transmitter(&random, path, tau_us);
    check_constant(&s, &tally);
  }
  printf("test audio: %u of %u constants right, fitted within %.3f us; %u within one sigma, %u "
         "beyond three\n",
         tally.trials, trials, tally.worst_us, tally.within_one, tally.beyond_three);
  ck_assert_uint_le(tally.beyond_three, 1 + trials / 50);
}
END_TEST

/* ---- programme */

static void add_noise(struct sc_scenario *s, enum sc_programme_kind kind, enum sc_programme_to to,
                      double khz)
{
  s->station.programme[s->station.programme_count++] =
      (struct sc_programme){.kind = kind, .to = to, .khz = khz};
}

/* White, pink, tones, sweeps, limited where a programme may be, with any constant. */
static struct sc_scenario random_programme(uint64_t *random)
{
  static const double taus_us[] = {0, 50, 75};
  struct sc_scenario s = scene_silent(384e3, uniform(random, 30, 60));
  s.seconds = 2;
  s.seed = support_random(random);
  s.station.preemphasis_us = taus_us[support_random(random) % 3];
  s.station.limit_hz = uniform(random, 4e3, 15e3);
  const unsigned what = (unsigned)(support_random(random) % 4);
  if (what == 0 || what == 3)
    add_noise(&s, SC_PROGRAMME_WHITE, SC_TO_BOTH, uniform(random, 0.05, 8));
  if (what == 1 || what == 3)
    add_noise(&s, SC_PROGRAMME_PINK, SC_TO_LEFT, uniform(random, 1, 10));
  if (what >= 2)
    for (int i = 0; i < 4; i++)
      scene_add_tone(&s, SC_TO_RIGHT, uniform(random, 50, 14e3), uniform(random, 0.5, 6));
  return s;
}

START_TEST(programme_is_never_taken_for_test_audio)
{
  const unsigned trials = support_trials(support_long() ? 100 : 1);
  uint64_t random = support_seed("programme_is_never_taken_for_test_audio", 62);
  for (unsigned t = 0; t < trials; t++) {
    const struct sc_scenario s = random_programme(&random);
    struct sc_result r = scene_play(&s);
    ck_assert_int_ne(r.audio.sequence, SC_YES);
    if (r.preemphasis.tau_us.why == NULL)
      ck_assert_double_eq(r.preemphasis.tau_us.value, s.station.preemphasis_us);
    sc_result_clear(&r);
  }
}
END_TEST

Suite *test_audio_suite(void)
{
  Suite *suite = suite_create("analysis/test audio");
  TCase *tests = tcase_create("test-audio");
  tcase_add_checked_fixture(tests, support_files_setup, support_files_teardown);
  tcase_set_timeout(tests, 7200);
  if (support_long())
    tcase_add_loop_test(tests, preemphasis_is_told_from_the_test_audio, 0, SHARES);
  tcase_add_test(tests, programme_is_never_taken_for_test_audio);
  suite_add_tcase(suite, tests);
  return suite;
}
