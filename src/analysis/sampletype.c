/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The bytes of some samples, read as each type that receivers' programs write. The right one makes
 * the most regular samples of a signal; a wrong one jumps where it takes a sign for a value, or
 * takes low bytes for samples of their own. */
#include <config.h>

#include "analysis/sampletype.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "capture/scan.h"
#include "measure/regularity.h"

/* What a look takes: 32768 frames of 8 bits, 4096 of 64. */
enum { BYTES = 1 << 16 };

/* Common practice, no source. */
static const char *const usual[] = {"cu8",     "ci8",     "ci16_le", "ci16_be",
                                    "ci32_le", "cf32_le", "cf64_le"};
enum { USUAL = sizeof usual / sizeof *usual };

/* Of a signal that tells its type, and of numbers that repeat exactly, as no signal does. By trial
 * of a model of these rules: stations, carriers and noise at five levels, with direct current, with
 * white noise, at the centre and off it, written as each of the 14 types and read as each: none of
 * 2730 that were read as what they are got another type; of those of a station that were read as
 * another of the usual types three of four got the right one from -20 dBFS up, 3 % a third one, and
 * the others none. */
static const double signal_db = 10, repeats_db = 100;
static const double better_db = 6; /* than as stated */
static const double unlike_db = 1; /* from the next best, or it stays open */
/* 8 bits read as 16 are neighbours of one sequence (I of Q and Q's neighbour), and as regular but
 * for some dB. */
static const double proper = 0.2, narrower_better_db = 1.5;

struct reading {
  const struct capture_type *type;
  struct measure_regularity is;
};

enum sc_error sampletype_start(struct sampletype *type, const struct capture_type *stated)
{
  *type = (struct sampletype){.stated = stated, .room = BYTES / (2 * stated->bytes)};
  type->samples = malloc(2 * type->room * sizeof *type->samples);
  return type->samples != NULL ? SC_OK : SC_NO_MEMORY;
}

void sampletype_end(struct sampletype *type)
{
  free(type->samples);
  type->samples = NULL;
  type->stated = NULL;
}

/* Those of floats, not by their value: bytes of another type may make a NaN, which has many. */
static void write_floats(const float *samples, size_t count, bool big, unsigned char *bytes)
{
  for (size_t i = 0; i < count; i++) {
    uint32_t bits;
    memcpy(&bits, &samples[i], sizeof bits);
    for (unsigned b = 0; b < 4; b++)
      bytes[4 * i + (big ? 3 - b : b)] = (unsigned char)(bits >> 8 * b);
  }
}

/* The bytes that the samples were. */
static void write_back(const struct sampletype *type, unsigned char *bytes)
{
  enum { STRIP = 1024 };
  double strip[STRIP];
  const size_t count = 2 * type->filled;
  if (type->stated->bits == 0 && type->stated->bytes == 4) {
    write_floats(type->samples, count, strcmp(type->stated->name, "cf32_be") == 0, bytes);
    return;
  }
  for (size_t at = 0; at < count; at += STRIP) {
    const size_t run = count - at < STRIP ? count - at : STRIP;
    for (size_t i = 0; i < run; i++)
      strip[i] = (double)type->samples[at + i];
    type->stated->encode(strip, NULL, bytes + at * type->stated->bytes, run);
  }
}

/* False: nothing can be told. */
static bool read_as(const struct capture_type *type, const unsigned char *bytes, size_t count,
                    float *samples, struct reading *reading)
{
  const struct capture_range range = {type->low, type->high, type->bits == 0};
  struct capture_scan scan = {0};
  const size_t frames = count / (2 * type->bytes);
  reading->type = type;
  if (frames < MEASURE_REGULARITY_LEAST)
    return false;
  type->decode(bytes, samples, 2 * frames);
  capture_scan(samples, frames, 2, &range, &scan); /* only to remove NaN */
  return measure_regularity(samples, frames, &reading->is) == SC_OK;
}

/* Between the two kinds of 8 bits there is but the sign, which splits nothing: a carrier at the
 * centre is improper by itself. */
static bool is_split(const struct reading *other, const struct capture_type *stated)
{
  const bool other_sign = other->type->bits == 8 && stated->bits == 8;
  return !other_sign && other->is.improper >= proper;
}

static bool is_better(const struct reading *other, const struct reading *stated)
{
  const bool narrower = other->type->bytes < stated->type->bytes;
  const double least_db = narrower ? narrower_better_db : better_db;
  return other->is.gain_db >= signal_db && other->is.gain_db <= repeats_db &&
         !is_split(other, stated->type) && other->is.gain_db - stated->is.gain_db >= least_db;
}

/* The best of those that are better than as stated, where it is alone. */
static struct sampletype_finding best_of(const struct reading *all, size_t count,
                                         const struct reading *stated)
{
  const struct reading *best = NULL, *second = NULL;
  for (size_t i = 0; i < count; i++) {
    if (!is_better(&all[i], stated))
      continue;
    if (best == NULL || all[i].is.gain_db > best->is.gain_db) {
      second = best;
      best = &all[i];
    } else if (second == NULL || all[i].is.gain_db > second->is.gain_db) {
      second = &all[i];
    }
  }
  if (best == NULL || (second != NULL && best->is.gain_db - second->is.gain_db < unlike_db))
    return (struct sampletype_finding){NULL, 0};
  return (struct sampletype_finding){best->type, best->is.gain_db - stated->is.gain_db};
}

/* `known`: what is looked at is a signal, so that no other look is needed. */
static struct sampletype_finding compare(const struct sampletype *type, unsigned char *bytes,
                                         float *samples, bool *known)
{
  struct sampletype_finding none = {NULL, 0};
  struct reading stated, others[USUAL];
  size_t count = 0;
  write_back(type, bytes);
  if (!read_as(type->stated, bytes, BYTES, samples, &stated))
    return none;
  for (size_t i = 0; i < USUAL; i++) {
    const struct capture_type *other = capture_type_find(usual[i]);
    count += other != type->stated && read_as(other, bytes, BYTES, samples, &others[count]);
  }
  const struct sampletype_finding found = best_of(others, count, &stated);
  *known = found.like != NULL || stated.is.gain_db >= signal_db;
  return found;
}

static struct sampletype_finding look(struct sampletype *type)
{
  unsigned char *bytes = malloc(BYTES);
  float *samples = malloc(BYTES * sizeof *samples); /* of one byte each at the least */
  struct sampletype_finding found = {NULL, 0};
  bool known = false;
  if (bytes != NULL && samples != NULL)
    found = compare(type, bytes, samples, &known);
  free(bytes);
  free(samples);
  type->filled = 0;
  type->next = type->frames + type->frames / 2;
  if (known)
    sampletype_end(type);
  return found;
}

struct sampletype_finding sampletype_feed(struct sampletype *type, const float *iq, size_t frames)
{
  struct sampletype_finding found = {NULL, 0};
  if (type->stated == NULL)
    return found;
  type->frames += frames;
  if (type->frames < type->next)
    return found;
  const size_t left = type->room - type->filled, run = frames < left ? frames : left;
  memcpy(type->samples + 2 * type->filled, iq, 2 * run * sizeof *iq);
  type->filled += run;
  return type->filled == type->room ? look(type) : found;
}
