/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A narrow band out of a wide one: mixed to zero, filtered, decimated. */
#ifndef SIDECOMB_DSP_ZOOM_H
#define SIDECOMB_DSP_ZOOM_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/error.h>

enum { DSP_ZOOM_BLOCK = 8192 };

struct dsp_zoom_settings {
  double rate_hz;
  bool complex_input;
  double centre_hz; /* becomes zero */
  unsigned decimation;
  double half_width_hz; /* flat, and free of aliases, to this distance from the centre */
  double attenuation_db;
};

struct dsp_zoom;
enum sc_error dsp_zoom_create(const struct dsp_zoom_settings *settings, struct dsp_zoom **zoom);
/* Takes at most DSP_ZOOM_BLOCK frames. Returns how many complex frames *out points to; what the
 * filters' start spoils is left out. Real input comes out at half its amplitude: the other
 * half is at the negative frequency. */
size_t dsp_zoom_run(struct dsp_zoom *zoom, const float *in, size_t frames, const float **out);
/* Output frames that are lost after create and after reset. */
size_t dsp_zoom_transient(const struct dsp_zoom *zoom);
void dsp_zoom_reset(struct dsp_zoom *zoom);
void dsp_zoom_destroy(struct dsp_zoom *zoom);

#endif
