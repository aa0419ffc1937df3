/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What goes wrong with a card while it is read. The samples name the moment that they were played
 * at, so what is missing is known without the reader. */
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include <sidecomb/analysis.h>

#include "sound/rig.h"
#include "sound/suites.h"

static const double rate_hz = 48e3;
/* The reader's clock and the card's are read some time apart, most of all on a busy machine. */
static const double clock_slack_s = 0.02;

static struct sc_source_options options = {
    .sound = "card", .as = SC_KIND_AUDIO, .channel = SC_CHANNEL_LEFT};

/* What was seen of one gap. */
struct gap {
  int count;
  long missing;   /* frames, by the samples */
  uint64_t stated; /* in the block */
};

/* Reads so many frames, or to the end. Within a block nothing may be missing. */
static enum sc_error watch_gaps(struct sc_source *source, uint64_t frames, struct gap *gap,
                                struct sc_message *message)
{
  long last = -1;
  *gap = (struct gap){0};
  for (uint64_t done = 0; done < frames;) {
    struct sc_block block;
    enum sc_error error = sc_source_read(source, 2048, &block, message);
    if (error != SC_OK)
      return error;
    ck_assert_uint_eq(block.first, done);
    for (size_t i = 0; i < block.frames; i++) {
      long frame = rig_frame(block.samples[i]);
      long step = (frame - last + RIG_FRAMES) % RIG_FRAMES - 1;
      ck_assert(last < 0 || step == 0 || (i == 0 && block.discontinuity));
      if (last >= 0 && i == 0 && block.discontinuity)
        *gap = (struct gap){gap->count + 1, step, block.lost};
      last = frame;
    }
    done += block.frames;
  }
  return SC_OK;
}

static void check_notice(struct sc_source *source, const char *words)
{
  struct sc_notices notices;
  bool found = false;
  sc_source_notices(source, &notices);
  for (size_t i = 0; i < notices.count; i++)
    found = found || strstr(notices.text[i], words) != NULL;
  ck_assert_msg(found, "%s", words);
}

START_TEST(an_overrun_is_counted_and_marked)
{
  rig_card("card", rig_ramp(), "rates \"48000\" overrun 9600 stall 100");
  struct sc_source *source = rig_open(&options);
  struct sc_losses losses;
  struct gap gap;
  ck_assert_int_eq(watch_gaps(source, 24000, &gap, NULL), SC_OK);
  ck_assert_int_eq(gap.count, 1);
  ck_assert_int_gt(gap.missing, (long)(0.1 * rate_hz));
  ck_assert_double_eq_tol((double)gap.stated, (double)gap.missing, clock_slack_s * rate_hz);
  sc_source_losses(source, &losses);
  ck_assert_uint_eq(losses.overruns, 1);
  ck_assert_uint_eq(losses.overrun_frames, gap.stated);
  ck_assert_uint_eq(losses.drops + losses.suspends, 0);
  check_notice(source, "lost in the device once (overruns)");
  sc_source_close(source);
}
END_TEST

START_TEST(a_card_that_slept_is_started_again)
{
  rig_card("card", rig_ramp(), "rates \"48000\" suspend 9600");
  struct sc_source *source = rig_open(&options);
  struct sc_losses losses;
  struct gap gap;
  ck_assert_int_eq(watch_gaps(source, 24000, &gap, NULL), SC_OK);
  ck_assert_int_eq(gap.count, 1);
  ck_assert_double_eq_tol((double)gap.stated, (double)gap.missing, clock_slack_s * rate_hz);
  sc_source_losses(source, &losses);
  ck_assert_uint_eq(losses.suspends, 1);
  ck_assert_uint_eq(losses.overruns, 0);
  check_notice(source, "the device slept once");
  sc_source_close(source);
}
END_TEST

START_TEST(an_unplugged_card_ends_after_what_it_gave)
{
  rig_card("card", rig_ramp(), "rates \"48000\" unplug 9600");
  struct sc_source *source = rig_open(&options);
  struct sc_message message = {""};
  struct sc_block block;
  struct gap gap;
  ck_assert_int_eq(watch_gaps(source, 24000, &gap, &message), SC_READ_FAILED);
  ck_assert_int_eq(gap.count, 0);
  ck_assert_msg(strstr(message.text, "card: the sound card is gone") == message.text, "%s",
                message.text);
  ck_assert_int_eq(sc_source_read(source, 100, &block, &message), SC_READ_FAILED);
  sc_source_close(source);
}
END_TEST

START_TEST(what_came_before_it_was_unplugged_is_measured)
{
  rig_card("card", rig_ramp(), "rates \"48000\" overrun 4800 unplug 9600");
  struct sc_source *source = rig_open(&options);
  struct sc_analysis_settings settings = {.lines = false};
  struct sc_message message = {""};
  struct sc_result *result = calloc(1, sizeof *result);
  ck_assert_ptr_nonnull(result);
  ck_assert_int_eq(sc_analyse_source(source, &settings, NULL, NULL, result, &message), SC_OK);
  ck_assert_uint_gt(result->capture.frames, 9600);
  ck_assert_uint_eq(result->capture.gaps, 1);
  const struct sc_notices *notices = &result->capture.notices;
  ck_assert_uint_gt(notices->count, 0);
  ck_assert_ptr_nonnull(strstr(notices->text[notices->count - 1], "is gone"));
  sc_result_clear(result);
  free(result);
  sc_source_close(source);
}
END_TEST

START_TEST(evidence_begins_behind_a_gap)
{
  rig_card("card", rig_ramp(), "rates \"48000\" overrun 9600 stall 50");
  struct sc_source_options open = options;
  open.as = SC_KIND_COMPOSITE; /* of two channels, so that evidence is looked for */
  open.channel = SC_CHANNEL_AUTO;
  struct sc_source *source;
  struct sc_message message = {""};
  ck_assert_int_eq(sc_source_open(&open, &source, &message), SC_BAD_ARGUMENT);
  ck_assert_msg(strstr(message.text, "no channel shows a pilot") != NULL, "%s", message.text);
}
END_TEST

Suite *trouble_suite(void)
{
  Suite *suite = suite_create("trouble");
  TCase *tests = tcase_create("trouble");
  tcase_add_checked_fixture(tests, rig_setup, rig_teardown);
  tcase_add_test(tests, an_overrun_is_counted_and_marked);
  tcase_add_test(tests, a_card_that_slept_is_started_again);
  tcase_add_test(tests, an_unplugged_card_ends_after_what_it_gave);
  tcase_add_test(tests, what_came_before_it_was_unplugged_is_measured);
  tcase_add_test(tests, evidence_begins_behind_a_gap);
  suite_add_tcase(suite, tests);
  return suite;
}
