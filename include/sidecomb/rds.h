/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The data subcarrier (RDS): is it there, how strong, how clean, and what does it say.
 *
 * Sources: IEC 62106 (EN 50067:1998) and NRSC-4 for the coding, ITU-R BS.643 for the injection.
 * Their bodies could not be read: layouts are from memory, the bit arithmetic was recomputed.
 *
 * - Present: the signal's structure, never power near 57 kHz. The square of the band about 57 kHz
 *   has lines at twice the subcarrier's offset plus and minus the bit clock, a 48th of the
 *   subcarrier: a suppressed carrier with that clock has both, and a tone, programme, noise or an
 *   FM subcarrier have neither. SC_YES when they stand where noise puts them once in 1e6 records,
 *   or when check words keep in step.
 * - Injection: peak deviation that random data of the measured rms has, 2.0403 times the rms of
 *   the subcarrier (shaped biphase, computed), so that it does not hang on the data. BS.643: 1 to
 *   7.5 kHz (from memory). Where the data are seen and not read it comes from the lines of the
 *   square, which groups that repeat make weaker: its uncertainty is 20 % then.
 * - Phase: of the subcarrier against the third harmonic of the pilot, modulo 180 degrees, from
 *   -90 to 90; by BS.643 within 10 degrees of 0 or of 90 (from memory). Not measurable without a
 *   pilot or where the subcarrier is not locked to it.
 * - Block error rate: share of blocks with a wrong check word before correction, once block
 *   synchronisation was found.
 * - Detection limit: the injection that would have been claimed present with a probability of 99 %
 *   in the noise of this record. Where there is data, what it adds to the noise of its own square
 * is left out, so that the limit says the same with and without it.
 *
 * Input: composite as real floats (kHz of deviation, or full scale of a sound card) at 120 kS/s or
 * more, any block length. Memory about 2 MB, constant; allocates in create only. The presence test
 * looks at 12.9 s at a time; the data itself is decoded without a limit.
 */
#ifndef SIDECOMB_RDS_H
#define SIDECOMB_RDS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/api.h>
#include <sidecomb/error.h>
#include <sidecomb/quantity.h>

enum {
  SC_RDS_AF_LIST_MAX = 50,
  SC_RDS_ODA_MAX = 8,
  SC_RDS_EON_MAX = 8,
  SC_RDS_TAGS_MAX = 2,
  SC_RDS_OTHER_AF_MAX = 8,
  SC_RDS_GROUP_TYPES = 32, /* type times 2, plus 1 for version B */
  SC_RDS_TEXT_BYTES = 3 * 64 + 1,
  SC_RDS_NAME_BYTES = 3 * 8 + 1
};

/* Which tables hold: those of IEC 62106, or those of NRSC-4 in North America. */
enum sc_rds_region { SC_RDS_REGION_OPEN, SC_RDS_REGION_RDS, SC_RDS_REGION_RBDS };

enum sc_rds_block_state { SC_RDS_BLOCK_LOST, SC_RDS_BLOCK_CORRECTED, SC_RDS_BLOCK_CLEAN };
struct sc_rds_group {
  double time_s;             /* of its end, from the first frame fed */
  double time_uncertainty_s; /* of the timing and the clock; NAN: not known yet */
  uint16_t word[4];          /* information words; 0 where lost */
  uint8_t state[4];          /* enum sc_rds_block_state */
  uint8_t corrected[4];      /* bits that were corrected */
};

/* Groups as they came, for those who go on from there. Times count what was measured: a gap in the
 * capture has no length. */
struct sc_rds_listing {
  struct sc_rds_group *groups; /* NULL: none were wanted, or none came */
  size_t count;
  uint64_t earlier; /* came before and were not kept */
  const char *why;  /* not NULL: no list, and why */
};

/* One character: UTF-8, and how often it was received in a row (1: not confirmed; 0: not yet). */
struct sc_rds_character {
  char utf8[4];
  uint8_t times;
};

struct sc_rds_oda {
  uint16_t id;      /* application identification */
  const char *name; /* NULL: not in the table here */
  uint8_t type;     /* group that carries it, as in group_counts; 0: only by 3A */
  uint16_t message; /* of the 3A group */
};

struct sc_rds_other { /* another network (EON) */
  uint16_t pi;
  char ps[SC_RDS_NAME_BYTES];
  int pty; /* -1: not received */
  enum sc_truth tp, ta;
  double af_mhz[SC_RDS_OTHER_AF_MAX]; /* listed, or mapped to the tuned frequency */
  size_t af_count;
};

struct sc_rds_tag { /* RT+ */
  uint8_t type;
  const char *name; /* NULL: not in the table */
  char text[SC_RDS_TEXT_BYTES];
};

