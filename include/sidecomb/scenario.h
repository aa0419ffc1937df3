/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A scenario: everything that a complete made-up capture holds, and the generator that plays it.
 *
 * A station sends
 *   composite(t) [kHz] = M + g S sin(2 w t + 2 q + e) + pilot sin(w t + q)
 *                        + residual sin(2 w t + 2 q + r) + RDS + subcarriers + bands + tones,
 * M = (L + R)/2, S = (L - R)/2, w = 2 pi pilot_hz (ITU-R BS.450-3; 47 CFR 73.322), L and R in kHz
 * after pre-emphasis and the programme's limit. It is modulated at a rate of 1 MS/s or more; what
 * the way adds follows, and only then the signal is band-limited to the capture's rate. Steady
 * tones, wherever they stand, enter the phase in closed form; all else is integrated with an
 * eight-point rule whose error stays below 2e-5 of any part up to 100 kHz.
 *
 * t = 0 is the first frame; no part starts there, so that a capture has no beginning to be seen.
 */
#ifndef SIDECOMB_SCENARIO_H
#define SIDECOMB_SCENARIO_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/api.h>
#include <sidecomb/error.h>

enum {
  SC_SCENARIO_PARTS_MAX = 32, /* of a kind: programme parts, tones, carriers */
  SC_SCENARIO_FEW_MAX = 4,    /* subcarriers, bands, neighbours */
  SC_SCENARIO_PATH_MAX = 512,
  SC_SCENARIO_NAME_MAX = 64,
  SC_RDS_AF_MAX = 25,
  SC_RDS_GROUPS_MAX = 64
};

/* What sounds. `khz` is the deviation that the part alone makes when both M and S carry it
 * (L alone: M = S = khz/2), before pre-emphasis: peak of a tone, sweep, burst or of each tone of
 * a comb; rms below the limit for noise; that of full scale for a sound file. */
enum sc_programme_kind {
  SC_PROGRAMME_TONE,   /* hz, phase_rad */
  SC_PROGRAMME_COMB,   /* count tones from hz to to_hz, evenly on a logarithmic scale, phases
                          quadratic (Schroeder, IEEE Trans. Inf. Theory 16, 1970) for a low peak */
  SC_PROGRAMME_WHITE,  /* Gaussian */
  SC_PROGRAMME_PINK,   /* Gaussian, -3 dB per octave; 22.4 Hz are its lowest */
  SC_PROGRAMME_SWEEP,  /* hz to to_hz, logarithmic, once per period_s */
  SC_PROGRAMME_BURSTS, /* hz, the first on_s of every period_s */
  SC_PROGRAMME_SOUND   /* a file of one or two channels, repeated */
};
enum sc_programme_to {
  SC_TO_LEFT,
  SC_TO_RIGHT,
  SC_TO_BOTH, /* L = R: nothing in S; a sound file of two channels keeps them as they are */
  SC_TO_APART /* L = -R: nothing in M */
};
struct sc_programme {
  enum sc_programme_kind kind;
  enum sc_programme_to to;
  double hz, to_hz, khz, phase_rad;
  double period_s, on_s;
  int count;
  char path[SC_SCENARIO_PATH_MAX];
};

/* Groups by IEC 62106-2: PS and AF in 0A, RadioText in 2A, ECC in 1A, PTYN in 10A, clock in 4A
 * at each minute. Text is UTF-8; characters that the standard's set lacks are refused. */
struct sc_rds_content {
  double khz;       /* peak deviation; 0: no RDS */
  double phase_rad; /* against the third harmonic of the pilot: 0 or pi/2 by the standard */
  int pi, pty, ecc; /* ecc 0: not sent */
  bool tp, ta, music, stereo;
  char ps[SC_SCENARIO_NAME_MAX], text[4 * SC_SCENARIO_NAME_MAX], ptyn[SC_SCENARIO_NAME_MAX];
  double af_mhz[SC_RDS_AF_MAX];
  size_t af_count;
  bool clock;
  int64_t clock_s;                       /* UTC at t = 0, seconds since 1970 */
  int clock_half_hours;                  /* local offset */
  uint16_t groups[SC_RDS_GROUPS_MAX][4]; /* sent in turn after each round of the others; with
                                            these alone nothing else is sent */
  size_t group_count;
  bool groups_only;
};

