/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The recipe of the shipped sample: the commentary transmitter of a kite festival, 91.2 MHz,
 * captured at the bench before it goes out to the field. Invented for the demo; the faults are
 * put in so that there is something to find:
 *   - the carrier 430 Hz high, the pilot 0.4 Hz high;
 *   - 0.6 % of the 38 kHz carrier left;
 *   - a converter's whistle at 61.3 kHz on the composite;
 *   - a carrier of its own, 131.4 kHz above the station, from the synthesiser.
 *
 * Usage: kitefield FOLDER writes FOLDER/kitefield.sigmf-data and .sigmf-meta.
 */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <sidecomb/signal.h>

enum { RATE = 384000, FRAMES = RATE * 12 / 5, CHUNK = 4800 };

/* Tuned off the station, so that the receiver's own direct current does not sit on it. */
static const double centre_hz = 91.205e6, station_hz = 91.2e6;

static const struct sc_signal_tone left[] = {{1000, 1.2, 0}, {3150, 0.9, 0.4}};
static const struct sc_signal_tone right[] = {{1600, 1.0, 1.0}, {5000, 0.5, 2.0}};

static void describe(struct sc_signal_settings *s)
{
  sc_signal_settings_init(s);
  s->rate_hz = RATE;
  s->level = 0.7;
  s->carrier_offset_hz = station_hz - centre_hz + 430;
  s->pilot_khz = 6.8;
  s->pilot_hz = 19000.4;
  for (size_t i = 0; i < 2; i++) {
    s->left[s->left_count++] = left[i];
    s->right[s->right_count++] = right[i];
  }
  s->residual_khz = 0.45;
  s->residual_phase_rad = 0.35;
  s->composite[s->composite_count++] = (struct sc_signal_tone){61300, 0.3, 0};
  s->carriers[s->carrier_count++] =
      (struct sc_signal_tone){station_hz - centre_hz + 131400, 0.003, 0};
  s->cnr_db = 48;
  s->seed = 912;
}

/* The noise is a third of a step: dither enough for eight bits. */
static signed char quantise(double value)
{
  const double steps = floor(value * 128 + 0.5);
  return (signed char)(steps > 127 ? 127 : steps < -128 ? -128 : steps);
}

static int write_data(struct sc_signal *signal, FILE *file)
{
  static double iq[2 * CHUNK];
  static signed char bytes[2 * CHUNK];
  for (size_t done = 0; done < FRAMES; done += CHUNK) {
    sc_signal_iq(signal, iq, CHUNK);
    for (size_t i = 0; i < 2 * CHUNK; i++)
      bytes[i] = quantise(iq[i]);
    if (fwrite(bytes, 2, CHUNK, file) != CHUNK)
      return -1;
  }
  return 0;
}

static int write_meta(FILE *file)
{
  return fprintf(file,
                 "{\n"
                 "  \"global\": {\n"
                 "    \"core:datatype\": \"ci8\",\n"
                 "    \"core:sample_rate\": %d,\n"
                 "    \"core:version\": \"1.0.0\",\n"
                 "    \"core:license\": \"https://spdx.org/licenses/GPL-3.0-or-later.html\",\n"
                 "    \"core:description\": \"Commentary transmitter of a kite festival, "
                 "invented for the demo\"\n"
                 "  },\n"
                 "  \"captures\": [\n"
                 "    {\"core:sample_start\": 0, \"core:frequency\": %.0f}\n"
                 "  ],\n"
                 "  \"annotations\": []\n"
                 "}\n",
                 RATE, centre_hz);
}

static FILE *open_in(const char *folder, const char *name)
{
  char path[4096];
  if (snprintf(path, sizeof path, "%s/%s", folder, name) >= (int)sizeof path)
    return NULL;
  return fopen(path, "wb");
}

static int write_pair(struct sc_signal *signal, const char *folder)
{
  FILE *data = open_in(folder, "kitefield.sigmf-data");
  FILE *meta = open_in(folder, "kitefield.sigmf-meta");
  int failed = data == NULL || meta == NULL;
  failed = failed || write_data(signal, data) < 0 || write_meta(meta) < 0;
  if (data != NULL)
    failed |= fclose(data) != 0;
  if (meta != NULL)
    failed |= fclose(meta) != 0;
  return failed ? -1 : 0;
}

int main(int argc, char **argv)
{
  struct sc_signal_settings settings;
  struct sc_signal *signal;
  describe(&settings);
  if (argc != 2 || sc_signal_create(&settings, &signal) != SC_OK) {
    fputs("usage: kitefield FOLDER\n", stderr);
    return 2;
  }
  const int result = write_pair(signal, argv[1]);
  sc_signal_destroy(signal);
  if (result < 0)
    perror("kitefield");
  return result < 0 ? 1 : 0;
}
