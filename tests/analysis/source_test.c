/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Sources: what the options make of a container, and that blocks tell the truth. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <unistd.h>

#include <check.h>

#include <sidecomb/capture.h>
#include <sidecomb/record.h>

#include "analysis/opening.h"
#include "analysis/suites.h"
#include "capture/write.h"
#include "support/files.h"
#include "support/random.h"
#include "support/support.h"

/* A raw IQ file: a carrier 1/16 of the rate above the centre, level `level`, changed to
 * `later` from frame `change` on. */
static const char *write_carrier(const char *type, size_t frames, double level, size_t change,
                                 double later)
{
  const char *path = support_file("carrier.raw");
  struct capture_write_settings settings = {
      .path = path, .container = CAPTURE_WRITE_RAW, .type = type, .rate_hz = 250000};
  double *samples = malloc(2 * frames * sizeof *samples);
  for (size_t i = 0; i < frames; i++) {
    double now = i < change ? level : later;
    samples[2 * i] = now * cos(2 * M_PI * (double)(i % 16) / 16 + 0.1);
    samples[2 * i + 1] = now * sin(2 * M_PI * (double)(i % 16) / 16 + 0.1);
  }
  write_samples(&settings, samples, frames);
  free(samples);
  return path;
}

/* A sound file of two channels at 48 kHz: sample k of frame i is (i + k * 1000) % 2000 steps. */
static const char *write_stereo(size_t frames)
{
  const char *path = support_file("stereo.wav");
  struct capture_write_settings settings = {
      .path = path, .container = CAPTURE_WRITE_WAV, .bits = 16, .channels = 2, .rate_hz = 48000};
  double *samples = malloc(2 * frames * sizeof *samples);
  for (size_t i = 0; i < 2 * frames; i++)
    samples[i] = (double)((i / 2 + i % 2 * 1000) % 2000) / 32768;
  write_samples(&settings, samples, frames);
  free(samples);
  return path;
}

/* ---- blocks */

START_TEST(blocks_are_the_capture)
{
  struct sc_source_options options = {
      .path = write_carrier("ci16_le", 100000, 0.5, 0, 0.5), .type = "ci16_le", .rate_hz = 250000};
  struct sc_source *source = open_source(&options);
  const struct sc_source_info *info = sc_source_info(source);
  uint64_t state = support_seed("blocks_are_the_capture", 77), next = 0;
  ck_assert_int_eq(info->kind, SC_KIND_IQ);
  ck_assert_uint_eq(info->channels, 2);
  ck_assert_uint_eq(info->frames, 100000);
  ck_assert_uint_eq(info->bits, 16);
  ck_assert(isnan(info->clock_relative_uncertainty));
  ck_assert_int_eq(sc_source_descriptor(source), -1);
  for (struct sc_block block;
       (block = read_block(source, 1 + support_random(&state) % 40000)).frames > 0;) {
    ck_assert_uint_eq(block.first, next);
    ck_assert_uint_eq(block.channels, 2);
    ck_assert(!block.discontinuity);
    ck_assert_ptr_nonnull(block.info);
    for (size_t i = 0; i < block.frames; i++) {
      double angle = 2 * M_PI * (double)((block.first + i) % 16) / 16 + 0.1;
      ck_assert(fabs((double)block.samples[2 * i] - 0.5 * cos(angle)) < 2e-5);
    }
    next += block.frames;
  }
  ck_assert_uint_eq(next, 100000);
  sc_source_close(source);
}
END_TEST

START_TEST(a_seek_is_a_gap_unless_it_leads_back)
{
  struct sc_source_options options = {
      .path = write_carrier("ci16_le", 50000, 0.5, 0, 0.5), .type = "ci16_le", .rate_hz = 250000};
  struct sc_source *source = open_source(&options);
  ck_assert_uint_eq(read_block(source, 1000).frames, 1000);
  ck_assert_int_eq(sc_source_seek(source, 30000), SC_OK);
  struct sc_block block = read_block(source, 10);
  ck_assert(block.discontinuity && block.first == 30000);
  block = read_block(source, 10);
  ck_assert(!block.discontinuity && block.first == 30010);
  ck_assert_int_eq(sc_source_seek(source, 5), SC_OK);
  ck_assert_int_eq(sc_source_seek(source, 30020), SC_OK);
  ck_assert(!read_block(source, 10).discontinuity);
  ck_assert_int_eq(sc_source_seek(source, 50000), SC_OK);
  ck_assert_uint_eq(read_block(source, 10).frames, 0);
  ck_assert_int_eq(sc_source_seek(source, 50001), SC_BAD_ARGUMENT);
  sc_source_close(source);
}
END_TEST

