/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include "account/recording.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "account/scene.h"
#include "common/number.h"

/* Our choices: twelve bits hold no less; and a decoder of stereo lets more across, as it need not
 * part left and right by more (29.7 dB: 47 CFR 73.322(b), from memory). */
static const double silent_dbfs = -70, weaker_db = 30;
/* Hum that is weaker than this against all that sounds is left to the table of lines. */
static const double hum_least_db = -60;
/* As in foreign.c: EN 50160:2010, 4.2.1, from memory. */
static const double mains_nominal_hz[] = {50, 60}, mains_share = 0.01;
enum { TIMES_MAX = 6, FIRST_MAX = 2 };

struct words {
  char *text;
  size_t size;
};

SC_PRINTF(2, 3) static void say(const struct words *words, const char *format, ...)
{
  const size_t length = strlen(words->text);
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(words->text + length, words->size - length, format, arguments);
  va_end(arguments);
}

static const char *name_of(unsigned channels, unsigned c)
{
  return channels < 2 ? "the sound" : c == 0 ? "the left channel" : "the right channel";
}

/* ---- silence */

static double level_of(const struct sc_audio_channel *channel)
{
  return channel->rms_dbfs.why == NULL ? channel->rms_dbfs.value : -HUGE_VAL;
}

static void say_silence(const struct words *words, const struct sc_result *result)
{
  const struct sc_audio_channel *channel = result->audio.channel;
  const unsigned channels = result->capture.info.channels;
  const double left = level_of(&channel[0]), right = channels < 2 ? left : level_of(&channel[1]);
  const unsigned weak = left < right ? 0 : 1;
  if (fmax(left, right) == -HUGE_VAL)
    say(words, "; there is no sound in it");
  else if (fmax(left, right) < silent_dbfs)
    say(words, "; it is silent but for %.1f dBFS", fmax(left, right));
  else if (fmin(left, right) == -HUGE_VAL)
    say(words, "; %s is dead, all zeros", name_of(channels, weak));
  else if (fabs(left - right) > weaker_db)
    say(words, "; %s is %.1f dB below the other", name_of(channels, weak), fabs(left - right));
}

/* ---- tops */

static void say_tops(const struct words *words, const struct sc_result *result)
{
  const unsigned channels = result->capture.info.channels;
  for (unsigned c = 0; c < channels && c < 2; c++) {
    const struct sc_audio_channel *channel = &result->audio.channel[c];
    if (channel->flat_percent.why == NULL && channel->flat_percent.value > 0 &&
        channel->peak_dbfs.why == NULL)
      say(words, "; %s is clipped: %.2g %% of its samples stand at flat tops of %s dBFS",
          name_of(channels, c), channel->flat_percent.value,
          common_number(channel->peak_dbfs.value, 1, false).text);
  }
}

/* ---- hum */

struct series {
  double hz;    /* of the mains */
  size_t count; /* of lines */
  int first;    /* the lowest of them, so many times the mains */
  double power; /* of all, re a sine of full scale */
};

static bool is_of(const struct sc_line_list *list, const struct sc_line *line,
                  const struct sc_quantity *mains_hz, int *times)
{
  *times = (int)lround(line->offset_hz.value / mains_hz->value);
  const double spread = hypot(line->offset_hz.uncertainty, *times * mains_hz->uncertainty);
  return *times >= 1 && *times <= TIMES_MAX && line->level_dbfs.why == NULL &&
         fabs(line->offset_hz.value - *times * mains_hz->value) <= account_exact_hz(list, spread);
}

static struct series series_of(const struct sc_line_list *list, const struct sc_quantity *mains_hz)
{
  struct series series = {.hz = mains_hz->value};
  int times;
  for (size_t i = 0; i < list->count; i++) {
    if (!is_of(list, &list->lines[i], mains_hz, &times))
      continue;
    series.first = series.first == 0 || times < series.first ? times : series.first;
    series.count++;
    series.power += pow(10, list->lines[i].level_dbfs.value / 10);
  }
  return series;
}

/* The one with most lines, by what stands at the mains' frequency or at twice that. */
static struct series find_series(const struct sc_line_list *list)
{
  struct series best = {0};
  for (size_t i = 0; i < list->count; i++)
    for (size_t k = 0; k < sizeof mains_nominal_hz / sizeof *mains_nominal_hz; k++) {
      const struct sc_quantity *hz = &list->lines[i].offset_hz;
      const int times = (int)lround(hz->value / mains_nominal_hz[k]);
      const double nominal = times * mains_nominal_hz[k];
      if (times < 1 || times > FIRST_MAX || fabs(hz->value - nominal) > mains_share * nominal)
        continue;
      const struct sc_quantity mains = {.value = hz->value / times,
                                        .uncertainty = hz->uncertainty / times};
      const struct series series = series_of(list, &mains);
      if (series.count > best.count)
        best = series;
    }
  return best;
}

static void say_hum(const struct words *words, const struct sc_result *result)
{
  const struct sc_line_list *list = &result->composite_lines;
  if (list->why != NULL || result->audio.sequence == SC_YES)
    return;
  const struct series series = find_series(list);
  const double level = 10 * log10(series.power);
  if (series.count == 0 || level - level_of(&result->audio.channel[0]) < hum_least_db)
    return;
  const char *of = result->capture.info.channels < 2 ? "" : ", in the left channel";
  if (series.count > 1)
    say(words, "; %zu lines at multiples of %.2f Hz as of mains hum, %.1f dBFS together%s",
        series.count, series.hz, level, of);
  else
    say(words, "; a line at %.2f Hz of %.1f dBFS%s, mains hum if it is no tone of the programme",
        series.first * series.hz, level, of);
}

void account_recording_words(const struct sc_result *result, char *text, size_t size)
{
  const struct words words = {text, size};
  text[0] = '\0';
  if (result->capture.info.kind != SC_KIND_AUDIO || result->unmeasured != NULL)
    return;
  if (result->audio.sequence != SC_UNKNOWN) { /* else nobody could listen at that rate */
    say_silence(&words, result);
    say_tops(&words, result);
  }
  say_hum(&words, result);
}
