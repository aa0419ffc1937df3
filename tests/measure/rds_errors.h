/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Counts the demodulator's wrong bits against those that were sent. */
#ifndef SIDECOMB_TESTS_MEASURE_RDS_ERRORS_H
#define SIDECOMB_TESTS_MEASURE_RDS_ERRORS_H

#include "measure/rds_signal.h"

struct rds_errors {
  double bits, wrong; /* after differential decoding */
};

/* Of a signal of random bits, about `bits` of them, in records of 100 s with other seeds. */
struct rds_errors rds_errors_count(const struct rds_signal *signal, double bits);

#endif
