/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* How a kind of baseband plugs into the common calls. */
#ifndef SIDECOMB_SIGNAL_BASEBAND_TYPES_H
#define SIDECOMB_SIGNAL_BASEBAND_TYPES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "signal/baseband.h"

struct signal_baseband_calls {
  bool real; /* z has no imaginary part */
  void (*start)(struct signal_baseband *, int64_t index);
  void (*run)(struct signal_baseband *, double *re, double *im, size_t count);
  void (*destroy)(struct signal_baseband *);
};

/* First member of every kind. */
struct signal_baseband {
  const struct signal_baseband_calls *calls;
};

#endif
