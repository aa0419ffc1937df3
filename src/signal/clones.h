/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The mark of a kernel that the compiler builds once per kind of CPU. */
#ifndef SIDECOMB_SIGNAL_CLONES_H
#define SIDECOMB_SIGNAL_CLONES_H

#ifdef SC_MULTIVERSION
#define SIGNAL_CLONES __attribute__((target_clones("default", "avx2", "arch=x86-64-v4")))
#else
#define SIGNAL_CLONES
#endif

#endif
