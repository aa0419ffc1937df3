/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Every key of a scenario: where it goes, what it takes, what it means. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <string.h>

#include "signal/keys.h"

/* clang-format off */
#define ROOM(s, field) (sizeof((struct s *)0)->field / sizeof((struct s *)0)->field[0])
#define ROW(kind, key, s, field, text) \
  .name = key, .type = SIGNAL_KEY_##kind, .offset = offsetof(struct s, field), .help = text
#define NUMBER(key, s, field, from, to, text) \
  {ROW(NUMBER, key, s, field, text), .low = from, .high = to, .scale = 1}
#define DEGREES(key, s, field, text) \
  {ROW(NUMBER, key, s, field, text), .low = -360, .high = 360, .scale = 0.017453292519943295769}
#define COUNT(key, s, field, from, to, text) \
  {ROW(COUNT, key, s, field, text), .low = from, .high = to}
#define FLAG(key, s, field, text) {ROW(FLAG, key, s, field, text)}
#define TEXT(key, s, field, text) {ROW(TEXT, key, s, field, text), .room = ROOM(s, field)}
#define RULED_TEXT(key, s, field, rule, text) \
  {ROW(TEXT, key, s, field, text), .room = ROOM(s, field), .wrong = rule}
#define WORD(key, s, field, list, text) {ROW(WORD, key, s, field, text), .words = list}
#define SEVERAL(kind, key, s, field, count, text) \
  ROW(kind, key, s, field, text), .room = ROOM(s, field), .count_offset = offsetof(struct s, count)
#define LIST(key, s, field, count, table, text) \
  {SEVERAL(LIST, key, s, field, count, text), .size = sizeof((struct s *)0)->field[0], .inside = table}
#define PROGRAMME(s, field, count, text) \
  {SEVERAL(LIST, "programme", s, field, count, text), .size = sizeof(struct sc_programme), \
   .inside = programme_keys, .wrong = signal_wrong_part}
#define GROUP(key, table, text) {.name = key, .type = SIGNAL_KEY_GROUP, .help = text, .inside = table}
#define END {.name = NULL}
/* clang-format on */

static const char *const kinds[] = {"tone",  "comb",   "white", "pink",
                                    "sweep", "bursts", "sound", NULL};
static const char *const sides[] = {"left", "right", "both", "apart", NULL};
static const char *const outputs[] = {"iq", "composite", "audio", NULL};

static const struct signal_key programme_keys[] = {
    WORD("kind", sc_programme, kind, kinds, "what sounds"),
    WORD("to", sc_programme, to, sides, "the channels it goes to; apart: right inverted"),
    NUMBER("hz", sc_programme, hz, 0, 20e3, "frequency; the lowest of a comb or sweep"),
    NUMBER("to_hz", sc_programme, to_hz, 0, 20e3, "highest frequency of a comb or sweep"),
    NUMBER("khz", sc_programme, khz, 0, 150,
           "deviation before pre-emphasis: peak of a tone, rms of noise, full scale of a sound"),
    DEGREES("phase_deg", sc_programme, phase_rad, "sine phase at the start"),
    NUMBER("period_s", sc_programme, period_s, 0, 3600, "of a sweep, or from burst to burst"),
    NUMBER("on_s", sc_programme, on_s, 0, 3600, "length of a burst"),
    COUNT("count", sc_programme, count, 0, 64, "tones of a comb"),
    {ROW(PATH, "file", sc_programme, path, "a sound file of one or two channels, repeated"),
     .room = ROOM(sc_programme, path)},
    END};

#define IN_STATION(field) station.field

static const struct signal_key motion_keys[] = {
    NUMBER("drift_hz_s", sc_scenario, motion.drift_hz_s, -1e5, 1e5, "steady drift from the start"),
    NUMBER("wander_hz", sc_scenario, motion.wander_hz, -1e5, 1e5, "to and fro: peak of a sine"),
    NUMBER("wander_s", sc_scenario, motion.wander_s, 0.01, 1e5, "its period"),
    NUMBER("settle_hz", sc_scenario, motion.settle_hz, -1e5, 1e5,
           "how far off at the start, from where it settles"),
    NUMBER("settle_s", sc_scenario, motion.settle_s, 0.01, 1e5, "the time constant of that"), END};

static const struct signal_key pilot_keys[] = {
    NUMBER("khz", sc_scenario, IN_STATION(pilot_khz), 0, 75, "deviation"),
    NUMBER("hz", sc_scenario, IN_STATION(pilot_hz), 18e3, 20e3, "frequency; 38 and 57 kHz follow"),
    DEGREES("phase_deg", sc_scenario, IN_STATION(pilot_phase_rad), "at the start"), END};

static const struct signal_key difference_keys[] = {
    NUMBER("gain_db", sc_scenario, IN_STATION(difference_gain_db), -40, 40, "against the sum"),
    DEGREES("phase_deg", sc_scenario, IN_STATION(difference_phase_rad),
            "of its 38 kHz carrier against the pilot"),
    END};

