/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* What the spectra of a capture are called, and the scales of their levels. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <string.h>

#include <sidecomb/sight.h>

const char *sc_sight_name(enum sc_sight_of of)
{
  static const char *const names[SC_SIGHT_COUNT] = {"on air", "composite", "audio"};
  return of < SC_SIGHT_COUNT ? names[of] : "";
}

bool sc_sight_offered(enum sc_sight_of of, enum sc_kind kind)
{
  if (kind == SC_KIND_IQ)
    return of == SC_SIGHT_AIR || of == SC_SIGHT_COMPOSITE;
  return of == (kind == SC_KIND_COMPOSITE ? SC_SIGHT_COMPOSITE : SC_SIGHT_AUDIO);
}

static const char re_full[] = "relative to full scale";
static const char unit_75[] = "dB75";
static const char re_75[] = "relative to 75 kHz of deviation";

static struct sc_sight_scale composite_scale(enum sc_kind kind, double full_scale_khz,
                                             const struct sc_result *result)
{
  double unit_khz = kind == SC_KIND_IQ ? 1 : full_scale_khz;
  if (unit_khz > 0)
    return (struct sc_sight_scale){20 * log10(unit_khz / 75), unit_75, re_75};
  if (result != NULL && result->pilot.amplitude.why == NULL && result->pilot.amplitude.value > 0)
    return (struct sc_sight_scale){-20 * log10(result->pilot.amplitude.value), "dBp",
                                   "relative to the pilot"};
  return (struct sc_sight_scale){0, "dBFS", re_full};
}

struct sc_sight_scale sc_sight_scale(enum sc_sight_of of, enum sc_kind kind, double full_scale_khz,
                                     const struct sc_result *result)
{
  if (of == SC_SIGHT_COMPOSITE)
    return composite_scale(kind, full_scale_khz, result);
  if (of == SC_SIGHT_AIR && result != NULL && result->carrier.level_dbfs.why == NULL)
    return (struct sc_sight_scale){-result->carrier.level_dbfs.value, "dBc",
                                   "relative to the unmodulated carrier"};
  return (struct sc_sight_scale){0, "dBFS", re_full};
}

double sc_sight_noise_dbfs_hz(const struct sc_result *result)
{
  if (result == NULL || result->carrier.noise_density_dbfs_hz.why != NULL)
    return (double)NAN;
  double least = result->carrier.noise_density_dbfs_hz.value;
  double on_composite = 10 * log10(result->stereo.noise_per_hz) + result->carrier.level_dbfs.value;
  return on_composite < least ? on_composite : least;
}

/* A real tone's power is A^2/2, a trace reads A^2 for it: see lines.h and spectrum.h. Lines of an
 * absolute composite were measured in kHz, whatever the trace's samples are. */
double sc_sight_line_level(enum sc_sight_of of, struct sc_sight_scale scale,
                           const struct sc_line *line)
{
  if (strcmp(scale.unit, unit_75) == 0 && line->level_db75.why == NULL)
    return line->level_db75.value;
  double real = of == SC_SIGHT_AIR ? 0 : 10 * log10(2);
  return line->tone.level_db.value + real + scale.offset_db;
}
