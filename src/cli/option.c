/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The table of options, and how each kind of argument is taken. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "cli/number.h"
#include "cli/option.h"

static void *place(const struct cli_option *option, struct cli_settings *settings)
{
  return (char *)settings + option->offset;
}

static enum sc_error take_flag(const struct cli_option *option, const char *text,
                               struct cli_settings *settings, struct sc_message *message)
{
  (void)text;
  (void)message;
  *(bool *)place(option, settings) = true;
  return SC_OK;
}

static enum sc_error take_text(const struct cli_option *option, const char *text,
                               struct cli_settings *settings, struct sc_message *message)
{
  if (text[0] == '\0')
    return sc_fail(message, SC_BAD_ARGUMENT, "--%s: its argument %s is empty", option->name,
                   option->argument);
  *(const char **)place(option, settings) = text;
  return SC_OK;
}

static enum sc_error check_range(const struct cli_option *option, const char *text, double value,
                                 struct sc_message *message)
{
  if (value >= option->least && value <= option->most)
    return SC_OK;
  return sc_fail(message, SC_BAD_ARGUMENT, "--%s %s: out of range; give %.10g to %.10g%s%s",
                 option->name, text, option->least, option->most, option->unit[0] ? " " : "",
                 option->unit);
}

static enum sc_error take_number(const struct cli_option *option, const char *text,
                                 struct cli_settings *settings, struct sc_message *message)
{
  double value;
  if (!cli_number(text, strlen(text), option->unit, &value))
    return sc_fail(message, SC_BAD_ARGUMENT, "--%s %s: not a number of %s; write it like %s",
                   option->name, text, option->unit, option->example);
  enum sc_error error = check_range(option, text, value, message);
  if (error == SC_OK)
    *(double *)place(option, settings) = value;
  return error;
}

/* "a, b or c" */
static void list_words(const char *const *words, char *list, size_t size)
{
  size_t used = 0;
  list[0] = '\0';
  for (size_t i = 0; words[i] != NULL && used < size; i++) {
    const char *joint = i == 0 ? "" : words[i + 1] == NULL ? " or " : ", ";
    int length = snprintf(list + used, size - used, "%s%s", joint, words[i]);
    used += length > 0 ? (size_t)length : 0;
  }
}

static int find_word(const char *const *words, const char *text)
{
  for (int i = 0; words[i] != NULL; i++)
    if (strcmp(words[i], text) == 0)
      return i;
  return -1;
}

static enum sc_error refuse_word(const struct cli_option *option, const char *text,
                                 const char *const *words, struct sc_message *message)
{
  char list[384];
  list_words(words, list, sizeof list);
  return sc_fail(message, SC_BAD_ARGUMENT, "--%s %.40s: not known; give %s", option->name, text,
                 list);
}

/* The words stand in the order of the enum, from its second value on. */
static enum sc_error take_choice(const struct cli_option *option, const char *text,
                                 struct cli_settings *settings, struct sc_message *message)
{
  int found = find_word(option->words, text);
  if (found < 0)
    return refuse_word(option, text, option->words, message);
  *(int *)place(option, settings) = found + 1;
  return SC_OK;
}

static enum sc_error take_type(const struct cli_option *option, const char *text,
                               struct cli_settings *settings, struct sc_message *message)
{
  if (find_word(sc_source_type_names(), text) < 0)
    return refuse_word(option, text, sc_source_type_names(), message);
  return take_text(option, text, settings, message);
}

static enum sc_error take_ready(const struct cli_option *option, const char *text,
                                struct cli_settings *settings, struct sc_message *message)
{
  if (find_word(sc_scenario_ready_names(), text) < 0)
    return refuse_word(option, text, sc_scenario_ready_names(), message);
  return take_text(option, text, settings, message);
}

