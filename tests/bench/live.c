/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The live chain on the receiver of the tests, which SoapySDR loads from the build folder: what is
 * lost when the reader is too slow for it, how old the newest sample of a picture is, and whether
 * memory stays as it is. Real time for SC_LIVE_SECONDS (usual: 20), then SC_LIVE_FRAMES (usual:
 * 4.8e8, that is 200 s' worth; an hour's: 8.64e9) at SC_LIVE_SPEED times real time (usual: 10). */
#include <config.h>

#include <math.h>
#include <poll.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include <sidecomb/capture.h>
#include <sidecomb/compose.h>

#include "bench/bench.h"
#include "view/engine.h"

enum { NUMBERS = 1 << 23, DELAYS = 1 << 12 };
static const double rate_hz = 2.4e6, station_s = 3, rbw_share = 1.0 / 800;
static const char samples_path[] = "bench-live.ci16";
/* The bounds of the project. */
static const double delay_bound_ms = 150, growth_bound_mb = 1;
/* When everything has been created and has run for some time. */
static const double warm_s = 90;

static void give_up(const char *what, const struct sc_message *message)
{
  fprintf(stderr, "%s: %s\n", what, message == NULL ? "failed" : message->text);
  unlink(samples_path);
  exit(EXIT_FAILURE);
}

static double setting(const char *name, double otherwise)
{
  const char *text = getenv(name);
  double value = text == NULL ? otherwise : atof(text);
  return value > 0 ? value : otherwise;
}

static double resident_mb(void)
{
  long pages = 0, resident = 0;
  FILE *file = fopen("/proc/self/statm", "r");
  if (file == NULL || fscanf(file, "%ld %ld", &pages, &resident) != 2)
    give_up("/proc/self/statm", NULL);
  fclose(file);
  return (double)resident * (double)sysconf(_SC_PAGESIZE) / 1e6;
}

/* ---- the receiver */

static void use_module(void)
{
  if (setenv("SOAPY_SDR_PLUGIN_PATH", "tests/receiver", 1) != 0 ||
      setenv("SOAPY_SDR_ROOT", "tests/receiver", 1) != 0) /* no modules of this machine */
    give_up("the environment", NULL);
}

static struct sc_source_options receiver(double speed)
{
  static char keys[128];
  snprintf(keys, sizeof keys, "samples=%s,rate=%.0f,speed=%g", samples_path, rate_hz, speed);
  if (setenv("SC_BENCH_RECEIVER", keys, 1) != 0)
    give_up("the environment", NULL);
  return (struct sc_source_options){.receiver = "driver=bench_receiver"};
}

static struct sc_source *open_receiver(const struct sc_source_options *options)
{
  struct sc_source *source;
  struct sc_message message = {""};
  if (sc_source_open(options, &source, &message) != SC_OK)
    give_up("the receiver", &message);
  return source;
}

static void write_samples(const void *bytes, size_t size)
{
  FILE *file = fopen(samples_path, "wb");
  if (file == NULL || fwrite(bytes, 1, size, file) != size || fclose(file) != 0)
    give_up(samples_path, NULL);
}

/* ---- a reader that is too slow */

/* Frame n holds the lower 16 bits of n and the upper 7. */
static void make_numbers(void)
{
  short *pairs = malloc((size_t)2 * NUMBERS * sizeof *pairs);
  if (pairs == NULL)
    give_up("memory", NULL);
  for (long n = 0; n < NUMBERS; n++) {
    pairs[2 * n] = (short)((n & 0xffff) - 0x8000);
    pairs[2 * n + 1] = (short)(n >> 16);
  }
  write_samples(pairs, (size_t)2 * NUMBERS * sizeof *pairs);
  free(pairs);
}

static long number_of(const float *frame)
{
  return (lrintf(frame[0] * 32768) + 0x8000) | lrintf(frame[1] * 32768) << 16;
}

static void sleep_ms(long ms)
{
  nanosleep(&(struct timespec){.tv_sec = ms / 1000, .tv_nsec = ms % 1000 * 1000000}, NULL);
}

/* What the numbers say is missing against what the source says; a jump within a block, or one that
 * no block tells of, ends the bench. What is counted was lost behind what is still to be read, so
 * it is read on until both agree. */