START_TEST(clipping_is_counted_in_frames)
{
  struct sc_source_options options = {
      .path = write_carrier("cu8", 16000, 2, 8000, 0.9), .type = "cu8", .rate_hz = 250000};
  struct sc_source *source = open_source(&options);
  struct sc_block block = read_block(source, 8000);
  ck_assert_uint_eq(block.clipped, 8000); /* at twice full scale I or Q is always at an end */
  block = read_block(source, 8000);
  ck_assert_uint_eq(block.clipped, 0);
  ck_assert(noticed(source, "50 % of the frames (8000)"));
  sc_source_close(source);
}
END_TEST

START_TEST(invalid_floats_are_replaced_and_counted)
{
  float samples[2000] = {0};
  for (size_t i = 0; i < 1000; i += 10)
    samples[2 * i] = i % 20 == 0 ? NAN : INFINITY;
  struct sc_source_options options = {.path =
                                          support_file_write("bad.raw", samples, sizeof samples),
                                      .type = "cf32_le",
                                      .rate_hz = 250000};
  struct sc_source *source = open_source(&options);
  struct sc_block block = read_block(source, 1000);
  ck_assert_uint_eq(block.invalid, 100);
  for (size_t i = 0; i < 2000; i++)
    ck_assert(block.samples[i] == 0);
  ck_assert(noticed(source, "100 frames hold NaN"));
  sc_source_close(source);
}
END_TEST

/* ---- notices about the level */

START_TEST(level_jumps_are_told)
{
  struct sc_source_options options = {.path = write_carrier("ci16_le", 250000, 0.5, 125100, 0.2),
                                      .type = "ci16_le",
                                      .rate_hz = 250000};
  struct sc_source *source = open_source(&options);
  (void)drain(source);
  ck_assert(noticed(source, "the level jumps 1 time by more than 3 dB, first at 0.50 s from -6.0 "
                            "to -13.5 dBFS"));
  for (int again = 0; again < 2; again++) { /* read again, it is still one jump */
    ck_assert_int_eq(sc_source_seek(source, 0), SC_OK);
    (void)drain(source);
  }
  ck_assert(noticed(source, "the level jumps 1 time"));
  sc_source_close(source);
}
END_TEST

START_TEST(a_steady_level_is_no_news)
{
  struct sc_source_options options = {.path = write_carrier("ci16_le", 250000, 0.5, 125100, 0.4),
                                      .type = "ci16_le",
                                      .rate_hz = 250000};
  struct sc_source *source = open_source(&options);
  struct sc_notices notices;
  (void)drain(source);
  sc_source_notices(source, &notices);
  ck_assert_uint_eq(notices.count, 0);
  sc_source_close(source);
}
END_TEST

START_TEST(stretches_of_zeros_are_told)
{
  struct sc_source_options options = {.path = write_carrier("ci16_le", 100000, 0.5, 50000, 0),
                                      .type = "ci16_le",
                                      .rate_hz = 250000};
  struct sc_source *source = open_source(&options);
  (void)drain(source);
  ck_assert(noticed(source, "0.20 s hold nothing but zeros, first at 0.20 s"));
  sc_source_close(source);
}
END_TEST

/* ---- parts and shapes */