static const struct signal_key residual_keys[] = {
    NUMBER("khz", sc_scenario, IN_STATION(residual_khz), 0, 75, "38 kHz carrier that is left"),
    DEGREES("phase_deg", sc_scenario, IN_STATION(residual_phase_rad), "against the subcarrier"),
    END};

static const struct signal_key rds_keys[] = {
    NUMBER("khz", sc_scenario, IN_STATION(rds.khz), 0, 15, "peak deviation; 0: none"),
    DEGREES("phase_deg", sc_scenario, IN_STATION(rds.phase_rad),
            "against the pilot's third harmonic"),
    COUNT("pi", sc_scenario, IN_STATION(rds.pi), 0, 0xffff, "programme identification"),
    COUNT("pty", sc_scenario, IN_STATION(rds.pty), 0, 31, "programme type"),
    COUNT("ecc", sc_scenario, IN_STATION(rds.ecc), 0, 0xff, "extended country code; 0: not sent"),
    FLAG("tp", sc_scenario, IN_STATION(rds.tp), "traffic programme"),
    FLAG("ta", sc_scenario, IN_STATION(rds.ta), "traffic announcement"),
    FLAG("music", sc_scenario, IN_STATION(rds.music), "the music switch, MS"),
    FLAG("stereo", sc_scenario, IN_STATION(rds.stereo), "decoder identification d0"),
    RULED_TEXT("ps", sc_scenario, IN_STATION(rds.ps), signal_wrong_eight,
               "programme service name, 8 characters"),
    RULED_TEXT("text", sc_scenario, IN_STATION(rds.text), signal_wrong_radiotext,
               "RadioText, 64 characters"),
    RULED_TEXT("ptyn", sc_scenario, IN_STATION(rds.ptyn), signal_wrong_eight,
               "programme type name, 8 characters"),
    {SEVERAL(NUMBERS, "af_mhz", sc_scenario, IN_STATION(rds.af_mhz), IN_STATION(rds.af_count),
             "alternative frequencies"),
     .low = 87.6, .high = 107.9, .scale = 1},
    {ROW(TIME, "clock", sc_scenario, IN_STATION(rds.clock_s),
         "UTC at the start; sends the clock at each minute"),
     .count_offset = offsetof(struct sc_scenario, station.rds.clock)},
    COUNT("half_hours", sc_scenario, IN_STATION(rds.clock_half_hours), -28, 28, "local offset"),
    {SEVERAL(BLOCKS, "groups", sc_scenario, IN_STATION(rds.groups), IN_STATION(rds.group_count),
             "groups of four 16-bit words, sent after each round")},
    FLAG("groups_only", sc_scenario, IN_STATION(rds.groups_only), "send nothing but those"),
    END};

static const struct signal_key subcarrier_keys[] = {
    NUMBER("hz", sc_subcarrier, hz, 1e3, 100e3, "frequency"),
    NUMBER("khz", sc_subcarrier, khz, 0, 75, "deviation that the subcarrier makes"),
    NUMBER("limit_hz", sc_subcarrier, limit_hz, 100, 15e3, "low-pass of its programme"),
    PROGRAMME(sc_subcarrier, programme, programme_count,
              "what modulates it; khz is then the subcarrier's own deviation, in one channel half"),
    END};

static const struct signal_key band_keys[] = {
    NUMBER("hz", sc_band, hz, 1e3, 100e3, "middle"),
    NUMBER("width_hz", sc_band, width_hz, 100, 40e3, "width at half power"),
    NUMBER("rms_khz", sc_band, rms_khz, 0, 75, "rms deviation"), END};

static const struct signal_key tone_keys[] = {
    TEXT("name", sc_scenario_line, name, "what it is"),
    NUMBER("hz", sc_scenario_line, hz, 0, 150e3, "frequency on the composite"),
    NUMBER("khz", sc_scenario_line, amplitude, 0, 150, "deviation"),
    DEGREES("phase_deg", sc_scenario_line, phase_rad, "sine phase at the start"), END};

static const struct signal_key station_keys[] = {
    TEXT("name", sc_scenario, IN_STATION(name), "what it is"),
    NUMBER("hz", sc_scenario, station_hz, 0, 10e9, "nominal frequency"),
    NUMBER("offset_hz", sc_scenario, offset_hz, -1e6, 1e6, "error of the carrier"),
    GROUP("moves", motion_keys, "how the carrier moves; in IQ only"),
    FLAG("carrier", sc_scenario, carrier, "false: it is off"),
    GROUP("pilot", pilot_keys, "the pilot"),
    PROGRAMME(sc_scenario, IN_STATION(programme), IN_STATION(programme_count),
              "what sounds on left and right"),
    NUMBER("preemphasis_us", sc_scenario, IN_STATION(preemphasis_us), 0, 200, "time constant"),
    NUMBER("limit_hz", sc_scenario, IN_STATION(limit_hz), 0, 20e3, "programme low-pass; 0: 22 kHz"),
    FLAG("mono", sc_scenario, IN_STATION(mono), "no difference signal"),
    GROUP("difference", difference_keys, "errors of the difference signal"),
    GROUP("residual", residual_keys, "38 kHz carrier"),
    GROUP("rds", rds_keys, "radio data"),
    LIST("subcarriers", sc_scenario, IN_STATION(subcarriers), IN_STATION(subcarrier_count),
         subcarrier_keys, "FM subcarriers"),
    LIST("bands", sc_scenario, IN_STATION(bands), IN_STATION(band_count), band_keys,
         "bands of dense data"),
    LIST("tones", sc_scenario, IN_STATION(tones), IN_STATION(tone_count), tone_keys,
         "free tones on the composite, hum too"),
    END};

