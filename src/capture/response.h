/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The file that --response names: the measured response of a sound card's input. */
#ifndef SIDECOMB_CAPTURE_RESPONSE_H
#define SIDECOMB_CAPTURE_RESPONSE_H

#include <stddef.h>

#include <sidecomb/error.h>

#include "dsp/correction.h"

/* More cannot be undone without raising noise to the level of the signal. */
#define CAPTURE_RESPONSE_GAIN_MAX_DB 40.0
enum { CAPTURE_RESPONSE_POINTS_MAX = 100000 };

/* Lines of "frequency_hz gain_db phase_deg" with ascending frequencies, separated by blanks;
 * '#' begins a comment, empty lines are skipped, numbers have a decimal point whatever the
 * locale. *points is to be freed by the caller. Messages name the file and the line. */
enum sc_error capture_response_read(const char *path, struct dsp_response_point **points,
                                    size_t *count, struct sc_message *message);

#endif