START_TEST(start_and_duration_cut_a_part)
{
  struct sc_source_options options = {
      .path = write_stereo(48000), .start_s = 0.25, .duration_s = 0.5};
  struct sc_source *source = open_source(&options);
  ck_assert_uint_eq(sc_source_info(source)->frames, 24000);
  struct sc_block block = read_block(source, 100);
  ck_assert_uint_eq(block.first, 0);
  ck_assert(block.samples[0] == (float)(12000 % 2000) / 32768);
  ck_assert_uint_eq(drain(source), 23900);
  sc_source_close(source);
  options.duration_s = 5;
  source = open_source(&options);
  ck_assert_uint_eq(drain(source), 36000);
  ck_assert(noticed(source, "--duration 5: the capture ends 0.75 s after its start"));
  sc_source_close(source);
  options.start_s = 1;
  refused(&options, SC_BAD_ARGUMENT, "--start 1: the capture ends after 1 s");
}
END_TEST

START_TEST(channels_are_picked)
{
  struct sc_source_options options = {.path = write_stereo(1000), .channel = SC_CHANNEL_RIGHT};
  struct sc_source *source = open_source(&options);
  ck_assert_uint_eq(sc_source_info(source)->channels, 1);
  struct sc_block block = read_block(source, 10);
  ck_assert(block.channels == 1 && block.samples[3] == 1003 / 32768.f);
  sc_source_close(source);
  options.channel = SC_CHANNEL_LEFT;
  source = open_source(&options);
  ck_assert(read_block(source, 10).samples[3] == 3 / 32768.f);
  sc_source_close(source);
  options.channel = SC_CHANNEL_BOTH;
  source = open_source(&options);
  ck_assert(read_block(source, 10).samples[7] == 1003 / 32768.f);
  sc_source_close(source);
}
END_TEST

START_TEST(i_and_q_are_exchanged)
{
  static const unsigned char bytes[4] = {1, 2, 3, 4};
  struct sc_source_options options = {.path = support_file_write("iq.raw", bytes, 4),
                                      .type = "ci8",
                                      .rate_hz = 250000,
                                      .swap_iq = true};
  struct sc_source *source = open_source(&options);
  struct sc_block block = read_block(source, 2);
  ck_assert(block.samples[0] == 2 / 128.f && block.samples[1] == 1 / 128.f);
  ck_assert(block.samples[2] == 4 / 128.f && block.samples[3] == 3 / 128.f);
  sc_source_close(source);
}
END_TEST

/* Of a carrier at 250 kS/s, tuned to 91.2 MHz. */
static struct sc_source_options slow_clock(void)
{
  return (struct sc_source_options){.path = write_carrier("ci8", 1000, 0.5, 0, 0.5),
                                    .type = "ci8",
                                    .rate_hz = 250000,
                                    .centre_hz = 91200000,
                                    .clock_known = true,
                                    .clock_ppm = -20,
                                    .clock_ppm_uncertainty = 0.5};
}

START_TEST(the_clock_corrects_rate_and_centre)
{
  struct sc_source_options options = slow_clock();
  struct sc_source *source = open_source(&options);
  const struct sc_source_info *info = sc_source_info(source);
  ck_assert(fabs(info->sample_rate_hz - 249995) < 1e-6);
  ck_assert(info->nominal_rate_hz == 250000);
  ck_assert(fabs(info->centre_hz - 91198176) < 1e-3);
  ck_assert(fabs(info->clock_relative_uncertainty - 5e-7) < 1e-18);
  ck_assert(read_block(source, 1).info->centre_hz == info->centre_hz);
  sc_source_close(source);
}
END_TEST

/* -20 ppm, by definition: 1824 Hz of 91.2 MHz and 5 of 250 kHz, and not twice as much. */
START_TEST(a_recording_is_corrected_once)
{
  struct sc_source_options options = slow_clock();
  struct sc_source_options again = {
      .clock_known = true, .clock_ppm = -20, .clock_ppm_uncertainty = 0.5};
  const struct sc_record_settings settings = {.path = support_file("again.sigmf-meta")};
  struct sc_record_summary summary;
  struct sc_source *source = open_source(&options);
  ck_assert_int_eq(sc_record_source(source, &settings, NULL, NULL, &summary, NULL), SC_OK);
  sc_source_close(source);
  again.path = settings.path;
  source = open_source(&again);
  ck_assert(fabs(sc_source_info(source)->sample_rate_hz - 249995) < 1e-6);
  ck_assert_double_eq_tol(sc_source_info(source)->centre_hz, 91198176, 1e-3);
  ck_assert(sc_source_info(source)->nominal_centre_hz == 91200000);
  sc_source_close(source);
}
END_TEST

