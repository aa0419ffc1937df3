/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What stands on the composite above the difference signal, from 53.5 to 99 kHz.
 *
 * Found in the averaged spectrum: stretches whose power, over 1 kHz, is twice the noise (that of
 * a discriminator where the carrier's noise is known, else the lowest of the band) and whose
 * deviation is 0.1 kHz or more. Deviation: peak of a sine of the same power, noise taken off; its
 * share of 75 kHz is the injection. Where data was shown to be RDS (rds.h) both, and the level,
 * are those stated there: the peak that such data has, which is what is customary.
 * Where programme reaches above 53 kHz, what it has there is taken off by its other side band,
 * below 23 kHz (measure/difference_edge.h). The middle is the centre of the power that is left, or,
 * of RDS, the subcarrier that the data itself shows; not measured where more than an eighth of the
 * width is open, as where the difference signal is much stronger. Its uncertainty: 2 % of the width
 * (a centre of power goes with a programme), and what noise and difference signal leave open.
 * Bandwidth: 99 % of the power. What falls by 13 dB and rises by as much is two. Kind: "tone" when
 * no wider than the spectrum resolves; "fm" when 85 % of the power about it have a constant
 * envelope while the frequency moves; else "band", also where it came too late to be looked at.
 * "beat", of IQ: no part of the composite. A signal on one side of the carrier (a neighbour, a
 * spurious carrier) turns the carrier's phase and moves its envelope by the same share, where a
 * subcarrier leaves the envelope alone; so called when half of what such a signal would leave there
 * stands in what a limiter takes away (our own method and choice).
 * The envelopes of four stretches at most are followed, each for ten seconds.
 * Customary injections are in the table of positions, from memory: no limit is judged by them.
 */
#ifndef SIDECOMB_INJECTION_H
#define SIDECOMB_INJECTION_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/api.h>
#include <sidecomb/composite.h>
#include <sidecomb/error.h>
#include <sidecomb/quantity.h>
#include <sidecomb/spectrum.h>

enum sc_injection_kind { SC_INJECTION_TONE, SC_INJECTION_FM, SC_INJECTION_BAND, SC_INJECTION_BEAT };
SC_API const char *sc_injection_kind_name(enum sc_injection_kind kind);

struct sc_injection {
  struct sc_quantity offset_hz; /* centre of power, on the composite */
  struct sc_quantity bandwidth_hz;
  struct sc_quantity deviation_khz; /* of the main carrier, by this */
  struct sc_quantity injection_percent;
  struct sc_quantity level_db_pilot;
  struct sc_quantity own_rms_khz; /* kind fm: of the subcarrier's own frequency */
  double lower_hz, upper_hz;      /* where it stands out of the noise */
  enum sc_injection_kind kind;
  bool of_difference; /* the upper edge of the difference signal: it goes on below 53.5 kHz, and on
                         the other side of 38 kHz stands as much (suppressed-carrier AM has equal
                         side bands: ITU-R BS.450-3, 2.1); what else is there does not stand out */
  const char *label;  /* of the service whose position covers the centre and whose form it has: data
                         streams are bands of their width at their place, RDS as shown by rds.h, a
                         tone none but at the very place of one, where nobody may modulate it;
                         of a beat, or of a tone that receiver or recording make: that it is one */
  const char *customary; /* injection there, in words; NULL: none, as for `label` */
};

enum { SC_INJECTIONS_MAX = 12 };
struct sc_injections {
  struct sc_injection at[SC_INJECTIONS_MAX];
  size_t count;
  const char *why; /* not NULL: nothing could be looked for, and why */
};

struct sc_injection_settings {
  double rate_hz;
  bool absolute;
};

struct sc_injection_meter;
SC_API SC_MUST_USE enum sc_error sc_injection_create(const struct sc_injection_settings *settings,
                                                     struct sc_injection_meter **meter);
/* Any number of frames of the composite. */
SC_API void sc_injection_feed(struct sc_injection_meter *meter, const float *composite,
                              size_t frames);
/* To be called now and then, first after half a second: what stands in the spectrum by now, and is
 * no tone, is followed from here on. */
SC_API void sc_injection_aim(struct sc_injection_meter *meter, const struct sc_trace *trace);
/* `trace`: averaged spectrum of the same composite. pilot: amplitude, NAN: none. */
SC_API void sc_injection_result(const struct sc_injection_meter *meter,
                                const struct sc_trace *trace,
                                const struct sc_composite_noise *noise, double pilot,
                                struct sc_injections *injections);
/* Nothing looked for, for this reason. */
SC_API void sc_injection_refuse(struct sc_injections *injections, const char *why);
SC_API void sc_injection_destroy(struct sc_injection_meter *meter);

#endif