/* An FM subcarrier: khz sin(2 pi hz t + 2 pi integral of the programme's kHz). */
struct sc_subcarrier {
  double hz, khz, limit_hz;
  struct sc_programme programme[SC_SCENARIO_FEW_MAX];
  size_t programme_count;
};

/* Gaussian noise of a flat spectrum, as dense data would be. */
struct sc_band {
  double hz, width_hz, rms_khz;
};

struct sc_scenario_line {
  double hz, amplitude, phase_rad;
  bool along; /* of a one-sided carrier: it goes along as the station's carrier moves */
  char name[SC_SCENARIO_NAME_MAX];
};

struct sc_station {
  char name[SC_SCENARIO_NAME_MAX];
  double pilot_khz, pilot_hz, pilot_phase_rad; /* q above */
  struct sc_programme programme[SC_SCENARIO_PARTS_MAX];
  size_t programme_count;
  double preemphasis_us;                   /* 0, 50, 75 or any */
  double limit_hz;                         /* programme low-pass: flat up to it, gone 2 kHz above */
  bool mono;                               /* no S */
  double difference_gain_db;               /* g */
  double difference_phase_rad;             /* e */
  double residual_khz, residual_phase_rad; /* r */
  struct sc_rds_content rds;
  struct sc_subcarrier subcarriers[SC_SCENARIO_FEW_MAX];
  size_t subcarrier_count;
  struct sc_band bands[SC_SCENARIO_FEW_MAX];
  size_t band_count;
  struct sc_scenario_line
      tones[SC_SCENARIO_PARTS_MAX]; /* free tones, kHz; hum is one at 50 or 100 Hz */
  size_t tone_count;
};

/* How the carrier of a free-running oscillator moves:
 *   f(t) = drift t + wander sin(2 pi t / wander_s) + settle exp(-t / settle_s). */
struct sc_motion {
  double drift_hz_s;
  double wander_hz, wander_s; /* peak, and period */
  double settle_hz, settle_s; /* how far off it is at the start, and the time constant */
};

/* A station beside: its carrier from the first one's nominal frequency, its level against it. */
struct sc_neighbour {
  double offset_hz, level_db;
  double pilot_khz;
  double tone_hz, tone_khz; /* one steady tone on M */
  double noise_khz;         /* rms of pink noise on L and R, independent, limited as usual */
};

enum sc_scenario_what { SC_WHAT_IQ, SC_WHAT_COMPOSITE, SC_WHAT_AUDIO };

struct sc_scenario {
  char title[4 * SC_SCENARIO_NAME_MAX];
  enum sc_scenario_what what;
  double rate_hz; /* of what comes out: IQ and composite 192 kHz to 10 MHz */
  double seconds;
  uint64_t seed;
  struct sc_station station;
  double station_hz;       /* nominal frequency of the station, 0 when none is given */
  double centre_hz;        /* the capture's tuned frequency; both or none */
  double offset_hz;        /* error of the carrier */
  struct sc_motion motion; /* about that frequency; nothing but IQ shows it */
  double level_dbfs;       /* amplitude of the carrier, of a composite of 100 kHz, or of audio of
                              75 kHz, re full scale */
  bool carrier;            /* false: only what the way adds */
  /* the way */
  struct sc_scenario_line carriers[SC_SCENARIO_PARTS_MAX]; /* one-sided: offset from the nominal
                                                     frequency, dBc */
  size_t carrier_count;
  struct sc_scenario_line am[SC_SCENARIO_FEW_MAX]; /* incidental AM: frequency, depth in percent */
  size_t am_count;
  double tilt_db; /* AM by deviation: level change at +75 kHz, and its inverse at -75 */
  struct sc_neighbour neighbours[SC_SCENARIO_FEW_MAX];
  size_t neighbour_count;
  double cnr_db; /* NAN: no noise */
  double cnr_bandwidth_hz;
  double iq_gain_db;   /* of I against Q */
  double iq_phase_rad; /* Q is early by it: Q' = Q cos p + I sin p */
  double dc_i, dc_q;   /* re full scale */
  double clock_ppm;    /* the receiver's oscillator runs fast: clock and tuning share it */
};

