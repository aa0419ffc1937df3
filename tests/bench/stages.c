/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a stage gets is made once and kept: decoded blocks, and the demodulator's. The settings are
 * those of src/analysis; what these stages leave of the whole is said by the caller. */
#include <config.h>

#include "bench/stages.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sidecomb/am.h>
#include <sidecomb/carrier.h>
#include <sidecomb/composite.h>
#include <sidecomb/deviation.h>
#include <sidecomb/injection.h>
#include <sidecomb/lines.h>
#include <sidecomb/pilot.h>
#include <sidecomb/rds.h>
#include <sidecomb/spectrum.h>
#include <sidecomb/stereo.h>

#include "analysis/air.h"
#include "analysis/baseband.h"
#include "analysis/halved.h"
#include "analysis/listener.h"
#include "bench/bench.h"
#include "capture/decode.h"
#include "capture/scan.h"
#include "dsp/discriminator.h"
#include "dsp/resample.h"

enum { RUN = STAGES_BLOCK / 2 }; /* frames that the channel takes at once */
enum { OUTSIDE_RECORDS = 32, ROUNDS = 3 };

static const double top_hz = 100e3, wide_hz = 175e3, filter_db = 100;

/* What one run of the capture becomes. */
struct run {
  const int16_t *codes;
  float *iq, *channel, *khz, *lower, *audio; /* lower: khz at half its rate */
  size_t made, halved, heard;
};

struct inputs {
  double rate_hz, carrier_hz;
  struct sc_demodulator_info info;
  double audio_rate_hz;
  uint64_t frames; /* of the capture that is pretended */
  struct run *runs;
  size_t count;
};

union made {
  void *nothing;
  struct sc_spectrum *spectrum;
  struct sc_demodulator *demodulator;
  struct dsp_decimator *decimator;
  struct sc_carrier_meter *carrier;
  struct analysis_halved *halved;
  struct sc_am_meter *am;
  struct sc_pilot_meter *pilot;
  struct sc_deviation_meter *deviation;
  struct sc_injection_meter *injection;
  struct sc_stereo_meter *stereo;
  struct sc_rds_meter *rds;
  struct analysis_listener *listener;
  struct sc_lines *lines;
};

/* One stage: its functions take what `create` made. */
struct stage {
  const char *name;
  enum sc_error (*create)(const struct inputs *in, union made *made);
  void (*feed)(union made made, const struct run *run);
  void (*end)(union made made);
  bool inner; /* a part of the stage before it */
};

static void must(enum sc_error error)
{
  if (error == SC_OK)
    return;
  fprintf(stderr, "%s\n", sc_error_text(error));
  exit(EXIT_FAILURE);
}

static void *copy(const void *from, size_t bytes)
{
  void *to = malloc(bytes + 1);
  must(to == NULL ? SC_NO_MEMORY : SC_OK);
  return memcpy(to, from, bytes);
}

/* ---- the stages */

static float scratch[2 * STAGES_BLOCK];

void stages_scan(float *iq, size_t frames)
{
  static const struct capture_range range = {-1.0F, 32767.0F / 32768.0F, false};
  struct capture_scan scan = {0};
  capture_scan(iq, frames, 2, &range, &scan);
}

static enum sc_error create_nothing(const struct inputs *in, union made *made)
{
  (void)in;
  made->nothing = NULL;
  return SC_OK;
}

static void end_nothing(union made made)
{
  (void)made;
}

static void feed_decode(union made made, const struct run *run)
{
  (void)made;
  capture_decode_i16_le((const unsigned char *)run->codes, scratch, 2 * (size_t)RUN);
}

static void feed_scan(union made made, const struct run *run)
{
  (void)made;
  (void)run; /* it may change what it scans */
  stages_scan(scratch, RUN);
}

static enum sc_error create_air(const struct inputs *in, union made *made)
{
  const struct sc_source_info info = {.sample_rate_hz = in->rate_hz, .frames = in->frames};
  return analysis_air_create(&info, &made->spectrum);
}

static void feed_air(union made made, const struct run *run)
{
  sc_spectrum_feed(made.spectrum, run->iq, RUN, false);
}

static void end_spectrum(union made made)
{
  sc_spectrum_destroy(made.spectrum);
}

static enum sc_error create_demodulator(const struct inputs *in, union made *made)
{
  const struct sc_demodulator_settings settings = {in->rate_hz, in->carrier_hz};
  return sc_demodulator_create(&settings, &made->demodulator);
}

static void feed_demodulator(union made made, const struct run *run)
{
  const float *khz, *channel;
  sc_demodulator_feed(made.demodulator, run->iq, RUN, false, &khz, &channel);
}