/* ---- segments and annotations of SigMF */

static const char meta[] =
    "{\"global\": {\"core:datatype\": \"ci8\", \"core:sample_rate\": 1000},"
    "\"captures\": [{\"core:sample_start\": 0, \"core:frequency\": 91e6, \"core:global_index\": 0},"
    "{\"core:sample_start\": 100, \"core:frequency\": 91e6, \"core:global_index\": 100},"
    "{\"core:sample_start\": 200, \"core:frequency\": 92e6, \"core:global_index\": 200},"
    "{\"core:sample_start\": 300, \"core:frequency\": 92e6, \"core:global_index\": 900}],"
    "\"annotations\": [{\"core:sample_start\": 10, \"core:sample_count\": 100,"
    "\"core:label\": \"early\"}, {\"core:sample_start\": 350, \"core:label\": \"late\"},"
    "{\"core:sample_start\": 0, \"core:sample_count\": 50, \"core:label\": \"gone\"}]}";

static struct sc_source_options sigmf_options(void)
{
  static unsigned char bytes[800];
  for (size_t i = 0; i < sizeof bytes; i++)
    bytes[i] = (unsigned char)(i / 2 % 128);
  (void)support_file_write("set.sigmf-data", bytes, sizeof bytes);
  return (struct sc_source_options){
      .path = support_file_write("set.sigmf-meta", meta, sizeof meta - 1)};
}

START_TEST(blocks_end_where_settings_change)
{
  struct sc_source_options options = sigmf_options();
  struct sc_source *source = open_source(&options);
  static const struct {
    uint64_t first;
    double centre_hz;
    bool gap;
  } expected[] = {{0, 91e6, false}, {100, 91e6, false}, {200, 92e6, true}, {300, 92e6, true}};
  for (size_t i = 0; i < 4; i++) {
    struct sc_block block = read_block(source, 1 << 20);
    ck_assert_uint_eq(block.first, expected[i].first);
    ck_assert_uint_eq(block.frames, 100);
    ck_assert(block.info->centre_hz == expected[i].centre_hz);
    ck_assert_int_eq(block.discontinuity, expected[i].gap);
    ck_assert(block.samples[0] == (float)(block.first % 128) / 128);
  }
  ck_assert_uint_eq(read_block(source, 10).frames, 0);
  sc_source_close(source);
  options.centre_hz = 99e6; /* the user knows better: no change any more, but the lost frames */
  source = open_source(&options);
  for (size_t i = 0; i < 4; i++) {
    struct sc_block block = read_block(source, 1 << 20);
    ck_assert(block.info->centre_hz == 99e6);
    ck_assert_int_eq(block.discontinuity, i == 3);
  }
  sc_source_close(source);
}
END_TEST

START_TEST(annotations_follow_the_part)
{
  struct sc_source_options options = sigmf_options();
  options.start_s = 0.06;
  options.duration_s = 0.3;
  struct sc_source *source = open_source(&options);
  const struct sc_source_info *info = sc_source_info(source);
  ck_assert_uint_eq(info->frames, 300);
  ck_assert_uint_eq(info->annotation_count, 2);
  ck_assert_str_eq(info->annotations[0].text, "early");
  ck_assert_uint_eq(info->annotations[0].first, 0);
  ck_assert_uint_eq(info->annotations[0].frames, 50);
  ck_assert_uint_eq(info->annotations[1].first, 290);
  ck_assert_uint_eq(info->annotations[1].frames, 0);
  sc_source_close(source);
}
END_TEST

/* ---- the kind */