static enum sc_error take_clock(const struct cli_option *option, const char *text,
                                struct cli_settings *settings, struct sc_message *message)
{
  double value, uncertainty;
  if (!cli_number_pair(text, &value, &uncertainty) || uncertainty < 0)
    return sc_fail(message, SC_BAD_ARGUMENT,
                   "--%s %s: give the value and its standard uncertainty, like %s", option->name,
                   text, option->example);
  enum sc_error error = check_range(option, text, value, message);
  if (error == SC_OK)
    error = check_range(option, text, uncertainty, message);
  if (error != SC_OK)
    return error;
  settings->source.clock_known = true;
  settings->source.clock_ppm = value;
  settings->source.clock_ppm_uncertainty = uncertainty;
  return SC_OK;
}

static enum sc_error take_carrier(const struct cli_option *option, const char *text,
                                  struct cli_settings *settings, struct sc_message *message)
{
  double value;
  if (!cli_number(text, strlen(text), option->unit, &value))
    return sc_fail(message, SC_BAD_ARGUMENT, "--%s %s: not a number of Hz; write it like %s",
                   option->name, text, option->example);
  enum sc_error error = check_range(option, text, value, message);
  if (error != SC_OK)
    return error;
  settings->carrier = (struct cli_carrier){true, text[0] == '+' || text[0] == '-', value};
  return SC_OK;
}

static enum sc_error take_whole(const struct cli_option *option, const char *text,
                                struct cli_settings *settings, struct sc_message *message)
{
  double value;
  if (!cli_number(text, strlen(text), "", &value) || value != floor(value))
    return sc_fail(message, SC_BAD_ARGUMENT, "--%s %s: not a whole number; write it like %s",
                   option->name, text, option->example);
  return take_number(option, text, settings, message);
}

static enum sc_error take_assignment(const struct cli_option *option, const char *text,
                                     struct cli_settings *settings, struct sc_message *message)
{
  struct cli_compose *compose = &settings->compose;
  if (text[0] == '=' || strchr(text, '=') == NULL)
    return sc_fail(message, SC_BAD_ARGUMENT, "--%s %s: write it like %s", option->name, text,
                   "station.pilot.khz=6");
  if (compose->assignment_count == CLI_ASSIGNMENTS_MAX)
    return sc_fail(message, SC_BAD_ARGUMENT, "--%s: more than %d; put them into a scenario file",
                   option->name, CLI_ASSIGNMENTS_MAX);
  compose->assignments[compose->assignment_count++] = text;
  return SC_OK;
}

static enum sc_error take_sound_channels(const struct cli_option *option, const char *text,
                                         struct cli_settings *settings, struct sc_message *message)
{
  double value;
  if (!cli_number(text, strlen(text), "", &value) || value != floor(value))
    return sc_fail(message, SC_BAD_ARGUMENT, "--%s %s: not a whole number; write it like %s",
                   option->name, text, option->example);
  enum sc_error error = check_range(option, text, value, message);
  if (error == SC_OK)
    settings->source.sound_channels = (unsigned)value;
  return error;
}

static enum sc_error take_ppm(const struct cli_option *option, const char *text,
                              struct cli_settings *settings, struct sc_message *message)
{
  settings->source.tuning.ppm_given = true;
  return take_number(option, text, settings, message);
}

/* [NAME=]DB */
static enum sc_error take_gain(const struct cli_option *option, const char *text,
                               struct cli_settings *settings, struct sc_message *message)
{
  struct sc_tuning *tuning = &settings->source.tuning;
  const char *sign = strchr(text, '='), *number = sign == NULL ? text : sign + 1;
  size_t length = sign == NULL ? 0 : (size_t)(sign - text);
  struct sc_gain gain = {.name = ""};
  if (!cli_number(number, strlen(number), option->unit, &gain.db) || length >= sizeof gain.name)
    return sc_fail(message, SC_BAD_ARGUMENT, "--%s %s: write it like 20 or LNA=20", option->name,
                   text);
  if (tuning->gain_count == SC_GAINS_MAX)
    return sc_fail(message, SC_BAD_ARGUMENT, "--%s: more than %d gains", option->name,
                   SC_GAINS_MAX);
  memcpy(gain.name, text, length);
  tuning->gains[tuning->gain_count++] = gain;
  return check_range(option, text, gain.db, message);
}