static void lose_on_purpose(void)
{
  enum { BLOCK = 1 << 14, EACH = 150, PAUSES = 3 * EACH, PAUSE_MS = 1300, MOST = 10 * EACH };
  const struct sc_source_options options = receiver(1);
  struct sc_source *source = open_receiver(&options);
  struct sc_losses losses = {0};
  uint64_t missing = 0, stated = 0;
  long next = -1;
  for (int block = 0; block < PAUSES || (losses.dropped_frames != stated && block < MOST);
       block++) {
    struct sc_block got;
    if (sc_source_read(source, BLOCK, &got, NULL) != SC_OK)
      give_up("the receiver", NULL);
    for (size_t i = 0; i < got.frames; i++) {
      long number = number_of(got.samples + 2 * i), gap = (number - next + NUMBERS) % NUMBERS;
      if (next >= 0 && gap != 0 && (i > 0 || !got.discontinuity))
        give_up("frames are missing where nothing says so", NULL);
      missing += next >= 0 ? (uint64_t)gap : 0;
      next = (number + 1) % NUMBERS;
    }
    stated += block > 0 ? got.lost : 0;
    if (block < PAUSES && block % EACH == EACH / 2)
      sleep_ms(PAUSE_MS);
    sc_source_losses(source, &losses);
  }
  sc_source_close(source);
  bench_say("live_lost_on_purpose", (double)missing, "frames", NAN);
  bench_say("live_lost_as_stated", (double)stated, "frames", (double)missing);
  bench_say("live_lost_as_counted", (double)losses.dropped_frames, "frames", (double)missing);
  if (missing == 0 || stated != missing || losses.dropped_frames != missing)
    give_up("what is lost is not what is counted", NULL);
}

/* ---- the viewer's chain, without its terminal */

static void make_station(void)
{
  struct sc_scenario scenario;
  struct sc_message message = {""};
  struct sc_compose_result result;
  sc_scenario_init(&scenario);
  if (sc_scenario_ready("data", &scenario, &message) != SC_OK)
    give_up("the station", &message);
  scenario.rate_hz = rate_hz;
  scenario.seconds = station_s;
  const struct sc_compose_settings settings = {.path = samples_path};
  if (sc_compose(&scenario, &settings, NULL, NULL, &result, &message) != SC_OK)
    give_up("the station", &message);
}

/* What is seen of a run. */
struct watch {
  double zero_s; /* by the clock, when the first frame was played: at the latest */
  double speed;
  double
      behind_s[DELAYS]; /* by the clock, from a picture's newest frame to the picture, and zero */
  size_t pictures;      /* the newest DELAYS are kept */
  double record_ms, newest_s, lost_s, seen_s; /* of the newest picture; seen_s by the clock */
  double warm_mb;
  struct view_model model;
};

/* The first block is there as soon as it was played; that this program was not let run then is put
 * right by the first picture that would come before its samples. */
static double wait_for_zero(struct sc_source *source, double speed)
{
  enum { FIRST_FRAMES = 4096 };
  struct pollfd wait = {.fd = sc_source_descriptor(source), .events = POLLIN};
  if (poll(&wait, 1, 10000) != 1)
    give_up("the receiver gives nothing", NULL);
  return bench_wall_seconds() - FIRST_FRAMES / (rate_hz * speed);
}

static void ask(struct view_engine *engine)
{
  struct view_request request;
  memset(&request, 0, sizeof request); /* compared as bytes */
  request.view = VIEW_AIR;
  request.span_hz = rate_hz;
  request.rbw_hz = rate_hz * rbw_share;
  request.noise_dbfs_hz = (double)NAN;
  request.length_s = 1;
  request.follow = true;
  view_engine_ask(engine, &request);
}

/* How old the newest sample of a picture is when it can be drawn. What the device lost was played
 * too, but is not among the frames. */
static void note_picture(struct watch *watch)
{
  const struct sc_losses *losses = &watch->model.losses;
  const struct view_spectrum *spectrum = &watch->model.spectrum;
  if (spectrum->trace.records == 0 || !(spectrum->to_s > watch->newest_s))
    return;
  watch->newest_s = spectrum->to_s;
  watch->lost_s = (double)(losses->overrun_frames + losses->dropped_frames) / rate_hz;
  watch->seen_s = bench_wall_seconds();
  double behind_s = watch->seen_s - (watch->newest_s + watch->lost_s) / watch->speed;
  watch->zero_s = fmin(watch->zero_s, behind_s);
  watch->behind_s[watch->pictures++ % DELAYS] = behind_s;
  watch->record_ms = 1e3 * spectrum->trace.record_s;
}

