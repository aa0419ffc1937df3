/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Plays the test audio's schedule: every sample is a function of the time alone. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include <sidecomb/sequence.h>

#define PI 3.1415926535897932384626433832795

static const double level_usual_dbfs = -6;
/* A part begins and ends within this, so that no click is heard or measured. */
static const double soft_s = 0.01;

static double from_db(double db)
{
  return pow(10, db / 20);
}

static double envelope(const struct sc_sequence_part *part, double part_s)
{
  const double edge = fmin(part_s, part->seconds - part_s);
  return edge >= soft_s ? 1 : 0.5 - 0.5 * cos(PI * fmax(0, edge) / soft_s);
}

/* `lead_rad`: by how much the channel leads. */
static double tone(double hz, double part_s, double lead_rad)
{
  return hz > 0 ? sin(2 * PI * hz * part_s + lead_rad) : 0;
}

/* Phases quadratic in the tone's number: a low peak (M. R. Schroeder, IEEE Trans. Inf. Theory
 * IT-16, 1970). */
static double comb(int channel, double part_s)
{
  const double *hz = sc_sequence_comb_hz(channel);
  double sum = 0;
  for (int i = 0; i < SC_COMB_TONES; i++)
    sum += sc_sequence_comb_gain(hz[i]) * sin(2 * PI * hz[i] * part_s + PI * i * i / SC_COMB_TONES);
  return sum;
}

static double chirps(int rising_first, double part_s)
{
  const double second_s = part_s - SC_CHIRP_SPACING_S;
  if (second_s < 0)
    return sc_chirp_envelope(part_s) * sin(sc_chirp_rad(rising_first, part_s));
  return sc_chirp_envelope(second_s) * sin(sc_chirp_rad(!rising_first, second_s));
}

static int part_at(double time_s)
{
  const struct sc_sequence_part *parts = sc_sequence_parts();
  for (int i = SC_PARTS - 1; i >= 0; i--)
    if (time_s >= parts[i].start_s)
      return i;
  return SC_PART_BEFORE;
}

static void play(int name, const struct sc_sequence_part *part, double part_s, double *left,
                 double *right)
{
  double walk_rad;
  switch (part->kind) {
  case SC_SEQUENCE_CHIRPS:
    *left = *right = chirps(name == SC_PART_LEAD, part_s);
    return;
  case SC_SEQUENCE_TONE:
  case SC_SEQUENCE_WALK:
    walk_rad = part->kind == SC_SEQUENCE_WALK ? sc_sequence_walk_rad(part_s) : 0;
    *left = tone(part->left_hz, part_s, walk_rad / 2);
    *right = tone(part->right_hz, part_s, -walk_rad / 2);
    return;
  case SC_SEQUENCE_COMB:
    *left = part->left_hz > 0 ? comb(0, part_s) : 0;
    *right = part->right_hz > 0 ? comb(1, part_s) : 0;
    return;
  default:
    *left = *right = 0;
  }
}

void sc_sequence_sample(const struct sc_sequence_settings *settings, double time_s, double *left,
                        double *right)
{
  *left = *right = 0;
  if (!(time_s >= 0 && time_s < sc_sequence_seconds()))
    return;
  const int name = part_at(time_s);
  const struct sc_sequence_part *part = &sc_sequence_parts()[name];
  const double part_s = time_s - part->start_s;
  const double top_db = settings->level_dbfs == 0 ? level_usual_dbfs : settings->level_dbfs;
  const int is_null = name == SC_PART_NULL_SECOND || name == SC_PART_NULL_THIRD;
  const double null_db = is_null ? sc_sequence_null_db(part->left_hz, settings->preemphasis_us) : 0;
  const double gain = from_db(top_db + part->level_db + null_db) * envelope(part, part_s);
  play(name, part, part_s, left, right);
  *left *= gain;
  *right *= gain;
}
