/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The lines on air that tones of the composite make.
 *
 * A tone of deviation D cos(2 pi f t + p) turns the carrier's phase by b sin(2 pi f t + p) with the
 * modulation index b = D / f. Of several tones exp(j sum b_i sin(w_i t + p_i)) has lines at
 * sum(n_i f_i) of the complex amplitude prod J_{n_i}(b_i) exp(j sum n_i p_i), relative to the
 * unmodulated carrier (Abramowitz and Stegun 9.1.41, multiplied out). What falls on one frequency
 * is added with its phase. */
#ifndef SIDECOMB_ACCOUNT_PREDICT_H
#define SIDECOMB_ACCOUNT_PREDICT_H

#include <complex.h>
#include <stddef.h>

#include <sidecomb/error.h>

enum {
  ACCOUNT_COMPONENTS_MAX = 32,
  ACCOUNT_ORDER_MAX = 400,   /* of one tone */
  ACCOUNT_WAYS_MAX = 1 << 14 /* products that are kept */
};

struct account_component {
  double frequency_hz;
  double deviation_khz, deviation_uncertainty_khz; /* peak */
  double phase_rad, phase_uncertainty_rad;         /* of the deviation's cosine; all tones at one
                                                      instant */
};

/* One product: its order of each component. */
struct account_way {
  double frequency_hz;
  double complex amplitude;
  short orders[ACCOUNT_COMPONENTS_MAX];
};

/* All products of one frequency. */
struct account_spot {
  double frequency_hz;      /* of the strongest way */
  double complex amplitude; /* relative to the unmodulated carrier */
  size_t first, count;      /* ways, the strongest first */
};

struct account_bessel;
struct account_prediction {
  struct account_component components[ACCOUNT_COMPONENTS_MAX];
  size_t component_count;
  struct account_way *ways;
  size_t way_count;
  struct account_spot *spots; /* by frequency */
  size_t spot_count;
  double floor; /* amplitude of the weakest product that was kept; above what was asked for when
                   there were too many */
  double power; /* of all spots; 1 but for what is below the floor */
  struct account_bessel *bessel;
};

/* Products of an amplitude of `floor` and more; those within `tolerance_hz` make one spot. A tone
 * counts at its upper one standard uncertainty for that, so that a line near a null is kept.
 * SC_NO_MEMORY; SC_UNSUPPORTED: more components than ACCOUNT_COMPONENTS_MAX, or one whose index
 * needs higher orders than ACCOUNT_ORDER_MAX; SC_BAD_ARGUMENT: frequencies or floor not above 0.
 * To be destroyed in any case. */
SC_MUST_USE enum sc_error account_predict(const struct account_component *components, size_t count,
                                          double floor, double tolerance_hz,
                                          struct account_prediction *prediction);
/* The strongest spot within the tolerance, or NULL. */
const struct account_spot *account_spot_near(const struct account_prediction *prediction,
                                             double frequency_hz, double tolerance_hz);
/* Root of the powers of the other spots within `within_hz` of one. */
double account_spot_neighbours(const struct account_prediction *prediction,
                               const struct account_spot *spot, double within_hz);
/* Standard uncertainty of |amplitude| from those of deviations and phases, taken as independent.
 * Near a null, where the modulus has no slope, that of the complex amplitude. */
double account_spot_uncertainty(const struct account_prediction *prediction,
                                const struct account_spot *spot);
/* The same of the complex amplitude: root of the variances of both its parts together. */
double account_spot_spread(const struct account_prediction *prediction,
                           const struct account_spot *spot);
void account_prediction_destroy(struct account_prediction *prediction);

#endif
