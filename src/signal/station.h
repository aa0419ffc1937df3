/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* One station: its composite and the phase of its carrier, chunk by chunk, at the rate of the
 * modulation.
 */
#ifndef SIDECOMB_SIGNAL_STATION_H
#define SIDECOMB_SIGNAL_STATION_H

#include <stddef.h>
#include <stdint.h>

#include <sidecomb/scenario.h>

/* The audio rate is the modulation rate over a whole number and not below this. */
#define SIGNAL_AUDIO_RATE_HZ 90e3

struct signal_station;
/* rate_hz is at least 1 MHz and at most 20 MHz. */
enum sc_error signal_station_create(const struct sc_station *settings, double rate_hz,
                                    uint64_t seed, struct signal_station **station,
                                    struct sc_message *message);
/* Frames of one run. */
size_t signal_station_chunk(const struct signal_station *station);
/* Prepares the station to begin at or before the frame given; returns the frame it begins with.
 * Once, before the first run. Stations of one rate begin alike. */
int64_t signal_station_start(struct signal_station *station, int64_t frame);
/* The next chunk: composite in kHz, and the carrier's phase without its offset. */
void signal_station_run(struct signal_station *station, double *khz, double *radians);
/* What a tone at zero frequency shifts the carrier by. */
double signal_station_shift_hz(const struct signal_station *station);
void signal_station_destroy(struct signal_station *station);

#endif
