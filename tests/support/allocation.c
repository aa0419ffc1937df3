/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* An allocator that fails when told to: the linker sends calls of X to __wrap_X, and __real_X to
 * the library. */
#include "support/allocation.h"

#include <check.h>

static struct {
  bool on, reached;
  size_t failing, asked;
  long held;
} watch;

void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__real_realloc(void *block, size_t size);
void __real_free(void *block);
void *__real_fftw_malloc(size_t size);
void *__real_fftwf_malloc(size_t size);
void __real_fftw_free(void *block);
void __real_fftwf_free(void *block);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_realloc(void *block, size_t size);
void __wrap_free(void *block);
void *__wrap_fftw_malloc(size_t size);
void *__wrap_fftwf_malloc(size_t size);
void __wrap_fftw_free(void *block);
void __wrap_fftwf_free(void *block);

static bool refused(void)
{
  if (!watch.on)
    return false;
  bool now = ++watch.asked == watch.failing;
  watch.reached = watch.reached || now;
  return now;
}

static void *counted(void *block)
{
  watch.held += watch.on && block;
  return block;
}

static void *returned(void *block)
{
  watch.held -= watch.on && block;
  return block;
}

void *__wrap_malloc(size_t size)
{
  return refused() ? NULL : counted(__real_malloc(size));
}

void *__wrap_calloc(size_t count, size_t size)
{
  return refused() ? NULL : counted(__real_calloc(count, size));
}

void *__wrap_realloc(void *block, size_t size)
{
  if (refused())
    return NULL;
  void *moved = __real_realloc(block, size);
  return block ? moved : counted(moved);
}

void __wrap_free(void *block)
{
  __real_free(returned(block));
}

void *__wrap_fftw_malloc(size_t size)
{
  return refused() ? NULL : counted(__real_fftw_malloc(size));
}

void *__wrap_fftwf_malloc(size_t size)
{
  return refused() ? NULL : counted(__real_fftwf_malloc(size));
}

void __wrap_fftw_free(void *block)
{
  __real_fftw_free(returned(block));
}

void __wrap_fftwf_free(void *block)
{
  __real_fftwf_free(returned(block));
}

void support_watch_allocations(size_t failing)
{
  watch.on = true;
  watch.reached = false;
  watch.failing = failing;
  watch.asked = 0;
  watch.held = 0;
}

bool support_end_watch(size_t *asked, long *held)
{
  watch.on = false;
  if (asked)
    *asked = watch.asked;
  if (held)
    *held = watch.held;
  return watch.reached;
}

size_t support_fail_each_allocation(bool (*attempt)(void *context), void *context)
{
  for (size_t failing = 1;; failing++) {
    long held;
    support_watch_allocations(failing);
    bool success = attempt(context);
    bool reached = support_end_watch(NULL, &held);
    ck_assert_msg(held == 0, "%ld blocks left when allocation %zu failed", held, failing);
    ck_assert_msg(success == !reached, "allocation %zu %s, and the call %s", failing,
                  reached ? "failed" : "was not reached", success ? "succeeded" : "failed");
    if (success)
      return failing - 1;
  }
}