static void end_demodulator(union made made)
{
  sc_demodulator_destroy(made.demodulator);
}

static enum sc_error create_decimator(const struct inputs *in, union made *made)
{
  return dsp_decimator_create(2, in->info.decimation, wide_hz, filter_db, in->rate_hz, RUN,
                              &made->decimator);
}

static void feed_decimator(union made made, const struct run *run)
{
  dsp_decimator_run(made.decimator, run->iq, RUN, scratch);
}

static void end_decimator(union made made)
{
  dsp_decimator_destroy(made.decimator);
}

static void feed_discriminator(union made made, const struct run *run)
{
  (void)made;
  static float previous[2] = {1, 0};
  dsp_discriminate(run->channel, run->made, 1, previous, scratch);
}

static enum sc_error create_carrier(const struct inputs *in, union made *made)
{
  const struct sc_carrier_settings settings = {in->info.rate_hz, in->carrier_hz,
                                               in->info.half_width_hz, in->info.noise_bandwidth_hz,
                                               (double)NAN};
  return sc_carrier_create(&settings, &made->carrier);
}

static void feed_carrier(union made made, const struct run *run)
{
  sc_carrier_feed(made.carrier, run->channel, run->khz, run->made, false);
}

static void end_carrier(union made made)
{
  sc_carrier_destroy(made.carrier);
}

static enum sc_error create_am(const struct inputs *in, union made *made)
{
  const struct sc_am_settings settings = {in->info.rate_hz, in->info.noise_bandwidth_hz};
  return sc_am_create(&settings, &made->am);
}

static void feed_am(union made made, const struct run *run)
{
  sc_am_feed(made.am, run->channel, run->made);
}

static void end_am(union made made)
{
  sc_am_destroy(made.am);
}

static uint64_t composite_frames(const struct inputs *in)
{
  return in->frames / in->info.decimation;
}

static enum sc_error create_composite(const struct inputs *in, union made *made)
{
  const struct sc_spectrum_settings settings = {.sample_rate_hz = in->info.rate_hz,
                                                .centre_hz = top_hz / 2,
                                                .span_hz = top_hz,
                                                .rbw_hz = 100,
                                                .window = SC_WINDOW_BLACKMAN_HARRIS,
                                                .overlap = 0.5,
                                                .records_enough = ANALYSIS_RECORDS_ENOUGH,
                                                .expected_frames = composite_frames(in)};
  return sc_spectrum_create(&settings, &made->spectrum);
}

static void feed_composite(union made made, const struct run *run)
{
  sc_spectrum_feed(made.spectrum, run->khz, run->made, false);
}

static enum sc_error create_halved(const struct inputs *in, union made *made)
{
  return analysis_halved_create(in->info.rate_hz, &made->halved);
}

static size_t halve(struct analysis_halved *halved, const float *khz, size_t frames, float *out)
{
  size_t count = 0;
  for (size_t at = 0; at < frames; at += ANALYSIS_HALVED_FRAMES) {
    const float *part;
    const size_t left = frames - at;
    const size_t run = left < ANALYSIS_HALVED_FRAMES ? left : ANALYSIS_HALVED_FRAMES;
    const size_t made = analysis_halved_feed(halved, khz + at, run, false, &part);
    if (out != NULL)
      memcpy(out + count, part, made * sizeof *out);
    count += made;
  }
  return count;
}

static void feed_halved(union made made, const struct run *run)
{
  halve(made.halved, run->khz, run->made, NULL);
}

static void end_halved(union made made)
{
  analysis_halved_destroy(made.halved);
}

static enum sc_error create_pilot(const struct inputs *in, union made *made)
{
  const struct sc_pilot_settings settings = {in->info.rate_hz / 2, true, (double)NAN};
  return sc_pilot_create(&settings, &made->pilot);
}

static void feed_pilot(union made made, const struct run *run)
{
  sc_pilot_feed(made.pilot, run->lower, run->halved, false);
}

static void end_pilot(union made made)
{
  sc_pilot_destroy(made.pilot);
}

static enum sc_error create_deviation(const struct inputs *in, union made *made)
{
  const struct sc_deviation_settings settings = {.rate_hz = in->info.rate_hz, .absolute = true};
  return sc_deviation_create(&settings, &made->deviation);
}

static void feed_deviation(union made made, const struct run *run)
{
  sc_deviation_feed(made.deviation, run->khz, run->made, false);
}

static void end_deviation(union made made)
{
  sc_deviation_destroy(made.deviation);
}

static enum sc_error create_injection(const struct inputs *in, union made *made)
{
  const struct sc_injection_settings settings = {in->info.rate_hz, true};
  return sc_injection_create(&settings, &made->injection);
}

