/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines of the composite that come from the capture: what folds at the rate of a sound card, and
 * clocks. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "account/roles.h"
#include "account/words.h"

enum { FOLDED_TIMES_MAX = 12, RATE_PARTS = 8 };
static const double weaker_db = 20; /* than what it is made of */

static bool is_sound_card(const struct account_composite *composite)
{
  return composite->scene->result->capture.info.kind == SC_KIND_COMPOSITE;
}

static double folded(double hz, double rate_hz)
{
  return fabs(hz - rate_hz * floor(hz / rate_hz + 0.5));
}

static bool as_folded_of(const struct account_composite *composite, struct sc_line *line,
                         size_t source, int times)
{
  char name[ACCOUNT_NAME_LENGTH];
  double rate_hz = composite->scene->result->capture.info.sample_rate_hz;
  const struct sc_line *of = &composite->list->lines[source];
  double hz = times * of->offset_hz.value;
  if (of == line || hz < rate_hz / 2 || account_level_db(line) > account_level_db(of) - weaker_db ||
      !account_is_at(composite, line, folded(hz, rate_hz), times * of->offset_hz.uncertainty))
    return false;
  account_component_words(of, name);
  account_label(line, "folded %d x %s", times, name);
  account_verdict(line, SC_VERDICT_ARTEFACT,
                  "alias: %d times %s, %.3f kHz, folded at the capture's rate, exact in frequency",
                  times, name, hz / 1e3);
  return true;
}

/* A sound card's clock is not the transmitter's, so what folds falls on no other sum but by
 * chance. */
bool account_as_folded(const struct account_composite *composite, struct sc_line *line)
{
  for (size_t i = 0; i < composite->strong_count && is_sound_card(composite); i++)
    for (int times = 2; times <= FOLDED_TIMES_MAX; times++)
      if (as_folded_of(composite, line, composite->strong[i], times))
        return true;
  return false;
}

bool account_is_rate_share(const struct sc_line_list *list, const struct sc_quantity *frequency_hz,
                           double rate_hz, int *numerator, int *denominator)
{
  double share = RATE_PARTS * frequency_hz->value / rate_hz;
  *numerator = (int)lround(share);
  *denominator = RATE_PARTS;
  for (; *numerator != 0 && *numerator % 2 == 0 && *denominator > 1; *denominator /= 2)
    *numerator /= 2;
  double away = fabs(share - round(share)) * rate_hz / RATE_PARTS;
  return *numerator != 0 && away <= account_exact_hz(list, frequency_hz->uncertainty);
}

bool account_as_clock(const struct account_composite *composite, struct sc_line *line)
{
  int numerator, denominator;
  if (!is_sound_card(composite) ||
      !account_is_rate_share(composite->list, &line->tone.frequency_hz,
                             composite->scene->result->capture.info.sample_rate_hz, &numerator,
                             &denominator))
    return false;
  account_label(line, "clock %d/%d", numerator, denominator);
  account_verdict(line, SC_VERDICT_ARTEFACT,
                  "clock line of the receiver: exactly %d/%d of the capture's sample rate",
                  numerator, denominator);
  return true;
}