static enum sc_error take_antenna(const struct cli_option *option, const char *text,
                                  struct cli_settings *settings, struct sc_message *message)
{
  struct sc_tuning *tuning = &settings->source.tuning;
  if (text[0] == 0 || strlen(text) >= sizeof tuning->antenna)
    return sc_fail(message, SC_BAD_ARGUMENT, "--%s: no antenna has such a name", option->name);
  strcpy(tuning->antenna, text);
  return SC_OK;
}

static enum sc_error take_mask(const struct cli_option *option, const char *text,
                               struct cli_settings *settings, struct sc_message *message)
{
  struct cli_emission *emission = &settings->emission;
  if (emission->mask_count == SC_MASKS_MAX)
    return sc_fail(message, SC_BAD_ARGUMENT, "--%s: more than %d masks", option->name,
                   SC_MASKS_MAX);
  emission->mask_paths[emission->mask_count++] = text;
  return SC_OK;
}

static enum sc_error take_lines(const struct cli_option *option, const char *text,
                                struct cli_settings *settings, struct sc_message *message)
{
  double value = 0;
  bool all = strcmp(text, "all") == 0;
  if (!all && (!cli_number(text, strlen(text), "", &value) || value != floor(value)))
    return sc_fail(message, SC_BAD_ARGUMENT, "--%s %s: give a whole number, or 'all'", option->name,
                   text);
  enum sc_error error = all ? SC_OK : check_range(option, text, value, message);
  if (error == SC_OK) {
    settings->lines = (size_t)value;
    settings->lines_given = true;
  }
  return error;
}

static enum sc_error take_audio(const struct cli_option *option, const char *text,
                                struct cli_settings *settings, struct sc_message *message)
{
  size_t length = strlen(text);
  bool wav = length > 4 && strcmp(text + length - 4, ".wav") == 0;
  bool flac = length > 5 && strcmp(text + length - 5, ".flac") == 0;
  if (!wav && !flac)
    return sc_fail(message, SC_BAD_ARGUMENT, "--%s %s: give a name that ends in .wav or .flac",
                   option->name, text);
  return take_text(option, text, settings, message);
}

static const char *const deemphases[] = {"none", "50", "75", NULL};
static const char *const kinds[] = {"iq", "composite", "audio", NULL};
static const char *const regions[] = {"world", "north-america", NULL};
static const char *const sights[] = {"air", "composite", "audio", NULL};
/* In the order of enum sc_sound_format. */
static const char *const sound_formats[] = {"s16", "s24", "s32", "float", NULL};
static const char *const channels[] = {"left", "right", "both", NULL};

#define AT(member) offsetof(struct cli_settings, member)
#define FLAG(commands, name, member, help)                                                         \
  {                                                                                                \
    name, NULL, commands, help, take_flag, AT(member), 0, 0, "", NULL, NULL, 0                     \
  }
#define HELP(text)                                                                                 \
  {                                                                                                \
    "help", NULL, CLI_ON_ALL, text, take_flag, AT(help), 0, 0, "", NULL, NULL, 'h'                 \
  }
#define TEXT(commands, name, argument, member, take, help)                                         \
  {                                                                                                \
    name, argument, commands, help, take, AT(member), 0, 0, "", NULL, NULL, 0                      \
  }
#define NUMBER(commands, name, argument, member, take, least, most, unit, example, help)           \
  {                                                                                                \
    name, argument, commands, help, take, AT(member), least, most, unit, example, NULL, 0          \
  }
