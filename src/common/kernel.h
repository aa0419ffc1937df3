/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Mark of a hot loop that the compiler builds once per CPU level; the loader picks one. */
#ifndef SIDECOMB_COMMON_KERNEL_H
#define SIDECOMB_COMMON_KERNEL_H

#ifdef SC_MULTIVERSION
#define SC_KERNEL __attribute__((target_clones("default", "avx2", "arch=x86-64-v4")))
#else
#define SC_KERNEL
#endif

#endif
