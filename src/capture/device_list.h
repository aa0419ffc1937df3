/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A list of devices that grows. */
#ifndef SIDECOMB_CAPTURE_DEVICE_LIST_H
#define SIDECOMB_CAPTURE_DEVICE_LIST_H

#include <sidecomb/devices.h>

/* An empty entry at the end, its name cleaned; NULL: memory is out. Valid until the next one. */
struct sc_device *capture_device_add(struct sc_devices *devices, enum sc_device_class device_class,
                                     const char *name);

#endif
