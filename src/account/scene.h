/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the parts of the account share while they explain one result. */
#ifndef SIDECOMB_ACCOUNT_SCENE_H
#define SIDECOMB_ACCOUNT_SCENE_H

#include <complex.h>
#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/result.h>

#include "account/account.h"
#include "account/predict.h"

enum {
  ACCOUNT_AM_MAX = 12,
  ACCOUNT_DATA_PLACES_MAX = 4,
  ACCOUNT_OTHERS_MAX = 12,
  ACCOUNT_ROUNDED_MAX = 4
};

/* Amplitude modulation of the whole signal. */
struct account_am {
  double frequency_hz;
  double complex index; /* its phase is that of the cosine, in the middle of the record */
  bool of_data;         /* none: FM makes such lines of the data's square */
};

/* What the prediction leaves of a line on air, as a complex amplitude or where phases do not
 * compare as a difference of sizes, and its uncertainty. */
struct account_rest {
  double complex value;
  double uncertainty; /* of its size, or of each of both parts */
  bool is_complex;
};

/* What rounding makes of samples that repeat; amplitudes relative to the carrier, of a captured
 * composite those of its tones. */
struct account_rounding {
  double step_hz;   /* it has a line at each multiple; 0: anywhere, or it has none */
  double amplitude; /* an uncertainty of predicted lines: `most` is no rest of them */
  double most;      /* of the strongest */
  double others_hz[ACCOUNT_ROUNDED_MAX]; /* of carriers at no multiple, in the capture */
  size_t other_count;
};

struct account_scene {
  struct sc_result *result;
  const struct sc_line_list *taken; /* lines of what a limiter takes away; NULL: nobody looked */
  struct account_prediction prediction;
  struct account_prediction doubled; /* of twice the deviation: an image against the carrier */
  double image;                      /* amplitude of the receiver's mirror image, 0: not seen */
  double complex image_phasor;       /* the same with its phase, 0: not known */
  struct account_am ams[ACCOUNT_AM_MAX];
  size_t am_count;
  bool direct_current;                  /* the receiver's own is among the lines on air */
  double others_hz[ACCOUNT_OTHERS_MAX]; /* centres of other modulated signals */
  size_t other_count;
  struct account_rounding rounding;
  double anew_share; /* of a line, that the signal rounded once more has to have */
  size_t component_lines[ACCOUNT_COMPONENTS_MAX]; /* on the composite, by component */
  size_t weak_lines[ACCOUNT_WEAK_MAX];            /* the same of the weak ones */
  struct account_places places;                   /* on air, that lines are explained at */
  double floor;                                   /* amplitude that a prediction goes down to */
  double middle_s;            /* of the record whose phases are compared; NAN: no line has one */
  struct account_rest *rests; /* of the lines on air, by index */
  double complex turn;        /* of the measured phases against the predicted ones; 0: they do not
                                 compare */
  double common;              /* factor of all lines by modulation that is no tone */
  double sure_index;          /* tones of a lower one are left out of predictions; 0: none */
  double complex *beats;      /* that are in the composite's lines, by index, as modulation indices;
                                 NULL:      nobody knows */
  ptrdiff_t carrier;          /* line on air at offset 0, -1: none */
  double complex *cut;        /* the same of what the capture's width makes of weak tones */
};

/* How far a frequency may be from an exact sum and still be it: four standard uncertainties and
 * what turns a phase by an eighth of a radian over the record. */
double account_exact_hz(const struct sc_line_list *list, double uncertainty_hz);
/* How far a measured line may be from a predicted one: a bin of the search beside that. */
double account_reach_hz(const struct sc_line_list *list, double uncertainty_hz);
/* |A| of a line on air relative to the unmodulated carrier, and its uncertainty. */
double account_amplitude(const struct sc_line *line);
double account_amplitude_uncertainty(const struct sc_line *line);
/* How far above what a line needs to be found this one is, in dB. */
double account_margin_db(const struct sc_line_list *list, const struct sc_line *line);
/* A line at the mirrored offset would have been seen: the place is in the capture, and a line of
 * this one's level has an energy of 3 dB more than is needed. */