/* Stereo station without programme, 6.75 kHz pilot, IQ at 384 kS/s, 1 s, -6 dB full scale,
 * programme limit 15 kHz, no noise. */
SC_API void sc_scenario_init(struct sc_scenario *scenario);

/* Reads a scenario file (its language is in the manual) over what `scenario` holds. Any error is
 * one line with the file's name and line number; the scenario is then as it was. Sound files are
 * looked for beside the scenario file. */
SC_API SC_MUST_USE enum sc_error sc_scenario_read(const char *path, struct sc_scenario *scenario,
                                                  struct sc_message *message);
/* The same from a text; `source` stands for the file's name in messages. */
SC_API SC_MUST_USE enum sc_error sc_scenario_parse(const char *text, const char *source,
                                                   struct sc_scenario *scenario,
                                                   struct sc_message *message);
/* One or more assignments in the file's language, for example
 * "station = { pilot = { khz = 6.0; }; };", or short "station.pilot.khz = 6.0". */
SC_API SC_MUST_USE enum sc_error sc_scenario_assign(const char *assignment,
                                                    struct sc_scenario *scenario,
                                                    struct sc_message *message);

/* Scenarios that are wanted often, over what `scenario` holds. The names end with NULL:
 *   carrier  nothing but it            pilot    stereo without programme
 *   left, right, both, apart           1 kHz in one channel, in both alike, in both inverted
 *   null     a tone whose 75 kHz make the carrier's line vanish
 *   noise    stereo pink noise         data     pilot and RDS
 *   crowded  noise, RDS, subcarriers at 67 and 92 kHz, and faults
 * SC_BAD_ARGUMENT: another name. */
SC_API const char *const *sc_scenario_ready_names(void);
SC_API SC_MUST_USE enum sc_error sc_scenario_ready(const char *name, struct sc_scenario *scenario,
                                                   struct sc_message *message);

/* The complete scenario in the file's language, every key with its meaning and range, and what a
 * capture of it holds as remarks at the end. Read again it is the same scenario (the names of
 * sound files stay as they are). `text` is to be freed by the caller. SC_NO_MEMORY. */
SC_API SC_MUST_USE enum sc_error sc_scenario_print(const struct sc_scenario *scenario, char **text);

struct sc_generator;
/* Checks the scenario as a whole and prepares it; one line in `message` on failure.
 * SC_BAD_ARGUMENT: a value out of its range; SC_CANNOT_OPEN: a sound file. */
SC_API SC_MUST_USE enum sc_error sc_generator_create(const struct sc_scenario *scenario,
                                                     struct sc_generator **generator,
                                                     struct sc_message *message);
/* 2 for IQ and audio, 1 for a composite. */
SC_API unsigned sc_generator_channels(const struct sc_generator *generator);
/* Next frames: frames * channels doubles. Goes on after the scenario's end. */
SC_API void sc_generator_run(struct sc_generator *generator, double *out, size_t frames);

struct sc_generator_info {
  double modulation_rate_hz;
  double carrier_hz; /* of the main carrier in the capture, as its clock counts, but for motion */
  double removed_db; /* power after the band limit over power before, so far; NAN: not limited */
  double peak_khz;   /* largest |composite| so far */
};
SC_API void sc_generator_info(const struct sc_generator *generator, struct sc_generator_info *info);
SC_API void sc_generator_destroy(struct sc_generator *generator);

#endif
