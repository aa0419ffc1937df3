/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Formats, rates, channels and the list of cards: the library's null and file plugins and the
 * bench's card. What samples must come is what was put into the file. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include <sidecomb/devices.h>

#include "sound/rig.h"
#include "sound/suites.h"
#include "support/files.h"

/* ---- formats */

/* One sample in each format, lowest byte first (two's complement and IEEE 754; full scale is 1),
 * and by which of the formats of a card it is to be read. */
static const struct {
  enum sc_sound_format format;
  const char *alsa, *said;
  size_t bytes;
  unsigned bits;
  unsigned char code[4];
  double value;
} formats[] = {
    {SC_SOUND_FORMAT_S16, "S16_LE", "s16", 2, 16, {0x00, 0x40}, 0.5},
    {SC_SOUND_FORMAT_S16, "S16_LE", "s16", 2, 16, {0x00, 0x80}, -1},
    {SC_SOUND_FORMAT_S24, "S24_LE", "s24", 4, 24, {0x01, 0x00, 0x20, 0x00}, 0.25 + 0x1p-23},
    {SC_SOUND_FORMAT_S24, "S24_LE", "s24", 4, 24, {0x00, 0x00, 0xe0, 0xff}, -0.25},
    {SC_SOUND_FORMAT_S24, "S24_LE", "s24", 4, 24, {0x00, 0x00, 0xe0, 0x00}, -0.25},
    {SC_SOUND_FORMAT_S32, "S32_LE", "s32", 4, 32, {0x00, 0x00, 0x00, 0x60}, 0.75},
    {SC_SOUND_FORMAT_FLOAT, "FLOAT_LE", "float", 4, 0, {0x00, 0x00, 0xa0, 0x3e}, 0.3125},
    {SC_SOUND_FORMAT_S24, "S24_3LE", "s24", 3, 24, {0x01, 0x00, 0x20}, 0.25 + 0x1p-23},
    {SC_SOUND_FORMAT_S24, "S24_3LE", "s24", 3, 24, {0xff, 0xff, 0xff}, -0x1p-23},
};
enum { FORMATS = sizeof formats / sizeof formats[0], FORMATS_OF_FILE = 7, FRAMES = 3000 };

static const char *samples_of(int format)
{
  static unsigned char bytes[FRAMES * 4];
  size_t width = formats[format].bytes;
  for (size_t i = 0; i < FRAMES; i++)
    memcpy(bytes + i * width, formats[format].code, width);
  return support_file_write("samples.raw", bytes, FRAMES * width);
}

static void check_format(const char *name, int format, enum sc_sound_format asked)
{
  struct sc_source *source = rig_open(&(struct sc_source_options){.sound = name,
                                                                  .sound_format = asked,
                                                                  .sound_channels = 1,
                                                                  .rate_hz = 96e3,
                                                                  .as = SC_KIND_COMPOSITE});
  const struct sc_source_info *info = sc_source_info(source);
  struct sc_block block;
  char said[64];
  (void)snprintf(said, sizeof said, "sound card, %s, 1 channel", formats[format].said);
  ck_assert_str_eq(info->format, said);
  ck_assert_str_eq(info->name, name);
  ck_assert_uint_eq(info->bits, formats[format].bits);
  ck_assert_double_eq(info->sample_rate_hz, 96e3);
  ck_assert(info->live);
  ck_assert_int_eq(sc_source_read(source, 100, &block, NULL), SC_OK);
  ck_assert_uint_gt(block.frames, 0);
  for (size_t i = 0; i < block.frames; i++)
    ck_assert_double_eq((double)block.samples[i], formats[format].value);
  sc_source_close(source);
}

START_TEST(the_file_plugin_in_every_format)
{
  rig_define("pcm.filed { type file slave.pcm { type null } file \"/dev/null\" infile \"%s\" "
             "format \"raw\" }\n",
             samples_of(_i));
  check_format("filed", _i, formats[_i].format);
}
END_TEST

START_TEST(a_card_in_the_one_format_that_it_has)
{
  rig_card("card", samples_of(_i), "channels 1 format \"%s\" rates \"96000\"", formats[_i].alsa);
  check_format("card", _i, SC_SOUND_FORMAT_ANY);
  check_format("card", _i, formats[_i].format);
}
END_TEST

START_TEST(the_end_of_a_format_counts_as_clipped)
{
  short codes[4] = {32767, 32766, -32768, -32767};
  rig_card("card", support_file_write("codes.raw", codes, sizeof codes),
           "channels 1 format \"S16_LE\" rates \"48000\"");
  struct sc_source *source = rig_open(
      &(struct sc_source_options){.sound = "card", .as = SC_KIND_COMPOSITE, .duration_s = 0.05});
  struct sc_block block;
  uint64_t clipped = 0, frames = 0;
  while (sc_source_read(source, 4096, &block, NULL) == SC_OK && block.frames > 0) {
    clipped += block.clipped;
    frames += block.frames;
  }
  ck_assert_uint_eq(frames, 2400);
  ck_assert_uint_eq(clipped, 1200); /* two of four */
  sc_source_close(source);
}
END_TEST

/* ---- rates and channels */

static void check_refused(const struct sc_source_options *options, enum sc_error code,
                          const char *words)
{
  struct sc_source *source;
  struct sc_message message = {""};
  ck_assert_int_eq(sc_source_open(options, &source, &message), code);
  ck_assert_ptr_null(source);
  ck_assert_msg(strstr(message.text, words) != NULL, "%s", message.text);
  ck_assert_ptr_null(strchr(message.text, '\n'));
}