bool account_mirror_visible(const struct sc_result *result, const struct sc_line *line);
/* So far from the capture's middle it is searched. */
double account_searched_hz(const struct sc_result *result);
/* At 0 Hz of the capture, where receivers put a line of their own, and the carrier is elsewhere. */
bool account_is_direct_current(const struct sc_result *result, const struct sc_line *line);

/* The spot that a line on air is compared with, or NULL, and with the common loss its amplitude. */
const struct account_spot *account_spot_of(const struct account_scene *scene,
                                           const struct sc_line *line);
double account_predicted(const struct account_scene *scene, const struct account_spot *spot);
/* Most of a line is predicted. */
bool account_mostly_predicted(const struct account_scene *scene, const struct sc_line *line);
/* Amplitude up to which products that the prediction had no room for may make a line. */
double account_unreached(const struct account_scene *scene);
bool account_is_unreached(const struct account_scene *scene, const struct sc_line *line);
/* Modulation index of a tone of the composite. */
double account_index(const struct sc_line *line);
/* From here on, in the capture, its own filter may weaken lines. */
double account_edge_hz(const struct sc_result *result);
/* Two amplitudes agree within a factor of 1.4 or the uncertainty. */
bool account_agrees(double measured, double uncertainty, double expected);

/* What makes lines beside the modulation, each in the scene when it is there: the mirror image of
 * unequal I and Q, amplitude modulation, other modulated signals. */
void account_find_image(struct account_scene *scene);
/* SC_NO_MEMORY. */
enum sc_error account_find_am(struct account_scene *scene);
void account_find_others(struct account_scene *scene);
/* What looks like amplitude modulation is what FM makes of the square of the data. */
bool account_is_of_data(const struct account_scene *scene, double am_hz, double index);
/* A line of the composite where data are that are read. */
bool account_is_in_data(const struct sc_result *result, const struct sc_line *line);
/* Power in kHz^2 that a line of the composite at `hz` has on average where data repeat in the
 * shortest cycle; 0 beyond their band. Of data that are read, whose amplitude, subcarrier and bit
 * rate are known. */
double account_data_line_power(const struct sc_rds *rds, double hz);
/* A line of them has at most so many times that (by trial, data_band.c). */
#define ACCOUNT_DATA_MOST_TIMES 16.0
/* Root of the power, against the unmodulated carrier's, that lines of the data may have beside a
 * line on air, too near for a record to part them: they are of no steady phase, and nothing
 * predicts them. 0 without data. */
double account_data_beside(const struct account_scene *scene, double offset_hz);
/* Where random data's square has lines: twice the subcarrier, twice the bit clock, and both with
 * each other. Returns how many; none without data. */
size_t account_data_places(const struct account_scene *scene,
                           double places_hz[ACCOUNT_DATA_PLACES_MAX]);
/* The line of which this one stands at the mirrored frequency of the capture, and that is so much
 * stronger; NULL: there is none. */
const struct sc_line *account_mirrored(const struct account_scene *scene,
                                       const struct sc_line *line);
/* Other lines, of about the same distance from the capture's middle, would have images that were
 * seen if that line were the image of `of`, and have none. */
bool account_is_no_image(const struct account_scene *scene, const struct sc_line *line,
                         const struct sc_line *of);
/* Amplitude that the image makes at this line's place. */
double account_image_expected(const struct account_scene *scene, const struct sc_line *line);
/* What a line is an image of where that is two lines which are not told apart, measured as one on
 * air or by what a limiter takes away; NULL: it is not. */
const struct sc_line *account_image_of_pair(const struct account_scene *scene,
                                            const struct sc_line *line);
/* The modulation that does most of what the prediction leaves of a line, where all of them together
 * make it; NULL: they do not. */
const struct account_am *account_am_of(const struct account_scene *scene,
                                       const struct sc_line *line);

/* Phase in the middle of the record at scene->middle_s; NAN: the line has none there. */
double account_phase(const struct account_scene *scene, const struct sc_line_list *list,
                     const struct sc_line *line);
