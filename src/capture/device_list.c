/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
#include <config.h>

#include "capture/device_list.h"

#include <stdlib.h>
#include <string.h>

#include "capture/receiver.h"
#include "capture/sound.h"
#include "common/text.h"

struct sc_device *capture_device_add(struct sc_devices *devices, enum sc_device_class device_class,
                                     const char *name)
{
  struct sc_device *grown =
      realloc(devices->device, (devices->count + 1) * sizeof *devices->device);
  if (grown == NULL)
    return NULL;
  devices->device = grown;
  struct sc_device *device = &grown[devices->count++];
  *device = (struct sc_device){.device_class = device_class};
  (void)common_clean(device->name, sizeof device->name, name, strlen(name));
  return device;
}

enum sc_error sc_devices_find(struct sc_devices *devices)
{
  *devices = (struct sc_devices){.count = 0};
  enum sc_error error = capture_sound_find(devices);
  return error == SC_OK ? capture_receiver_find(devices) : error;
}

void sc_devices_clear(struct sc_devices *devices)
{
  free(devices->device);
  *devices = (struct sc_devices){.count = 0};
}
