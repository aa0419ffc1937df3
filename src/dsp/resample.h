/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Mixing, filtering and changing the rate of a stream by a small ratio. */
#ifndef SIDECOMB_DSP_RESAMPLE_H
#define SIDECOMB_DSP_RESAMPLE_H

#include <stdbool.h>
#include <stddef.h>

#include <sidecomb/error.h>

/* Oscillator with a phase that does not drift over hours: exact phase in double, renewed
 * for each block. Spurious lines below -130 dBc. Of a frequency that repeats within so many frames
 * the block is one of whole periods, and takes half the time. */
enum { DSP_MIXER_BLOCK = 512 };
struct dsp_mixer {
  double phase_cycles;    /* of the block's first frame, 0 to 1 */
  double step_cycles;     /* per frame, -0.5 to 0.5 */
  bool repeats;           /* each block is as the one before */
  size_t block;           /* frames of one */
  size_t into;            /* frames of the block that are done */
  unsigned turns;         /* by multiplication, up to this block */
  double now[2], turn[2]; /* of the block; from block to block */
  union {                 /* of one block that starts at phase 0 */
    struct {
      float cosine[DSP_MIXER_BLOCK], sine[DSP_MIXER_BLOCK];
    };
    struct { /* each cosine twice; minus the sine, and the sine; cosine and sine */
      float own[2 * DSP_MIXER_BLOCK], other[2 * DSP_MIXER_BLOCK], both[2 * DSP_MIXER_BLOCK];
    };
  };
};
void dsp_mixer_set(struct dsp_mixer *mixer, double frequency_hz, double rate_hz);
/* The nearest frequency that repeats within a block, or `frequency_hz` where none is so near. At 2.4
 * MS/s five of six have one within 20 Hz, but none from 20 Hz to 4.6 kHz has, nor have those beside other
 * simple fractions of the rate. */
double dsp_mixer_near(double frequency_hz, double within_hz, double rate_hz);
/* Back to phase 0. */
void dsp_mixer_reset(struct dsp_mixer *mixer);
/* out[n] = in[n] * exp(2 pi i phase). Complex in place allowed. Real input: in holds
 * `frames` floats. */
void dsp_mixer_run(struct dsp_mixer *mixer, const float *in, float *out, size_t frames);
void dsp_mixer_run_real(struct dsp_mixer *mixer, const float *in, float *out, size_t frames);

/* Kaiser-windowed low-pass for `rate_hz`: flat to pass_hz, down by attenuation_db from stop_hz
 * on; odd length, linear phase, unity at zero. *taps is to be freed by the caller. Within
 * the pass band it is off unity by at most twice the stop band's limit (2e-4 at 80 dB). */
enum sc_error dsp_lowpass_design(double pass_hz, double stop_hz, double attenuation_db,
                                 double rate_hz, double **taps, size_t *count);
/* Number of taps that such a design has. */
size_t dsp_lowpass_length(double pass_hz, double stop_hz, double attenuation_db, double rate_hz);

/* Polyphase rate change by interpolation / decimation, with `taps` designed for the
 * interpolated rate (their gain is corrected here). components: 1 real, 2 complex. */
struct dsp_resampler;
enum sc_error dsp_resampler_create(unsigned components, unsigned interpolation, unsigned decimation,
                                   const double *taps, size_t tap_count, size_t frames_max,
                                   struct dsp_resampler **resampler);
/* Frames <= frames_max. Returns the number of frames written to `out`, at most
 * frames * interpolation / decimation + 1. */
size_t dsp_resampler_run(struct dsp_resampler *resampler, const float *in, size_t frames,
                         float *out);
/* The same of what the mixer makes of `in`, straight to where the filter reads it. Complex filters
 * with a decimation above 1 only. */
size_t dsp_resampler_run_mixed(struct dsp_resampler *resampler, struct dsp_mixer *mixer,
                               const float *in, bool real, size_t frames, float *out);
/* Output frames after create or reset that still hold the filter's start. */
size_t dsp_resampler_transient(const struct dsp_resampler *resampler);
void dsp_resampler_reset(struct dsp_resampler *resampler);
void dsp_resampler_destroy(struct dsp_resampler *resampler);

/* Several stages of decimation in a row, each a short filter (last one shapes the edge).
 * Flat to pass_hz at the output, images and aliases down by attenuation_db within pass_hz.
 * The split into stages is the one of least work. decimation 1 copies. */
struct dsp_decimator;
enum sc_error dsp_decimator_create(unsigned components, unsigned decimation, double pass_hz,
                                   double attenuation_db, double rate_hz, size_t frames_max,
                                   struct dsp_decimator **decimator);
size_t dsp_decimator_run(struct dsp_decimator *decimator, const float *in, size_t frames,
                         float *out);
/* The same of what the mixer makes of `in`, which is real or complex; complex decimators only. */
size_t dsp_decimator_run_mixed(struct dsp_decimator *decimator, struct dsp_mixer *mixer,
                               const float *in, bool real, size_t frames, float *out);
size_t dsp_decimator_transient(const struct dsp_decimator *decimator);
/* Group delay in frames of the input; output m is the input filtered around frame
 * m * decimation - delay. */
double dsp_decimator_delay(const struct dsp_decimator *decimator);
void dsp_decimator_reset(struct dsp_decimator *decimator);
void dsp_decimator_destroy(struct dsp_decimator *decimator);

#endif