/* The turn, from the lines that are surely predicted. */
void account_find_turn(struct account_scene *scene);
/* A line on air relative to the unmodulated carrier, in the prediction's phase; false: none. */
bool account_phasor(const struct account_scene *scene, const struct sc_line *line,
                    double complex *phasor);
/* What is predicted so near to a spot that it is measured as one line with it: amplitude. */
double account_beside(const struct account_scene *scene, const struct account_spot *spot);
/* Works them out, once the prediction stands. */
void account_find_rests(struct account_scene *scene);
struct account_rest account_rest_of(const struct account_scene *scene, const struct sc_line *line);
/* A line and its mirror divided (see struct sc_line): amplitudes. `loose_fm` is the part of the FM
 * that the composite does not show. `known` false: not to be told. */
struct account_parts {
  bool known;
  double complex am; /* of the upper line */
  double fm, loose_fm, one_sided, limit, uncertainty;
};
struct account_parts account_divide(const struct account_scene *scene, const struct sc_line *line);
/* Fills the parts of all lines on air. */
void account_fill_parts(const struct account_scene *scene);
/* The centre of the other signal whose line it is, NULL: of none. */
const double *account_other_of(const struct account_scene *scene, const struct sc_line *line);

/* Finds what rounding does; before the rests, which it makes uncertain. */
void account_find_rounding(struct account_scene *scene);
/* The same of a captured composite. */
void account_find_rounding_of_tones(struct account_scene *scene);
/* Whether rounding makes a line of that size, relative to the carrier, or a tone of that amplitude;
 * and the verdict. */
bool account_is_rounding(const struct account_scene *scene, const struct sc_line_list *list,
                         const struct sc_quantity *hz, double size);
void account_say_rounding(const struct account_scene *scene, struct sc_line *line);
/* Finds how much of a line it takes. */
void account_find_rounded_anew(struct account_scene *scene);
/* The capture's signal, rounded once more, has so much of this line on air with the same phase. */
bool account_is_rounded_anew(const struct account_scene *scene, const struct sc_line *line);
/* Rounding was seen to make lines, and none is nearly as strong as this one. */
bool account_is_above_rounding(const struct account_scene *scene, const struct sc_line *line);
/* What rounding may make at any place of what a limiter takes away, where AM counts twice: 0 where
 * it was not seen to make lines, or only at multiples. */
double account_rounded_anywhere(const struct account_scene *scene);
void account_say_rounded_anew(const struct account_scene *scene, struct sc_line *line);
/* Those of the composite become artefacts, before anything is predicted of them. */
void account_take_rounded_tones(struct account_scene *scene);

/* Lines of the composite that the discriminator makes of one-sided lines on air, or because outer
 * lines are missing: artefacts. Returns how many. */
size_t account_find_beats(struct account_scene *scene);
/* A line on air that the discriminator makes beats of. */
bool account_is_beater(const struct account_scene *scene, const struct sc_line *line);
/* The same of strong ones, to all orders, once the prediction stands: judges again what is beat and
 * what is not, takes the beats out of the tones that they fall on, and predicts anew. `done` false:
 * there are none, and nothing has changed. Errors of account_predict. */
enum sc_error account_find_strong_beats(struct account_scene *scene, bool *done);
/* What the capture's width makes. */
void account_find_cut(struct account_scene *scene);
/* Label, verdict and cause of the other lines of the composite. */
void account_give_roles(const struct account_scene *scene);
/* The factor that all lines on air lose, and the verdicts on them. */
void account_find_common(struct account_scene *scene);
void account_judge_air(const struct account_scene *scene);
void account_judge_unpredicted(const struct account_scene *scene, struct sc_line *line);
/* The verdict on a line that changes the envelope, whatever its mirror line: one that the receiver
 * or another station makes, or that the user's reference tells. */
bool account_as_receivers(const struct account_scene *scene, struct sc_line *line);
/* From the composite's tones of so many times their deviation. Errors of account_predict. */
enum sc_error account_predict_times(struct account_scene *scene, double times, double floor,
                                    struct account_prediction *prediction);

#endif