START_TEST(wishes_win_within_reason)
{
  static const struct {
    enum sc_kind as;
    enum sc_channel channel;
    enum sc_kind kind;
    unsigned channels;
  } cases[] = {
      {SC_KIND_UNDECIDED, SC_CHANNEL_AUTO, SC_KIND_AUDIO, 2},
      {SC_KIND_AUDIO, SC_CHANNEL_AUTO, SC_KIND_AUDIO, 2},
      {SC_KIND_AUDIO, SC_CHANNEL_LEFT, SC_KIND_AUDIO, 1},
      {SC_KIND_IQ, SC_CHANNEL_AUTO, SC_KIND_IQ, 2},
      {SC_KIND_COMPOSITE, SC_CHANNEL_RIGHT, SC_KIND_COMPOSITE, 1},
  };
  const char *path = write_stereo(1000);
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct sc_source_options options = {
        .path = path, .as = cases[i].as, .channel = cases[i].channel};
    struct sc_source *source = open_source(&options);
    const struct sc_source_info *info = sc_source_info(source);
    ck_assert_int_eq(info->kind, cases[i].kind);
    ck_assert_uint_eq(info->channels, cases[i].channels);
    ck_assert_uint_eq(drain(source), 1000);
    sc_source_close(source);
  }
}
END_TEST

START_TEST(complex_types_can_be_two_channels)
{
  struct sc_source_options options = {.path = write_carrier("ci16_le", 5000, 0.5, 0, 0.5),
                                      .type = "ci16_le",
                                      .rate_hz = 48000,
                                      .as = SC_KIND_AUDIO,
                                      .channel = SC_CHANNEL_RIGHT};
  struct sc_source *source = open_source(&options);
  ck_assert_uint_eq(sc_source_info(source)->channels, 1);
  ck_assert(fabs((double)read_block(source, 5).samples[4] - 0.5 * sin(M_PI / 2 + 0.1)) < 1e-4);
  sc_source_close(source);
}
END_TEST

