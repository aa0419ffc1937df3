/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* An allocator that fails when told to. A program that is linked with $(WRAP_ALLOCATORS) has its
 * calls of malloc, calloc, realloc, free and FFTW's own pair counted here. */
#ifndef SIDECOMB_TESTS_SUPPORT_ALLOCATION_H
#define SIDECOMB_TESTS_SUPPORT_ALLOCATION_H

#include <stdbool.h>
#include <stddef.h>

/* Starts counting; the n-th allocation from now on fails, n from 1. 0: none does. */
void support_watch_allocations(size_t failing);

/* Ends it. Since the start: allocations asked for, blocks neither freed nor handed out
 * before (NULL: not wanted). Returns true when the failing one was reached. */
bool support_end_watch(size_t *asked, long *held);

/* Calls `attempt` with the first allocation failing, then the second, and so on until it succeeds
 * with none failing. `attempt` returns true on success after having given back all it made.
 * Returns how many failures it survived; stops the test when a block is left over. */
size_t support_fail_each_allocation(bool (*attempt)(void *context), void *context);

#endif
