/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A recording that knows what is read into it. */
#ifndef SIDECOMB_CAPTURE_RECORD_H
#define SIDECOMB_CAPTURE_RECORD_H

#include <sidecomb/record.h>

#include "capture/container.h"

/* sc_record_create, which also refuses to write over a file that `read` reads (SC_BAD_ARGUMENT). */
enum sc_error capture_record_create(const struct sc_source_info *info,
                                    const struct sc_record_settings *settings,
                                    const struct capture *read, struct sc_recorder **recorder,
                                    struct sc_message *message);

#endif