START_TEST(contradictions_are_refused)
{
  char wav[4096], raw[4096];
  (void)snprintf(wav, sizeof wav, "%s", write_stereo(1000));
  (void)snprintf(raw, sizeof raw, "%s", write_carrier("ru8", 1000, 0.5, 0, 0.5));
  const struct {
    struct sc_source_options options;
    enum sc_error code;
    const char *part;
  } cases[] = {
      {{.path = wav, .start_s = -1}, SC_BAD_ARGUMENT, "--start -1"},
      {{.path = wav, .start_s = (double)NAN}, SC_BAD_ARGUMENT, "--start"},
      {{.path = wav, .duration_s = -0.5}, SC_BAD_ARGUMENT, "--duration -0.5"},
      {{.path = wav, .duration_s = 1e-9}, SC_BAD_ARGUMENT, "shorter than one sample"},
      {{.path = wav, .centre_hz = (double)INFINITY}, SC_BAD_ARGUMENT, "--centre"},
      {{.path = wav, .clock_known = true, .clock_ppm = (double)NAN},
       SC_BAD_ARGUMENT,
       "--clock-ppm"},
      {{.path = wav, .clock_known = true, .clock_ppm_uncertainty = -1},
       SC_BAD_ARGUMENT,
       "--clock-ppm"},
      {{.path = wav, .swap_iq = true}, SC_BAD_ARGUMENT, "--swap-iq needs I and Q"},
      {{.path = wav, .as = SC_KIND_COMPOSITE}, SC_BAD_ARGUMENT, "say which one with --channel"},
      {{.path = wav, .as = SC_KIND_IQ, .channel = SC_CHANNEL_LEFT},
       SC_BAD_ARGUMENT,
       "--as iq needs two channels"},
      {{.path = raw, .type = "ru8", .rate_hz = 1e5, .as = SC_KIND_IQ},
       SC_BAD_ARGUMENT,
       "--as iq needs two channels"},
      {{.path = raw, .type = "ru8", .rate_hz = 1e5, .channel = SC_CHANNEL_LEFT},
       SC_BAD_ARGUMENT,
       "leave --channel out"},
      {{.path = raw, .type = "ru8", .rate_hz = 1e5}, SC_UNDECIDED, "say --as iq, --as composite"},
      {{.path = raw}, SC_BAD_FORMAT, "--type TYPE --rate HZ"},
      {{.path = "/nowhere/at/all.wav"}, SC_CANNOT_OPEN, "/nowhere/at/all.wav"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
    refused(&cases[i].options, cases[i].code, cases[i].part);
}
END_TEST

START_TEST(a_centre_of_audio_is_told_to_be_pointless)
{
  struct sc_source_options options = {.path = write_stereo(1000), .centre_hz = 91e6};
  struct sc_source *source = open_source(&options);
  ck_assert(sc_source_info(source)->centre_hz == 0);
  ck_assert(noticed(source, "--centre has no meaning"));
  sc_source_close(source);
}
END_TEST

/* Who reads the report must know what was done to the samples. */
START_TEST(what_the_options_do_is_told)
{
  static const char response[] = "0 0 0\n20000 -1 0\n";
  struct sc_source_options options = {
      .path = write_stereo(48000),
      .as = SC_KIND_AUDIO,
      .start_s = 0.25,
      .response_path = support_file_write("response.txt", response, sizeof response - 1)};
  struct sc_source *source = open_source(&options);
  ck_assert(noticed(source, "the first 0.25 s are left out"));
  ck_assert(noticed(source, "response.txt"));
  ck_assert(!noticed(source, "exchanged") && !noticed(source, "--clock-ppm"));
  sc_source_close(source);
  options = (struct sc_source_options){.path = write_carrier("ci8", 1000, 0.5, 0, 0.5),
                                       .type = "ci8",
                                       .rate_hz = 250000,
                                       .swap_iq = true,
                                       .clock_known = true,
                                       .clock_ppm = -0.8,
                                       .clock_ppm_uncertainty = 0.2};
  source = open_source(&options);
  ck_assert(noticed(source, "I and Q are exchanged"));
  ck_assert(noticed(source, "fast by -0.8 ppm, known to 0.2 ppm"));
  ck_assert(!noticed(source, "left out") && !noticed(source, "response"));
  sc_source_close(source);
}
END_TEST

START_TEST(signals_of_many_channels)
{
  static const char text[] = "{\"global\": {\"core:datatype\": \"ci8\", \"core:sample_rate\": "
                             "1000, \"core:num_channels\": 2}}";
  static const unsigned char bytes[8] = {1, 2, 3, 4, 5, 6, 7, 8};
  (void)support_file_write("two.sigmf-data", bytes, sizeof bytes);
  struct sc_source_options options = {
      .path = support_file_write("two.sigmf-meta", text, sizeof text - 1)};
  refused(&options, SC_BAD_ARGUMENT, "has 2 channels");
  options.channel = SC_CHANNEL_RIGHT;
  struct sc_source *source = open_source(&options);
  struct sc_block block = read_block(source, 2);
  ck_assert(block.samples[0] == 3 / 128.f && block.samples[1] == 4 / 128.f);
  ck_assert(block.samples[2] == 7 / 128.f && block.samples[3] == 8 / 128.f);
  sc_source_close(source);
}
END_TEST

/* ---- streams */

/* Makes standard input a pipe that holds these bytes and then ends. */
static void feed_standard_input(const unsigned char *bytes, size_t length)
{
  int ends[2];
  ck_assert_int_eq(pipe(ends), 0);
  ck_assert_int_eq(write(ends[1], bytes, length), (ssize_t)length);
  ck_assert_int_eq(close(ends[1]), 0);
  ck_assert_int_eq(dup2(ends[0], STDIN_FILENO), STDIN_FILENO);
  ck_assert_int_eq(close(ends[0]), 0);
}

/* The kind needs evidence, and what was read for it is not lost. */
START_TEST(a_stream_begins_at_its_first_frame)
{
  static unsigned char bytes[2 * 20000];
  for (size_t i = 0; i < 20000; i++) {
    double angle = 2 * M_PI * fmod((double)i * 1000 / 96000, 1);
    int code = (int)lrint(8000 * sin(angle) + 1);
    bytes[2 * i] = (unsigned char)(code & 255);
    bytes[2 * i + 1] = (unsigned char)((code >> 8) & 255);
  }
  feed_standard_input(bytes, sizeof bytes);
  struct sc_source_options options = {
      .path = "-", .type = "ri16_le", .rate_hz = 96000, .start_s = 0.001, .duration_s = 0.2};
  struct sc_source *source = open_source(&options);
  const struct sc_source_info *info = sc_source_info(source);
  ck_assert(info->live && info->frames == 0);
  ck_assert_int_eq(info->kind, SC_KIND_AUDIO);
  ck_assert_int_eq(sc_source_descriptor(source), STDIN_FILENO);
  ck_assert_int_eq(sc_source_seek(source, 0), SC_UNSUPPORTED);
  uint64_t next = 0;
  for (struct sc_block block; (block = read_block(source, 3000)).frames > 0;) {
    ck_assert_uint_eq(block.first, next);
    for (size_t i = 0; i < block.frames; i++) {
      double angle = 2 * M_PI * fmod((double)(next + i + 96) * 1000 / 96000, 1);
      ck_assert(fabs((double)block.samples[i] - (8000 * sin(angle) + 1) / 32768) < 2e-5);
    }
    next += block.frames;
  }
  ck_assert_uint_eq(next, 19200);
  sc_source_close(source);
}
END_TEST

START_TEST(an_empty_stream)
{
  struct sc_source_options options = {.path = "/dev/null", .type = "ri16_le", .rate_hz = 96000};
  refused(&options, SC_BAD_FORMAT, "null: holds no sample");
  options.type = "ci16_le";
  struct sc_source *source = open_source(&options);
  ck_assert_uint_eq(read_block(source, 100).frames, 0);
  sc_source_close(source);
}
END_TEST

/* ---- memory */

/* A sparse file of 512 MB must not make the process grow by its size. */
START_TEST(memory_stays_constant)
{
#ifdef SC_SANITIZED
  printf("memory_stays_constant: not checked under sanitizers\n");
#else
  const off_t length = (off_t)512 << 20;
  const char *path = support_file_write("large.raw", "", 0);
  ck_assert_int_eq(truncate(path, length), 0);
  struct sc_source_options options = {.path = path, .type = "ci16_le", .rate_hz = 2400000};
  struct rusage before, after;
  struct sc_source *source = open_source(&options);
  ck_assert_uint_gt(read_block(source, 65536).frames, 0);
  ck_assert_int_eq(getrusage(RUSAGE_SELF, &before), 0);
  ck_assert_uint_eq(drain(source), (uint64_t)length / 4 - 65536);
  ck_assert_int_eq(getrusage(RUSAGE_SELF, &after), 0);
  long grown_kb = after.ru_maxrss - before.ru_maxrss;
  printf("memory_stays_constant: %ld kB, grown by %ld kB\n", after.ru_maxrss, grown_kb);
  ck_assert_msg(grown_kb < 1024, "grown by %ld kB", grown_kb);
  sc_source_close(source);
#endif
}
END_TEST

Suite *source_suite(void)
{
  Suite *suite = suite_create("source");
  TCase *tests = tcase_create("source");
  tcase_add_checked_fixture(tests, support_files_setup, support_files_teardown);
  tcase_add_test(tests, blocks_are_the_capture);
  tcase_add_test(tests, a_seek_is_a_gap_unless_it_leads_back);
  tcase_add_test(tests, clipping_is_counted_in_frames);
  tcase_add_test(tests, invalid_floats_are_replaced_and_counted);
  tcase_add_test(tests, level_jumps_are_told);
  tcase_add_test(tests, a_steady_level_is_no_news);
  tcase_add_test(tests, stretches_of_zeros_are_told);
  tcase_add_test(tests, start_and_duration_cut_a_part);
  tcase_add_test(tests, channels_are_picked);
  tcase_add_test(tests, i_and_q_are_exchanged);
  tcase_add_test(tests, the_clock_corrects_rate_and_centre);
  tcase_add_test(tests, a_recording_is_corrected_once);
  tcase_add_test(tests, blocks_end_where_settings_change);
  tcase_add_test(tests, annotations_follow_the_part);
  tcase_add_test(tests, wishes_win_within_reason);
  tcase_add_test(tests, complex_types_can_be_two_channels);
  tcase_add_test(tests, contradictions_are_refused);
  tcase_add_test(tests, a_centre_of_audio_is_told_to_be_pointless);
  tcase_add_test(tests, what_the_options_do_is_told);
  tcase_add_test(tests, signals_of_many_channels);
  tcase_add_test(tests, a_stream_begins_at_its_first_frame);
  tcase_add_test(tests, an_empty_stream);
  tcase_add_test(tests, memory_stays_constant);
  suite_add_tcase(suite, tests);
  return suite;
}