/* What it says. Every value was received at least twice, or once without an error in a word that
 * was corrected the other time; see `ct_confirmed` for the one that may stand alone. */
struct sc_rds_data {
  uint64_t groups, group_counts[SC_RDS_GROUP_TYPES];
  char pi[5]; /* four hexadecimal digits; empty: not sure yet */
  uint16_t pi_code;
  uint8_t pi_times;           /* of the candidate, also before it is sure */
  char ps[SC_RDS_NAME_BYTES]; /* empty until all eight were confirmed */
  struct sc_rds_character ps_characters[8];
  char rt[SC_RDS_TEXT_BYTES]; /* empty until all of it was confirmed */
  struct sc_rds_character rt_characters[64];
  char rt_flag[2]; /* "A" or "B" */
  char ptyn[SC_RDS_NAME_BYTES];
  struct sc_rds_character ptyn_characters[8];
  double pty;                /* NAN: not received */
  char pty_name[64];         /* by the region; where that is open, by both */
  char pty_names[2][32];     /* by each: the world's, North America's */
  enum sc_rds_region region; /* of the settings, or by the evidence */
  const char *region_name;   /* "world", "north-america"; NULL: open */
  char region_evidence[200]; /* what says so, and what speaks against it */
  enum sc_truth tp, ta, music;
  char di[64];
  double af_mhz[SC_RDS_AF_LIST_MAX];
  size_t af_count;
  char af_method[2]; /* "A", "B"; empty: open */
  char af_list[400]; /* the same as text */
  char ct[64];       /* UTC, ISO 8601, with the local offset beside it */
  bool ct_confirmed; /* two of them agree */
  char pin[24];      /* programme item number: day of the month and scheduled time */
  char ecc[3];       /* two hexadecimal digits */
  char country[32];  /* by PI and ECC, where the table here holds it */
  char language[32];
  char call_letters[16]; /* "maybe KXYZ" by the formula of NRSC-4; only in that region */
  struct sc_rds_other eon[SC_RDS_EON_MAX];
  size_t eon_count;
  struct sc_rds_oda oda[SC_RDS_ODA_MAX];
  size_t oda_count;
  struct sc_rds_tag tags[SC_RDS_TAGS_MAX];
  size_t tag_count;
};

struct sc_rds {
  enum sc_truth present;
  char evidence[200];
  struct sc_quantity subcarrier_hz;
  struct sc_quantity injection_khz, injection_percent; /* of 75 kHz */
  struct sc_quantity amplitude_rms;                    /* of the subcarrier, in the input's unit */
  struct sc_quantity phase_deg;
  enum sc_truth phase_within; /* 10 degrees of 0 or 90 */
  struct sc_quantity bit_rate_bps;
  struct sc_quantity detection_limit_khz;
  uint64_t blocks, corrected_blocks, lost_blocks;
  struct sc_quantity block_error_rate;
  struct sc_rds_data data;
};

struct sc_rds_settings {
  double rate_hz;
  bool absolute;                     /* input is kHz of deviation */
  double clock_relative_uncertainty; /* NAN: unknown */
  enum sc_rds_region region;         /* SC_RDS_REGION_OPEN: by evidence */
  size_t groups_held;                /* the latest groups, for sc_rds_groups; 0: none */
};

struct sc_rds_meter;
/* SC_BAD_ARGUMENT: a rate that is no number above zero; SC_NO_MEMORY. A rate too low for 57 kHz is
 * a finding of the result. */
SC_API SC_MUST_USE enum sc_error sc_rds_create(const struct sc_rds_settings *settings,
                                               struct sc_rds_meter **meter);
SC_API void sc_rds_feed(struct sc_rds_meter *meter, const float *composite, size_t frames,
                        bool discontinuity);
SC_API void sc_rds_result(struct sc_rds_meter *meter, struct sc_rds *rds);
/* The latest groups of the latest result, oldest first, at most `room`; returns how many. *made:
 * how many there were in all. To be called before more is fed. */
SC_API size_t sc_rds_groups(const struct sc_rds_meter *meter, struct sc_rds_group *groups,
                            size_t room, uint64_t *made);
SC_API void sc_rds_destroy(struct sc_rds_meter *meter);
/* Everything not measured, for one reason. */
SC_API void sc_rds_refuse(struct sc_rds *rds, const char *why);

/* "0A" ... "15B" of an index of group_counts. */
SC_API const char *sc_rds_group_name(unsigned type);
/* Programme type 0 to 31; region RDS or RBDS. Never NULL. */
SC_API const char *sc_rds_programme_type(enum sc_rds_region region, unsigned pty);

#endif
