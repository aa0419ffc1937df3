/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Mark of a hot loop that the compiler builds once per CPU level; the loader picks one. */
#ifndef SIDECOMB_COMMON_KERNEL_H
#define SIDECOMB_COMMON_KERNEL_H

#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

/* GCC turns loops of unknown length into vectors at -O3 only, and a makefile's -O3 loses against
 * the -O2 of the user's CFLAGS: half the speed and less. */
#if defined(__GNUC__) && !defined(__clang__)
#define SC_KERNEL_LEVEL __attribute__((optimize("O3")))
#else
#define SC_KERNEL_LEVEL
#endif

#ifdef SC_MULTIVERSION
#define SC_KERNEL                                                                                  \
  SC_KERNEL_LEVEL __attribute__((target_clones("default", "avx2", "arch=x86-64-v4")))
#else
#define SC_KERNEL
#endif

#endif
