/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* How the hot loops ask for versions of themselves for the processor at hand. */
#ifndef SIDECOMB_DSP_SIMD_H
#define SIDECOMB_DSP_SIMD_H

#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

/* Vectorised whatever -O the build asks for: -O2 costs the mixer four fifths of its speed. */
#if defined(__GNUC__) && !defined(__clang__) && defined(SC_MULTIVERSION)
#define DSP_HOT __attribute__((optimize("O3")))
#else
#define DSP_HOT
#endif

/* The loader picks the widest version that the processor runs. */
#ifdef SC_MULTIVERSION
#define DSP_CLONES DSP_HOT __attribute__((target_clones("default", "avx2", "arch=x86-64-v4")))
#else
#define DSP_CLONES
#endif

/* Before a loop whose input and output are the same array or do not overlap at all. Under
 * sanitizers no such loop is vectorised, and clang would warn of it. */
#if defined(__clang__) && defined(SC_SANITIZED)
#define DSP_ELEMENTWISE
#elif defined(__clang__)
#define DSP_ELEMENTWISE _Pragma("clang loop vectorize(assume_safety)")
#elif defined(__GNUC__)
#define DSP_ELEMENTWISE _Pragma("GCC ivdep")
#else
#define DSP_ELEMENTWISE
#endif

#endif