static void look(struct view_engine *engine, struct watch *watch)
{
  char bytes[64];
  struct pollfd wait = {.fd = view_engine_descriptor(engine), .events = POLLIN};
  if (poll(&wait, 1, 1000) > 0 && read(wait.fd, bytes, sizeof bytes) < 0)
    give_up("the engine", NULL);
  view_engine_take(engine, &watch->model);
  note_picture(watch);
  if (watch->model.trouble != NULL || watch->model.ended)
    give_up(watch->model.trouble != NULL ? watch->model.trouble : "it ended", NULL);
}

static int ascending(const void *a, const void *b)
{
  double left = *(const double *)a, right = *(const double *)b;
  return (left > right) - (left < right);
}

static void say(const char *what, const char *which, double value, const char *unit,
                double reference)
{
  char name[64];
  snprintf(name, sizeof name, "live_%s_%s", what, which);
  bench_say(name, value, unit, reference);
}

static void say_all(struct watch *watch, const char *which, double seconds, double busy_s)
{
  const struct view_model *model = &watch->model;
  const struct sc_losses *losses = &model->losses;
  size_t kept = watch->pictures < DELAYS ? watch->pictures : DELAYS;
  double mb = resident_mb();
  qsort(watch->behind_s, kept, sizeof *watch->behind_s, ascending);
  say("frames", which, watch->newest_s * rate_hz, "frames", NAN);
  say("accounted", which, (watch->newest_s + watch->lost_s) * rate_hz, "frames",
      (watch->seen_s - watch->zero_s) * watch->speed * rate_hz);
  say("processors", which, busy_s / seconds, "", NAN);
  say("pictures", which, (double)watch->pictures / seconds, "1/s", NAN);
  double bound = watch->speed == 1 ? delay_bound_ms + watch->record_ms : (double)NAN;
  static const struct {
    const char *name;
    double share;
  } delays[] = {{"delay", 0.5}, {"delay_95", 0.95}, {"delay_longest", 1}};
  for (size_t i = 0; kept > 0 && i < sizeof delays / sizeof delays[0]; i++) {
    double behind_s = watch->behind_s[(size_t)((double)(kept - 1) * delays[i].share)];
    say(delays[i].name, which, 1e3 * (behind_s - watch->zero_s), "ms", bound);
  }
  say("lost_by_device", which, (double)losses->overrun_frames, "frames", NAN);
  say("dropped_unread", which, (double)losses->dropped_frames, "frames", NAN);
  say("not_drawn", which, (double)model->undrawn_frames, "frames", NAN);
  say("not_measured", which, (double)model->unmeasured_frames, "frames", NAN);
  say("resident_warm", which, watch->warm_mb, "MB", NAN);
  say("resident_end", which, mb, "MB", NAN);
  say("growth", which, mb - watch->warm_mb, "MB", growth_bound_mb);
}

static void run_chain(const char *which, double frames, double speed)
{
  static struct watch watch;
  const struct sc_source_options options = receiver(speed);
  const struct sc_analysis_settings analysis = {.full_scale_khz = 0};
  struct view_engine *engine;
  struct sc_message message = {""};
  struct sc_source *source = open_receiver(&options);
  watch = (struct watch){.zero_s = wait_for_zero(source, speed), .speed = speed};
  double busy = bench_seconds(), from = bench_wall_seconds(), seconds = frames / rate_hz / speed;
  if (view_engine_start(source, &options, &analysis, &engine, &message) != SC_OK)
    give_up("the engine", &message);
  ask(engine);
  while (bench_wall_seconds() - from < seconds) {
    look(engine, &watch);
    if (watch.warm_mb == 0 && bench_wall_seconds() - from > fmin(warm_s, seconds / 2))
      watch.warm_mb = resident_mb();
  }
  say_all(&watch, which, bench_wall_seconds() - from, bench_seconds() - busy);
  view_engine_stop(engine);
  sc_source_close(source);
}

int main(int argc, char **argv)
{
  if (!bench_start(argc, argv))
    return EXIT_FAILURE;
  use_module();
  make_numbers();
  lose_on_purpose();
  make_station();
  run_chain("real_time", setting("SC_LIVE_SECONDS", 20) * rate_hz, 1);
  run_chain("fast", setting("SC_LIVE_FRAMES", 4.8e8), setting("SC_LIVE_SPEED", 10));
  unlink(samples_path);
  return bench_end();
}
