/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A long complex transform by four of a quarter of its length, which stay near the processor:
 * FFTW's estimated plans for 16384 take twice the time, and plans by trial would differ from run to
 * run. */
#ifndef SIDECOMB_DSP_QUARTERS_H
#define SIDECOMB_DSP_QUARTERS_H

#include <stddef.h>

#include <sidecomb/error.h>

struct dsp_quarters;
/* n: a multiple of 4 */
enum sc_error dsp_quarters_create(size_t n, struct dsp_quarters **quarters);
/* n complex values, real and imaginary part in turn; input stays as it is. */
float *dsp_quarters_input(struct dsp_quarters *quarters);
float *dsp_quarters_output(struct dsp_quarters *quarters);
/* Forward, not scaled. */
void dsp_quarters_run(struct dsp_quarters *quarters);
void dsp_quarters_destroy(struct dsp_quarters *quarters);

#endif
