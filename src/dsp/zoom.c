/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A narrow band out of a wide one: mixed to zero, filtered, decimated. */
#include "dsp/zoom.h"

#include <stdlib.h>

#include "dsp/resample.h"

struct dsp_zoom {
  bool complex_input;
  struct dsp_mixer mixer;
  struct dsp_decimator *decimator;
  float *out;
  size_t spoilt; /* frames still to be left out */
};

enum sc_error dsp_zoom_create(const struct dsp_zoom_settings *settings, struct dsp_zoom **zoom)
{
  *zoom = NULL;
  struct dsp_zoom *made = calloc(1, sizeof *made);
  if (!made)
    return SC_NO_MEMORY;
  made->complex_input = settings->complex_input;
  dsp_mixer_set(&made->mixer, -settings->centre_hz, settings->rate_hz);
  size_t frames_out = DSP_ZOOM_BLOCK / settings->decimation + 2;
  made->out = malloc(2 * frames_out * sizeof *made->out);
  enum sc_error error = made->out ? SC_OK : SC_NO_MEMORY;
  if (error == SC_OK)
    error = dsp_decimator_create(2, settings->decimation, settings->half_width_hz,
                                 settings->attenuation_db, settings->rate_hz, DSP_ZOOM_BLOCK,
                                 &made->decimator);
  if (error != SC_OK) {
    dsp_zoom_destroy(made);
    return error;
  }
  made->spoilt = dsp_decimator_transient(made->decimator);
  *zoom = made;
  return SC_OK;
}

size_t dsp_zoom_run(struct dsp_zoom *zoom, const float *in, size_t frames, const float **out)
{
  size_t made = dsp_decimator_run_mixed(zoom->decimator, &zoom->mixer, in, !zoom->complex_input,
                                        frames, zoom->out);
  size_t left_out = zoom->spoilt < made ? zoom->spoilt : made;
  zoom->spoilt -= left_out;
  *out = zoom->out + 2 * left_out;
  return made - left_out;
}

size_t dsp_zoom_transient(const struct dsp_zoom *zoom)
{
  return dsp_decimator_transient(zoom->decimator);
}

void dsp_zoom_reset(struct dsp_zoom *zoom)
{
  dsp_decimator_reset(zoom->decimator);
  zoom->spoilt = dsp_decimator_transient(zoom->decimator);
}

void dsp_zoom_destroy(struct dsp_zoom *zoom)
{
  if (!zoom)
    return;
  dsp_decimator_destroy(zoom->decimator);
  free(zoom->out);
  free(zoom);
}