#define OUTPUT(commands, help)                                                                     \
  {                                                                                                \
    "out", "FILE, -o FILE", commands, help, take_text, AT(compose.file.path), 0, 0, "", NULL,      \
        NULL, 'o'                                                                                  \
  }
#define CHOICE(commands, name, argument, member, words, help)                                      \
  {                                                                                                \
    name, argument, commands, help, take_choice, AT(member), 0, 0, "", NULL, words, 0              \
  }

static const struct cli_option options[] = {
    CHOICE(CLI_ON_SOURCES, "as", "KIND", source.as, kinds,
           "what the samples are: iq, composite or audio. Without it the evidence in the capture "
           "decides, and the report says how."),
    TEXT(CLI_ON_SOURCES, "type", "TYPE", source.type, take_type,
         "a file or pipe of bare samples: their type by its SigMF name, for example cu8, ci16_le "
         "or rf32_le. Needs --rate."),
    NUMBER(CLI_ON_SOURCES, "rate", "HZ", source.rate_hz, take_number, 1e3, 1e9, "Hz", "2.4M",
           "sample rate of bare samples, or the one that a sound card (without it 192k, or what it "
           "has below) or a receiver is to use."),
    TEXT(CLI_ON_LIVE, "sound", "DEVICE", source.sound, take_text,
         "in place of a capture: the input of a sound card, by its name in 'sidecomb devices'."),
    CHOICE(CLI_ON_LIVE, "sound-format", "FORMAT", source.sound_format, sound_formats,
           "of the sound card: s16, s24, s32 or float. Without it the most bits that it offers."),
    NUMBER(CLI_ON_LIVE, "sound-channels", "N", source, take_sound_channels, 1, 64, "", "2",
           "of the sound card (default 2)."),
    TEXT(CLI_ON_LIVE, "receiver", "ARGS", source.receiver, take_text,
         "in place of a capture: a receiver, by its name in 'sidecomb devices' or by any arguments "
         "of SoapySDR. --rate is its rate (default 2.4M)."),
    NUMBER(CLI_ON_LIVE, "tune", "HZ", source.tuning.tune_hz, take_number, 1, 1e12, "Hz", "91.2M",
           "tune the receiver; best some 200 kHz beside the transmitter."),
    NUMBER(CLI_ON_LIVE, "bandwidth", "HZ", source.tuning.bandwidth_hz, take_number, 1, 1e12, "Hz",
           "1.5M", "of the receiver's filter."),
    NUMBER(CLI_ON_LIVE, "gain", "[NAME=]DB", source, take_gain, -200, 200, "dB", "20",
           "of the receiver, or of one of its stages; may be given often. Ends its automatic "
           "gain."),
    TEXT(CLI_ON_LIVE, "antenna", "NAME", source, take_antenna, "of the receiver."),
    NUMBER(CLI_ON_LIVE, "ppm", "PPM", source.tuning.ppm, take_ppm, -1e3, 1e3, "ppm", "-3",
           "have the receiver correct its own oscillator."),
    NUMBER(CLI_ON_SOURCES, "centre", "HZ", source.centre_hz, take_number, 1, 1e12, "Hz", "91.2M",
           "the frequency that the receiver was tuned to."),
    FLAG(CLI_ON_SOURCES, "swap-iq", source.swap_iq,
         "exchange I and Q, which mirrors the spectrum."),
    NUMBER(CLI_ON_SOURCES, "start", "S", source.start_s, take_number, 0, 1e9, "s", "12.5",
           "leave out so many seconds at the beginning."),
    NUMBER(CLI_ON_SOURCES, "duration", "S", source.duration_s, take_number, 1e-6, 1e9, "s", "10",
           "use so many seconds."),
    FLAG(CLI_ON_VIEW | CLI_ON_REPORT | CLI_ON_WATCH, "follow", source.follow,
         "the file is still being written: read on as it grows, until its writer closes it or an "
         "interrupt comes. view begins at its present end, unless --start says where."),
    CHOICE(CLI_ON_SOURCES, "channel", "WHICH", source.channel, channels,
           "of a file of two channels that holds a composite or audio: left, right or both."),
    NUMBER(CLI_ON_CAPTURES, "clock-ppm", "VALUE±U", source.clock_ppm, take_clock, -1e3, 1e3, "ppm",
           "-0.8±0.2",
           "the sample clock runs fast by VALUE parts per million, known to U (one standard "
           "uncertainty); also written VALUE+-U or VALUE,U. Enters every frequency."),
    TEXT(CLI_ON_CAPTURES, "response", "FILE", source.response_path, take_text,
         "correct the input by the amplitude and phase response in FILE."),
    NUMBER(CLI_ON_CAPTURES, "carrier", "HZ", carrier, take_carrier, -1e12, 1e12, "Hz",
           "+150k or 91.35M",
           "where the wanted transmitter is: with a sign (+150k, -80k) its offset from the "
           "capture's centre, without one its frequency. Without this option the strongest FM "
           "signal is taken."),
    NUMBER(CLI_ON_CAPTURES, "full-scale-khz", "KHZ", full_scale_khz, take_number, 1e-3, 1e4, "kHz",
           "75", "a captured composite: the deviation that its full scale stands for."),
    NUMBER(CLI_ON_CAPTURES, "nominal", "HZ", emission.nominal_hz, take_number, 1, 1e12, "Hz",
           "91.2M", "the frequency that the transmitter should have."),
    NUMBER(CLI_ON_CAPTURES, "raster", "HZ", emission.raster_hz, take_number, 1, 1e9, "Hz", "50k",
           "distance of the channels, counted from 0 (default 100k)."),
    NUMBER(CLI_ON_CAPTURES, "reference", "HZ", emission.reference_hz, take_number, 100, 1e12, "Hz",
           "100k or 7.6M",
           "crystal or comparison frequency of the transmitter's oscillator: side lines of the "
           "carrier in steps of it, and multiples of it by themselves, are named so."),
    NUMBER(CLI_ON_CAPTURES, "full-scale-dbm", "DBM", emission.full_scale_dbm, take_number, -200,
           200, "dBm", "-12.5",
           "power at the receiver's input that makes a complex line of full scale: levels are then "
           "given in dBm too."),
    TEXT(
        CLI_ON_CAPTURES, "baseline", "FILE", emission.baseline_path, take_text,
        "a capture with the same settings, without the transmitter: lines that are as strong there "
        "are the receiver's, and their power is taken off."),
    FLAG(CLI_ON_VIEW, "no-colour", no_colour, "no colour, as with the variable NO_COLOR."),
    FLAG(CLI_ON_VIEW, "plain", plain, "only ASCII characters, whatever the locale."),
    FLAG(CLI_ON_VIEW, "no-settings", no_settings, "do not read the file of settings."),
    FLAG(CLI_ON_WATCH, "json", json,
         "print one JSON object a line, and one with the summary, instead of CSV."),
    FLAG(CLI_ON_REPORT | CLI_ON_COMPARE | CLI_ON_DEVICES, "json", json,
         "print one JSON object instead of text."),
    TEXT(CLI_ON_REPORT | CLI_ON_WATCH, "limits", "FILE", limits_path, take_text,
         "judge the report by the limits in FILE, one a line, or by those of the standards "
         "('standard'); status 3 when one is not kept."),
    NUMBER(CLI_ON_WATCH, "every", "S", every_s, take_number, 0.1, 86400, "s", "10",
           "length of an interval (default 1); one line each, without a gap."),
    TEXT(CLI_ON_WATCH, "keys", "LIST", keys, take_text,
         "what to print: keys of the JSON report parted by commas, like "
         "pilot.deviation_khz,carrier.offset_hz. Those of the limits follow."),
    TEXT(CLI_ON_REPORT | CLI_ON_PLOT, "mask", "FILE", emission, take_mask,
         "compare the spectrum with the emission mask in FILE; may be given often (a plot draws "
         "one, in "
         "its resolution). Status 3 when one is not kept: a measurement, no certificate."),
    NUMBER(CLI_ON_REPORT | CLI_ON_PLOT, "power-w", "W", emission.power_w, take_number, 1e-12, 1e9,
           "W", "0.01", "the transmitter's power, for masks that depend on it."),
    TEXT(CLI_ON_VIEW | CLI_ON_PLOT, "against", "CAPTURE", against_path, take_text,
         "a second capture of the same kind, whose trace is drawn beneath, each about its own "
         "carrier; the viewer also shows what the first has over it in decibels. Unless it says "
         "itself what its "
         "samples are, --type and --rate hold for it; the other options always do."),
    CHOICE(CLI_ON_CAPTURES, "deemphasis", "WHICH", deemphasis, deemphases,
           "of hum and noise, and of what --write-audio writes: none, 50 or 75 microseconds "
           "(default 50). The audio in the report is judged without it."),
    CHOICE(CLI_ON_CAPTURES, "rds-region", "WHERE", rds_region, regions,
           "whose tables RDS follows: those of the world (IEC 62106) or of north-america (NRSC-4). "
           "Without it the evidence in the data decides, and the report says which."),
    NUMBER(CLI_ON_REPORT, "rds-groups", "N", rds_groups, take_whole, 1, 1e6, "", "1000",
           "list the last N groups of RDS as they came: time, words, and what was corrected or "
           "lost. Some 11 come in a second."),
    NUMBER(CLI_ON_REPORT | CLI_ON_COMPARE | CLI_ON_WATCH, "threads", "N", threads, take_whole, 1,
           64, "", "1",
           "measure in so many threads; more than four are of no use. Otherwise as many as the "
           "machine has processors. The result is the same."),
    TEXT(CLI_ON_REPORT, "write-audio", "FILE", audio_path, take_audio,
         "decode left and right into FILE, .wav or .flac, 24 bits; 75 kHz of deviation are full "
         "scale."),
    OUTPUT(CLI_ON_PLOT,
           "write the plot here; the ending says how: .svg, .png or .pdf, or .csv for the trace's "
           "numbers."),
    CHOICE(CLI_ON_PLOT, "view", "WHICH", plot.view, sights,
           "which spectrum: air, composite or audio (default the first that the capture has)."),
    NUMBER(CLI_ON_PLOT, "middle", "HZ", plot.middle_hz, take_number, -1e9, 1e9, "Hz", "-57k",
           "middle of the axis; on air an offset from the carrier."),
    NUMBER(CLI_ON_PLOT, "span", "HZ", plot.span_hz, take_number, 10, 1e9, "Hz", "20k",
           "what the axis spans (default on air 240k, or with a mask all that was captured; "
           "elsewhere everything)."),
    FLAG(CLI_ON_PLOT, "expected", plot.expected,
         "on air also what the measured composite makes, dotted: what the air has beyond it is no "
         "modulation."),
    NUMBER(CLI_ON_PLOT, "rbw", "HZ", plot.rbw_hz, take_number, 0.01, 1e6, "Hz", "100",
           "resolution bandwidth (default the span's 1200th part)."),
    NUMBER(CLI_ON_PLOT, "lines", "N", lines, take_lines, 1, 1e6, "", "20",
           "put N lines, 40 at most, into the plot's table (default what an A4 page holds)."),
    NUMBER(CLI_ON_REPORT | CLI_ON_COMPARE, "lines", "N", lines, take_lines, 1, 1e6, "", "20",
           "show the N strongest lines of each table, or 'all' (text only; default 40)."),
    OUTPUT(CLI_ON_COMPOSE,
           "write it here. The ending chooses the container: .sigmf a SigMF pair; .wav, .rf64, "
           ".w64, .flac, .caf or .aiff a sound file; any other bare samples, as does '-', the "
           "standard output."),
    OUTPUT(CLI_ON_SEQUENCE, "write it here: .wav or .flac."),
    OUTPUT(CLI_ON_RECORD, "write it here: .sigmf-meta (a SigMF pair, which knows the tuned "
                          "frequency, a receiver's settings and where samples were lost) or .wav."),
    FLAG(CLI_ON_FILES | CLI_ON_RECORD, "replace", compose.replace,
         "a file of that name may be there already."),
    TEXT(CLI_ON_COMPOSE, "ready", "NAME", compose.ready, take_ready,
         "begin with a ready scenario: carrier; pilot; a 1 kHz tone left, right, both or apart "
         "(inverted); null, whose tone makes the carrier vanish at 75 kHz; noise; data (RDS); or "
         "crowded, with subcarriers and faults."),
    TEXT(CLI_ON_COMPOSE, "set", "KEY=VALUE", compose, take_assignment,
         "set one value of the scenario, as its file would: station.pilot.khz=6, or "
         "'station.rds.ps=\"KITE\"'. May be given often; comes after the file."),
    CHOICE(CLI_ON_COMPOSE, "as", "KIND", compose.what, kinds,
           "what to make: iq, the composite, or the audio before the transmitter."),
    NUMBER(CLI_ON_COMPOSE, "rate", "HZ", compose.rate_hz, take_number, 8e3, 10e6, "Hz", "2.4M",
           "sample rate: 192k to 10M, audio 8k to 400k."),
    NUMBER(CLI_ON_COMPOSE, "seconds", "S", compose.seconds, take_number, 1e-6, 1e6, "s", "10",
           "length of what is made."),
    NUMBER(CLI_ON_COMPOSE, "seed", "N", compose.seed, take_whole, 0, 9e15, "", "7",
           "of everything random; the same seed makes the same samples."),
    TEXT(CLI_ON_COMPOSE, "type", "TYPE", compose.file.type, take_type,
         "of bare samples and SigMF, by its SigMF name: cu8, ci16_le (ri16_le for a composite and "
         "audio; the default), cf32_le and so on."),
    NUMBER(CLI_ON_COMPOSE, "bits", "N", compose.bits, take_whole, 8, 32, "", "24",
           "of sound files: 8, 16 (the default), 24 or 32."),
    NUMBER(CLI_ON_SEQUENCE, "bits", "N", compose.bits, take_whole, 16, 24, "", "24",
           "16 or 24 (the default)."),
    NUMBER(CLI_ON_SEQUENCE, "level", "DBFS", sequence.level_dbfs, take_number, -40, -0.1, "dBFS",
           "-12", "peak of the line-up tone, which nothing exceeds (default -6)."),
    NUMBER(CLI_ON_SEQUENCE, "preemphasis", "US", sequence.preemphasis_us, take_number, 0, 100, "us",
           "50",
           "the transmitter's pre-emphasis in microseconds: 0, 50 or 75 (the default, and the one "
           "that is safe with any). The tones at which 75 kHz make the carrier vanish are lower "
           "by what it adds, so that they deviate as much as the line-up tone."),
    FLAG(CLI_ON_COMPOSE, "float", compose.file.floats, "of sound files: 32-bit floats."),
    FLAG(CLI_ON_COMPOSE, "dither", compose.file.dither,
         "triangular dither before rounding: the rounding error becomes noise."),
    FLAG(CLI_ON_COMPOSE, "print", compose.print,
         "print the complete scenario, every key with its meaning and range, in the language of "
         "scenario files. Without --out nothing else is done."),
    HELP("print this help; -h does as well."),
    FLAG(CLI_ON_ALL, "version", version, "print the version."),
};

const struct cli_option *cli_options(size_t *count)
{
  *count = sizeof options / sizeof options[0];
  return options;
}
