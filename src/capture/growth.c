/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The kernel tells of each write to the file and of its closing (inotify(7)). What is told is
 * only taken when all was read, and an event of our own stands for what is still to be read, so
 * that one descriptor over both is readable exactly when a reader need not wait. */
#include <config.h>

#include "capture/growth.h"

#include <errno.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <sys/epoll.h>
#include <sys/eventfd.h>
#include <sys/inotify.h>
#include <sys/stat.h>
#include <unistd.h>

struct capture_growth {
  int file;
  int told, left, both; /* inotify; our own event: more to read; epoll over the two */
  bool closed, removed;
};

/* Takes what the kernel told, in its order: a write after a closing means another writer. */
static void take_told(struct capture_growth *growth)
{
  _Alignas(struct inotify_event) char bytes[4096];
  ssize_t got;
  while ((got = read(growth->told, bytes, sizeof bytes)) > 0)
    for (char *at = bytes; at < bytes + got;) {
      const struct inotify_event *event = (const struct inotify_event *)(void *)at;
      if (event->mask & IN_MODIFY)
        growth->closed = false;
      if (event->mask & (IN_CLOSE_WRITE | IN_IGNORED))
        growth->closed = true;
      at += sizeof *event + event->len;
    }
}

static uint64_t size_now(struct capture_growth *growth)
{
  struct stat status;
  if (fstat(growth->file, &status) != 0)
    return 0;
  growth->removed = status.st_nlink == 0;
  return (uint64_t)status.st_size;
}

/* Whether there is something to return with. */
static bool look(struct capture_growth *growth, uint64_t read, uint64_t wanted, uint64_t *size,
                 enum capture_growth_end *end)
{
  take_told(growth);
  *size = size_now(growth);
  *end = *size >= wanted   ? CAPTURE_GROWTH_GOES_ON
         : growth->closed  ? CAPTURE_GROWTH_CLOSED
         : growth->removed ? CAPTURE_GROWTH_REMOVED
                           : CAPTURE_GROWTH_GOES_ON;
  return *end != CAPTURE_GROWTH_GOES_ON || *size >= wanted || *size < read;
}

uint64_t capture_growth_wait(struct capture_growth *growth, uint64_t read, uint64_t wanted,
                             enum capture_growth_end *end)
{
  struct pollfd wait = {.fd = growth->told, .events = POLLIN};
  uint64_t size;
  while (!look(growth, read, wanted, &size, end))
    (void)poll(&wait, 1, -1);
  return size;
}

static void set_left(const struct capture_growth *growth, bool more)
{
  uint64_t count = 1;
  ssize_t done =
      more ? write(growth->left, &count, sizeof count) : read(growth->left, &count, sizeof count);
  (void)done; /* EAGAIN: it is so already */
}

void capture_growth_read(struct capture_growth *growth, uint64_t wanted)
{
  if (size_now(growth) < wanted) {
    (void)poll(NULL, 0, 1); /* a write is told right after it is seen */
    take_told(growth);
  }
  set_left(growth, size_now(growth) >= wanted || growth->closed || growth->removed);
}

bool capture_growth_ready(struct capture_growth *growth, uint64_t read, uint64_t wanted)
{
  uint64_t size;
  enum capture_growth_end end;
  const bool ready = look(growth, read, wanted, &size, &end);
  set_left(growth, ready); /* what was told has been taken */
  return ready;
}

int capture_growth_descriptor(const struct capture_growth *growth)
{
  return growth->both;
}

static bool join(const struct capture_growth *growth, int descriptor)
{
  struct epoll_event event = {.events = EPOLLIN};
  return epoll_ctl(growth->both, EPOLL_CTL_ADD, descriptor, &event) == 0;
}

enum sc_error capture_growth_open(const char *path, int file, struct capture_growth **out,
                                  struct sc_message *message)
{
  struct capture_growth *growth = calloc(1, sizeof *growth);
  *out = NULL;
  if (growth == NULL)
    return sc_fail(message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  growth->file = file;
  growth->told = inotify_init1(IN_NONBLOCK | IN_CLOEXEC);
  growth->left = eventfd(1, EFD_NONBLOCK | EFD_CLOEXEC);
  growth->both = epoll_create1(EPOLL_CLOEXEC);
  if (growth->told >= 0 && growth->left >= 0 && growth->both >= 0 &&
      inotify_add_watch(growth->told, path, IN_MODIFY | IN_CLOSE_WRITE | IN_ATTRIB) >= 0 &&
      join(growth, growth->told) && join(growth, growth->left)) {
    *out = growth;
    return SC_OK;
  }
  int reason = errno;
  capture_growth_close(growth);
  return sc_fail(message, SC_CANNOT_OPEN, "--follow: the system cannot tell of writes: %s",
                 strerror(reason));
}

void capture_growth_close(struct capture_growth *growth)
{
  if (growth == NULL)
    return;
  const int descriptors[] = {growth->told, growth->left, growth->both};
  for (int i = 0; i < 3; i++)
    if (descriptors[i] >= 0)
      (void)close(descriptors[i]);
  free(growth);
}
