/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What a subcarrier carries, as a complex baseband z at an audio rate: the composite gets
 * Re(z c), c = -j exp(j (2 pi f t + p)), that is sin(2 pi f t + p) for z = 1.
 */
#ifndef SIDECOMB_SIGNAL_BASEBAND_H
#define SIDECOMB_SIGNAL_BASEBAND_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/scenario.h>

struct signal_baseband;

/* Data groups, shaped; real. bit_rate_hz is 1/48 of the subcarrier. SC_BAD_ARGUMENT: text that
 * the standard's set lacks. */
enum sc_error signal_baseband_rds(const struct sc_rds_content *content, double bit_rate_hz,
                                  double rate_hz, struct signal_baseband **baseband);
/* Frequency modulation by a programme. */
enum sc_error signal_baseband_fm(const struct sc_subcarrier *subcarrier, double rate_hz,
                                 uint64_t seed, struct signal_baseband **baseband,
                                 struct sc_message *message);
enum sc_error signal_baseband_noise(const struct sc_band *band, double rate_hz, uint64_t seed,
                                    struct signal_baseband **baseband);

/* z has no imaginary part. */
bool signal_baseband_real(const struct signal_baseband *baseband);
/* The next sample has this index; once, before the first run. */
void signal_baseband_start(struct signal_baseband *baseband, int64_t index);
/* At most SIGNAL_BLOCK samples. */
void signal_baseband_run(struct signal_baseband *baseband, double *re, double *im, size_t count);
void signal_baseband_destroy(struct signal_baseband *baseband);

/* Peak over rms of the shaped data before its subcarrier: no pattern of bits exceeds it. */
double signal_rds_crest(void);
/* The data signal for one 1 bit (an impulse at 0 and its inverse half a bit later), `x` in bits,
 * 1 at most; the spectrum is cos(pi f td / 4) to 2 / td (EN 50067:1998 clause 1.7). */
double signal_rds_pulse(double x);

#endif