static void feed_injection(union made made, const struct run *run)
{
  sc_injection_feed(made.injection, run->khz, run->made);
}

static void end_injection(union made made)
{
  sc_injection_destroy(made.injection);
}

static enum sc_error create_stereo(const struct inputs *in, union made *made)
{
  const struct sc_stereo_settings settings = {in->info.rate_hz / 2, true, 50};
  return sc_stereo_create(&settings, &made->stereo);
}

static void feed_stereo(union made made, const struct run *run)
{
  sc_stereo_feed(made.stereo, run->lower, run->halved, false);
}

static void end_stereo(union made made)
{
  sc_stereo_destroy(made.stereo);
}

static enum sc_error create_rds(const struct inputs *in, union made *made)
{
  const struct sc_rds_settings settings = {
      .rate_hz = in->info.rate_hz / 2, .absolute = true, .clock_relative_uncertainty = (double)NAN};
  return sc_rds_create(&settings, &made->rds);
}

static void feed_rds(union made made, const struct run *run)
{
  sc_rds_feed(made.rds, run->lower, run->halved, false);
}

static void end_rds(union made made)
{
  sc_rds_destroy(made.rds);
}

static enum sc_error create_audio(const struct inputs *in, union made *made)
{
  return analysis_listener_create(in->audio_rate_hz, 2, 75, 0, &made->listener);
}

static void feed_audio(union made made, const struct run *run)
{
  analysis_listener_feed(made.listener, run->audio, run->heard, false);
}

static void end_audio(union made made)
{
  analysis_listener_destroy(made.listener);
}

static enum sc_error create_composite_lines(const struct inputs *in, union made *made)
{
  const struct sc_lines_settings settings = {.sample_rate_hz = in->info.rate_hz,
                                             .single_precision = true,
                                             .lower_hz = 10,
                                             .upper_hz = top_hz,
                                             .record_max = ANALYSIS_RECORD_MAX,
                                             .expected_frames = composite_frames(in)};
  return sc_lines_create(&settings, &made->lines);
}

static void feed_composite_lines(union made made, const struct run *run)
{
  sc_lines_feed(made.lines, run->khz, run->made, false);
}

static enum sc_error create_inside(const struct inputs *in, union made *made)
{
  const struct sc_lines_settings settings = {.sample_rate_hz = in->info.rate_hz,
                                             .complex_input = true,
                                             .single_precision = true,
                                             .lower_hz = -in->info.half_width_hz,
                                             .upper_hz = in->info.half_width_hz,
                                             .record_max = ANALYSIS_RECORD_MAX,
                                             .expected_frames = composite_frames(in)};
  return sc_lines_create(&settings, &made->lines);
}

static void feed_inside(union made made, const struct run *run)
{
  sc_lines_feed(made.lines, run->channel, run->made, false);
}

static enum sc_error create_outside(const struct inputs *in, union made *made)
{
  const double edge_hz = 0.98 * in->rate_hz / 2;
  const struct sc_lines_settings settings = {
      .sample_rate_hz = in->rate_hz,
      .complex_input = true,
      .single_precision = true,
      .lower_hz = -edge_hz,
      .upper_hz = edge_hz,
      .record_max = ANALYSIS_RECORD_MAX,
      .records = OUTSIDE_RECORDS,
      .without_lower_hz = in->carrier_hz - in->info.half_width_hz,
      .without_upper_hz = in->carrier_hz + in->info.half_width_hz,
      .expected_frames = in->frames};
  return sc_lines_create(&settings, &made->lines);
}

static void feed_outside(union made made, const struct run *run)
{
  sc_lines_feed(made.lines, run->iq, RUN, false);
}

/* Lines are fitted for the result, which is a part of the search. */
static void end_lines(union made made)
{
  struct sc_lines_result found;
  sc_lines_result(made.lines, &found);
  sc_lines_destroy(made.lines);
}

