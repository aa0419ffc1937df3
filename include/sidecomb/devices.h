/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Which devices are there to capture from, and what they can do. */
#ifndef SIDECOMB_DEVICES_H
#define SIDECOMB_DEVICES_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/api.h>
#include <sidecomb/error.h>

enum sc_device_class { SC_DEVICE_SOUND, SC_DEVICE_RECEIVER };

/* From `least` to `most`, both included; a single value when they are equal. */
struct sc_device_range {
  double least, most;
};
enum { SC_DEVICE_RANGES_MAX = 24, SC_DEVICE_NAMES_MAX = 12, SC_DEVICE_NAME_LENGTH = 32 };
struct sc_device_ranges {
  size_t count;
  struct sc_device_range range[SC_DEVICE_RANGES_MAX];
};
struct sc_device_names {
  size_t count;
  char name[SC_DEVICE_NAMES_MAX][SC_DEVICE_NAME_LENGTH];
};

/* All text is clean UTF-8. What a device does not say is empty. */
struct sc_device {
  enum sc_device_class device_class;
  char name[256];        /* what opens it */
  char description[256]; /* in its own words */
  char why[256];         /* not empty: it could not be asked, and why */
  struct sc_device_ranges rates_hz;
  unsigned channels_least, channels_most; /* of sound cards */
  struct sc_device_names formats;         /* of sound cards, as enum sc_sound_format knows them */
  /* Of receivers. Range i of the gains belongs to gain i. */
  struct sc_device_ranges tune_hz, bandwidths_hz, gains_db;
  struct sc_device_names gains, antennas;
  bool corrects_frequency; /* by itself, in parts per million */
};

struct sc_devices {
  struct sc_device *device;
  size_t count;
  bool sound_built, receivers_built; /* this build knows sound cards, receivers */
};

/* Looks for devices; opens each for a moment to ask what it can do. None is no error.
 * SC_NO_MEMORY. Free with sc_devices_clear, also after a failure. */
SC_API SC_MUST_USE enum sc_error sc_devices_find(struct sc_devices *devices);
SC_API void sc_devices_clear(struct sc_devices *devices);

/* The list as text for people, or as one JSON object without a newline at its end, schema
 * "sidecomb-devices/1". The caller frees *text. SC_NO_MEMORY. */
SC_API SC_MUST_USE enum sc_error sc_devices_text(const struct sc_devices *devices, unsigned width,
                                                 bool utf8, char **text);
SC_API SC_MUST_USE enum sc_error sc_devices_json(const struct sc_devices *devices, char **text);

#endif