START_TEST(takes_the_rate_that_fits_a_composite)
{
  static const struct {
    const char *rates;
    double asked_hz, used_hz;
  } cards[] = {{"44100 48000 96000", 0, 96e3},
               {"48000 96000 192000 384000", 0, 192e3},
               {"48000 96000 192000 384000", 384e3, 384e3},
               {"352800 384000", 0, 352.8e3}};
  char name[16];
  for (size_t i = 0; i < sizeof cards / sizeof cards[0]; i++) {
    (void)snprintf(name, sizeof name, "card%zu", i);
    rig_card(name, rig_ramp(), "format \"S16_LE\" rates \"%s\"", cards[i].rates);
  }
  for (size_t i = 0; i < sizeof cards / sizeof cards[0]; i++) {
    (void)snprintf(name, sizeof name, "card%zu", i);
    struct sc_source *source =
        rig_open(&(struct sc_source_options){.sound = name,
                                             .rate_hz = cards[i].asked_hz,
                                             .as = SC_KIND_COMPOSITE,
                                             .channel = SC_CHANNEL_LEFT});
    ck_assert_double_eq(sc_source_info(source)->sample_rate_hz, cards[i].used_hz);
    ck_assert_uint_eq(sc_source_info(source)->channels, 1);
    sc_source_close(source);
  }
}
END_TEST

START_TEST(both_channels_as_iq)
{
  short pair[2] = {8192, -16384};
  rig_card("card", support_file_write("pair.raw", pair, sizeof pair),
           "format \"S16_LE\" rates \"192000\"");
  struct sc_source *source =
      rig_open(&(struct sc_source_options){.sound = "card", .as = SC_KIND_IQ, .centre_hz = 91e6});
  struct sc_block block;
  ck_assert_int_eq(sc_source_read(source, 10, &block, NULL), SC_OK);
  ck_assert_uint_eq(block.channels, 2);
  ck_assert(block.samples[0] == 0.25f && block.samples[1] == -0.5f);
  ck_assert_double_eq(sc_source_info(source)->centre_hz, 91e6);
  sc_source_close(source);
}
END_TEST

START_TEST(what_a_card_cannot_do_is_said)
{
  rig_card("card", rig_ramp(), "format \"S16_LE\" rates \"48000\"");
  struct sc_source_options options = {.sound = "card", .as = SC_KIND_AUDIO};
  struct sc_source_options other = options;
  other.rate_hz = 192e3;
  check_refused(&other, SC_BAD_ARGUMENT, "card: does not do 192000 samples a second; 'sidecomb");
  other = options;
  other.sound_channels = 8;
  check_refused(&other, SC_BAD_ARGUMENT, "card: does not have 8 channels");
  other = options;
  other.sound_format = SC_SOUND_FORMAT_S32;
  check_refused(&other, SC_BAD_ARGUMENT, "card: does not offer that sample format");
  other = options;
  other.sound = "nowhere";
  check_refused(&other, SC_CANNOT_OPEN, "nowhere: the sound card cannot be opened: ");
  other = options;
  other.path = "also.wav";
  check_refused(&other, SC_BAD_ARGUMENT, "takes the place of a capture");
  other = options;
  other.type = "ri16_le";
  check_refused(&other, SC_BAD_ARGUMENT, "--sound-format");
}
END_TEST

/* ---- the list */

static const struct sc_device *find(const struct sc_devices *devices, const char *name)
{
  for (size_t i = 0; i < devices->count; i++)
    if (strcmp(devices->device[i].name, name) == 0)
      return &devices->device[i];
  return NULL;
}

START_TEST(lists_what_is_there)
{
  struct sc_devices devices;
  rig_card("card", rig_ramp(), "format \"S16_LE\" rates \"44100 48000 192000\"");
  rig_define("pcm.quiet { type null hint { show on description \"zeros\" } }\n"
             "pcm.broken { type bench_card samples \"/nowhere\" rates \"48000\"\n"
             "  hint { show on description \"no input\" } }\n");
  ck_assert_int_eq(sc_devices_find(&devices), SC_OK);
  ck_assert(devices.sound_built);
  const struct sc_device *card = find(&devices, "card"), *quiet = find(&devices, "quiet");
  ck_assert_ptr_nonnull(card);
  ck_assert_ptr_nonnull(quiet);
  ck_assert_ptr_null(find(&devices, "broken"));
  ck_assert_str_eq(card->description, "card on the bench");
  ck_assert_uint_eq(card->channels_least, 2);
  ck_assert_uint_eq(card->channels_most, 2);
  ck_assert_uint_eq(card->rates_hz.count, 3);
  ck_assert_double_eq(card->rates_hz.range[2].least, 192e3);
  ck_assert_uint_eq(card->formats.count, 1);
  ck_assert_str_eq(card->formats.name[0], "s16");
  ck_assert_uint_eq(quiet->formats.count, 4);
  ck_assert_uint_eq(quiet->rates_hz.count, 1);
  ck_assert_double_gt(quiet->rates_hz.range[0].most, quiet->rates_hz.range[0].least);
  sc_devices_clear(&devices);
}
END_TEST

Suite *sound_suite(void)
{
  Suite *suite = suite_create("sound");
  TCase *tests = tcase_create("sound");
  tcase_add_checked_fixture(tests, rig_setup, rig_teardown);
  tcase_add_loop_test(tests, the_file_plugin_in_every_format, 0, FORMATS_OF_FILE);
  tcase_add_loop_test(tests, a_card_in_the_one_format_that_it_has, 0, FORMATS);
  tcase_add_test(tests, the_end_of_a_format_counts_as_clipped);
  tcase_add_test(tests, takes_the_rate_that_fits_a_composite);
  tcase_add_test(tests, both_channels_as_iq);
  tcase_add_test(tests, what_a_card_cannot_do_is_said);
  tcase_add_test(tests, lists_what_is_there);
  suite_add_tcase(suite, tests);
  return suite;
}