static const struct signal_key carrier_keys[] = {
    TEXT("name", sc_scenario_line, name, "what it is"),
    NUMBER("hz", sc_scenario_line, hz, -5e6, 5e6, "from the station's nominal frequency"),
    NUMBER("dbc", sc_scenario_line, amplitude, -200, 60, "level against the station's carrier"),
    DEGREES("phase_deg", sc_scenario_line, phase_rad, "at the start"),
    FLAG("along", sc_scenario_line, along, "it goes along as the station's carrier moves"), END};

static const struct signal_key am_keys[] = {
    TEXT("name", sc_scenario_line, name, "what it is"),
    NUMBER("hz", sc_scenario_line, hz, 0, 1e6, "frequency"),
    NUMBER("percent", sc_scenario_line, amplitude, 0, 100, "depth"),
    DEGREES("phase_deg", sc_scenario_line, phase_rad, "sine phase at the start"), END};

static const struct signal_key neighbour_keys[] = {
    NUMBER("offset_hz", sc_neighbour, offset_hz, -5e6, 5e6, "from the station's nominal frequency"),
    NUMBER("level_db", sc_neighbour, level_db, -200, 60, "against the station's carrier"),
    NUMBER("pilot_khz", sc_neighbour, pilot_khz, 0, 75, "its pilot; 0: mono"),
    NUMBER("tone_hz", sc_neighbour, tone_hz, 0, 15e3, "a tone on both channels"),
    NUMBER("tone_khz", sc_neighbour, tone_khz, 0, 75, "its deviation"),
    NUMBER("noise_khz", sc_neighbour, noise_khz, 0, 75, "rms of pink noise on each channel"),
    END};

static const struct signal_key noise_keys[] = {
    NUMBER("cnr_db", sc_scenario, cnr_db, -100, 300, "carrier over noise, in IQ only"),
    NUMBER("bandwidth_hz", sc_scenario, cnr_bandwidth_hz, 1, 100e6, "in this bandwidth"), END};

static const struct signal_key iq_keys[] = {
    NUMBER("gain_db", sc_scenario, iq_gain_db, -20, 20, "of I against Q"),
    DEGREES("phase_deg", sc_scenario, iq_phase_rad, "that Q is early by"), END};

static const struct signal_key dc_keys[] = {
    NUMBER("i", sc_scenario, dc_i, -1, 1, "on I, full scale 1"),
    NUMBER("q", sc_scenario, dc_q, -1, 1, "on Q"), END};

static const struct signal_key receiver_keys[] = {
    NUMBER("hz", sc_scenario, centre_hz, 0, 10e9, "tuned frequency"),
    LIST("carriers", sc_scenario, carriers, carrier_count, carrier_keys,
         "one-sided carriers on the air"),
    LIST("am", sc_scenario, am, am_count, am_keys, "incidental amplitude modulation"),
    NUMBER("tilt_db", sc_scenario, tilt_db, -20, 20,
           "level change at +75 kHz of deviation: synchronous AM"),
    LIST("neighbours", sc_scenario, neighbours, neighbour_count, neighbour_keys, "other stations"),
    GROUP("noise", noise_keys, "white noise"),
    GROUP("iq", iq_keys, "unequal I and Q"),
    GROUP("dc", dc_keys, "direct current"),
    NUMBER("clock_ppm", sc_scenario, clock_ppm, -1000, 1000,
           "its oscillator runs fast: clock and tuning"),
    END};

const struct signal_key signal_scenario_keys[] = {
    TEXT("title", sc_scenario, title, "goes into the capture's description"),
    WORD("output", sc_scenario, what, outputs, "what comes out"),
    NUMBER("rate_hz", sc_scenario, rate_hz, 8e3, 10e6, "sample rate of what comes out"),
    NUMBER("seconds", sc_scenario, seconds, 0, 1e6, "length"),
    {ROW(SEED, "seed", sc_scenario, seed, "of everything random")},
    NUMBER("level_dbfs", sc_scenario, level_dbfs, -120, 20,
           "of the carrier, of a composite of 100 kHz, of audio of 75 kHz; 0: full scale"),
    GROUP("station", station_keys, "the transmitter"),
    GROUP("receiver", receiver_keys, "what lies between it and the file"),
    END};

const struct signal_key *signal_key_find(const struct signal_key *keys, const char *name)
{
  for (const struct signal_key *key = keys; key->name != NULL; key++)
    if (strcmp(key->name, name) == 0)
      return key;
  return NULL;
}