static const struct stage stages[] = {
    {"decode", create_nothing, feed_decode, end_nothing, false},
    {"scan", create_nothing, feed_scan, end_nothing, false},
    {"spectrum on air", create_air, feed_air, end_spectrum, false},
    {"demodulator", create_demodulator, feed_demodulator, end_demodulator, false},
    {"its decimator", create_decimator, feed_decimator, end_decimator, true},
    {"its discriminator", create_nothing, feed_discriminator, end_nothing, true},
    {"carrier", create_carrier, feed_carrier, end_carrier, false},
    {"am", create_am, feed_am, end_am, false},
    {"composite spectrum", create_composite, feed_composite, end_spectrum, false},
    {"composite at half its rate", create_halved, feed_halved, end_halved, false},
    {"pilot", create_pilot, feed_pilot, end_pilot, false},
    {"deviation", create_deviation, feed_deviation, end_deviation, false},
    {"injection", create_injection, feed_injection, end_injection, false},
    {"stereo", create_stereo, feed_stereo, end_stereo, false},
    {"rds", create_rds, feed_rds, end_rds, false},
    {"audio", create_audio, feed_audio, end_audio, false},
    {"composite lines", create_composite_lines, feed_composite_lines, end_lines, false},
    {"lines inside", create_inside, feed_inside, end_lines, false},
    {"lines outside", create_outside, feed_outside, end_lines, false},
};

/* ---- what they get */

static void make_run(struct run *run, struct sc_demodulator *demodulator,
                     struct analysis_halved *halved, struct sc_stereo_meter *stereo)
{
  const float *khz, *channel;
  float *iq = copy(scratch, 2 * RUN * sizeof *iq);
  capture_decode_i16_le((const unsigned char *)run->codes, iq, 2 * (size_t)RUN);
  run->iq = iq;
  run->made = sc_demodulator_feed(demodulator, iq, RUN, false, &khz, &channel);
  run->khz = copy(khz, run->made * sizeof *khz);
  run->channel = copy(channel, 2 * run->made * sizeof *channel);
  run->halved = halve(halved, khz, run->made, scratch);
  run->lower = copy(scratch, run->halved * sizeof *run->lower);
  const struct sc_stereo_audio audio = sc_stereo_feed(stereo, run->lower, run->halved, false);
  run->heard = audio.frames;
  run->audio = copy(audio.frames > 0 ? audio.sent : scratch, 2 * audio.frames * sizeof *run->audio);
}

static struct inputs make_inputs(const struct stages_capture *capture, size_t blocks)
{
  struct inputs in = {.rate_hz = capture->rate_hz,
                      .carrier_hz = capture->carrier_hz,
                      .frames = (uint64_t)blocks * STAGES_BLOCK,
                      .count = capture->blocks * STAGES_BLOCK / RUN};
  union made demodulator, halved, stereo;
  must(create_demodulator(&in, &demodulator));
  in.info = sc_demodulator_info(demodulator.demodulator);
  must(create_halved(&in, &halved));
  must(create_stereo(&in, &stereo));
  in.audio_rate_hz = sc_stereo_audio_rate(stereo.stereo);
  in.runs = calloc(in.count, sizeof *in.runs);
  must(in.runs == NULL ? SC_NO_MEMORY : SC_OK);
  for (size_t i = 0; i < in.count; i++) {
    in.runs[i].codes = capture->codes + 2 * i * RUN;
    make_run(&in.runs[i], demodulator.demodulator, halved.halved, stereo.stereo);
  }
  end_demodulator(demodulator);
  end_halved(halved);
  end_stereo(stereo);
  return in;
}

static void free_inputs(struct inputs *in)
{
  for (size_t i = 0; i < in->count; i++) {
    free(in->runs[i].iq);
    free(in->runs[i].channel);
    free(in->runs[i].khz);
    free(in->runs[i].lower);
    free(in->runs[i].audio);
  }
  free(in->runs);
}

/* ---- the clock */

static double time_stage(const struct stage *stage, const struct inputs *in, size_t runs)
{
  union made made;
  must(stage->create(in, &made));
  const double start = bench_seconds();
  for (size_t i = 0; i < runs; i++)
    stage->feed(made, &in->runs[i % in->count]);
  stage->end(made);
  return bench_seconds() - start;
}

double stages_say(const struct stages_capture *capture, size_t blocks, double bare_ns)
{
  struct inputs in = make_inputs(capture, blocks);
  const size_t runs = blocks * STAGES_BLOCK / RUN;
  const double ns = 1e9 / ((double)blocks * STAGES_BLOCK);
  double sum = 0;
  for (size_t s = 0; s < sizeof stages / sizeof *stages; s++) {
    char name[64];
    double cost = INFINITY;
    for (int round = 0; round < ROUNDS; round++)
      cost = fmin(cost, ns * time_stage(&stages[s], &in, runs));
    snprintf(name, sizeof name, "report, %s%s", stages[s].inner ? "  " : "", stages[s].name);
    bench_say(name, cost, "ns/sample", bare_ns);
    if (stages[s].feed == feed_discriminator)
      bench_say("report, discriminator at its own rate", in.info.decimation * cost, "ns/sample",
                bare_ns / 3);
    sum += stages[s].inner ? 0 : cost;
  }
  free_inputs(&in);
  return sum;
}
