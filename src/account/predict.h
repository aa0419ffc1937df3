/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The lines on air that tones of the composite make.
 *
 * A tone of deviation D cos(2 pi f t + p) turns the carrier's phase by b sin(2 pi f t + p) with the
 * modulation index b = D / f. Of several tones exp(j sum b_i sin(w_i t + p_i)) has lines at
 * sum(n_i f_i) of the complex amplitude prod J_{n_i}(b_i) exp(j sum n_i p_i), relative to the
 * unmodulated carrier (Abramowitz and Stegun 9.1.41, multiplied out). What falls on one frequency
 * is added with its phase, one tone after the other: a programme of few tones has millions of
 * products on a few hundred frequencies.
 *
 * Of many weak tones, as the lines of data that repeat are, the first order does: exp(j p) =
 * prod J_0(b_i) (1 + sum J_1(b_i) / J_0(b_i) (e^j(w_i t + p_i) - e^-j(w_i t + p_i))) and no more
 * than their square. */
#ifndef SIDECOMB_ACCOUNT_PREDICT_H
#define SIDECOMB_ACCOUNT_PREDICT_H

#include <complex.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/error.h>

enum {
  ACCOUNT_COMPONENTS_MAX = 64,
  ACCOUNT_WEAK_MAX = 512,      /* of the first order alone */
  ACCOUNT_ORDER_MAX = 4000,    /* of one tone */
  ACCOUNT_SPOTS_MAX = 1 << 15, /* frequencies that are kept */
  ACCOUNT_NAMED_WAYS = 2       /* of each */
};

struct account_component {
  double frequency_hz;
  double deviation_khz, deviation_uncertainty_khz; /* peak */
  double phase_rad, phase_uncertainty_rad;         /* of the deviation's cosine; all tones at one
                                                      instant */
};

/* Modulation index. */
static inline double account_component_index(const struct account_component *component)
{
  return 1e3 * component->deviation_khz / component->frequency_hz;
}

/* One product: its order of each component, and perhaps of a weak one. */
struct account_way {
  double size; /* |amplitude|; 0: there is none */
  short orders[ACCOUNT_COMPONENTS_MAX];
  int weak_order; /* 1 or -1, 0: of none */
  size_t weak;
};

/* How a product came about: to a node of the prediction's. */
struct account_link {
  double size; /* |amplitude|; 0: there is none */
  uint32_t node;
  short component, order; /* while it is made */
};

/* All products of one frequency. */
struct account_spot {
  double frequency_hz;      /* of the strongest product */
  double complex amplitude; /* relative to the unmodulated carrier */
  double reach;             /* root of the products' powers, each at its upper uncertainty */
  struct account_link ways[ACCOUNT_NAMED_WAYS]; /* the strongest first */
};

/* The last of a product's components, and those before it; ways share their beginnings. Node 0 is
 * the carrier as it is. A weak component counts from ACCOUNT_COMPONENTS_MAX on. */
struct account_node {
  uint32_t before;
  short component, order;
};

struct account_nodes {
  struct account_node *nodes;
  size_t count, room;
};

/* Frequencies that matter, in order, and how near to them. */
struct account_places {
  const double *hz;
  size_t count;
  double within_hz;
};

/* Components of the first order alone; what they make is wanted at the places, NULL: everywhere. */
struct account_weak {
  const struct account_component *components;
  size_t count;
  const struct account_places *places;
};

struct account_bessel;
struct account_prediction {
  struct account_component components[ACCOUNT_COMPONENTS_MAX];
  size_t component_count;
  struct account_component *weak; /* of the first order alone */
  size_t weak_count;
  struct account_spot *spots; /* by frequency */
  size_t spot_count;
  double tolerance_hz;
  double floor; /* amplitude of the weakest product that was kept; above what was asked for when
                   there were too many */
  double weak_floor; /* the same of products with a weak component, where there are any */
  double power;      /* of all spots; 1 but for what is below the floor */
  double dropped;    /* power of the products below the floor */
  double missing;    /* amplitude that products below the floor may add to a spot: the root of their
                        power, shared out to all; and, above the floor that was asked for, that one */
  struct account_nodes nodes;
  struct account_bessel *bessel;
};

/* Products of an amplitude of `floor` and more; those within `tolerance_hz` make one spot, and what
 * they have in common counts by its sum. A tone counts at its upper one standard uncertainty for
 * that, so that a line near a null is kept.
 * SC_NO_MEMORY; SC_UNSUPPORTED: more components than ACCOUNT_COMPONENTS_MAX, or one whose index
 * needs higher orders than ACCOUNT_ORDER_MAX; SC_BAD_ARGUMENT: frequencies or floor not above 0.
 * To be destroyed in any case. */
SC_MUST_USE enum sc_error account_predict(const struct account_component *components, size_t count,
                                          double floor, double tolerance_hz,
                                          struct account_prediction *prediction);
/* The same, and of more components the first order; what their square makes is missing.
 * SC_UNSUPPORTED: more than ACCOUNT_WEAK_MAX. */
SC_MUST_USE enum sc_error account_predict_beside(const struct account_component *components,
                                                 size_t count, const struct account_weak *weak,
                                                 double floor, double tolerance_hz,
                                                 struct account_prediction *prediction);
/* Tones that were not among the components have so much power in their products. */
void account_prediction_lacks(struct account_prediction *prediction, double power);
/* A spot's way i, the strongest first. */
struct account_way account_spot_way(const struct account_prediction *prediction,
                                    const struct account_spot *spot, size_t i);
/* The strongest spot within the tolerance, or NULL. */
const struct account_spot *account_spot_near(const struct account_prediction *prediction,
                                             double frequency_hz, double tolerance_hz);
/* Root of the powers of the other spots within `within_hz` of one. */
double account_spot_neighbours(const struct account_prediction *prediction,
                               const struct account_spot *spot, double within_hz);
/* Standard uncertainty of |amplitude| from those of deviations and phases, taken as independent,
 * and from what is missing: of all spots A, dA(f)/db = (A(f - f_i) e^jp - A(f + f_i) e^-jp) / 2 and
 * dA(f)/dp = jb (A(f - f_i) e^jp + A(f + f_i) e^-jp) / 2, the derivatives of exp(jb sin(wt + p)).
 * Near a null, where the modulus has no slope, that of the complex amplitude. */
double account_spot_uncertainty(const struct account_prediction *prediction,
                                const struct account_spot *spot);
/* The same of the complex amplitude: root of the variances of both its parts together. */
double account_spot_spread(const struct account_prediction *prediction,
                           const struct account_spot *spot);
void account_prediction_destroy(struct account_prediction *prediction);

#endif
