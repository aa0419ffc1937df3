/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The list of receivers: each that a driver finds is opened and asked. */
#include <config.h>

#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <SoapySDR/Constants.h>

#include "capture/device_list.h"
#include "capture/receiver.h"
#include "capture/receiver_device.h"
#include "common/text.h"

struct ranges_of {
  SoapySDRRange *(*ask)(const SoapySDRDevice *device, int direction, size_t channel,
                        size_t *length);
  size_t offset; /* in struct sc_device */
};

static const struct ranges_of kinds[] = {
    {SoapySDRDevice_getFrequencyRange, offsetof(struct sc_device, tune_hz)},
    {SoapySDRDevice_getSampleRateRange, offsetof(struct sc_device, rates_hz)},
    {SoapySDRDevice_getBandwidthRange, offsetof(struct sc_device, bandwidths_hz)},
};

static void ask_ranges(const SoapySDRDevice *receiver, const struct ranges_of *kind,
                       struct sc_device *device)
{
  size_t count = 0;
  SoapySDRRange *ranges = kind->ask(receiver, SOAPY_SDR_RX, 0, &count);
  struct sc_device_ranges *out = (void *)((char *)device + kind->offset);
  for (size_t i = 0; i < count && out->count < SC_DEVICE_RANGES_MAX; i++)
    out->range[out->count++] = (struct sc_device_range){ranges[i].minimum, ranges[i].maximum};
  SoapySDR_free(ranges);
}

static void add_name(struct sc_device_names *out, const char *name)
{
  if (out->count < SC_DEVICE_NAMES_MAX)
    (void)common_clean(out->name[out->count++], SC_DEVICE_NAME_LENGTH, name, strlen(name));
}

static void ask_gains(const SoapySDRDevice *receiver, struct sc_device *device)
{
  size_t count = 0;
  char **names = SoapySDRDevice_listGains(receiver, SOAPY_SDR_RX, 0, &count);
  for (size_t i = 0; i < count && i < SC_DEVICE_NAMES_MAX; i++) {
    SoapySDRRange range = SoapySDRDevice_getGainElementRange(receiver, SOAPY_SDR_RX, 0, names[i]);
    add_name(&device->gains, names[i]);
    device->gains_db.range[device->gains_db.count++] =
        (struct sc_device_range){range.minimum, range.maximum};
  }
  SoapySDRStrings_clear(&names, count);
}

static void ask(const SoapySDRDevice *receiver, struct sc_device *device)
{
  for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
    ask_ranges(receiver, &kinds[i], device);
  ask_gains(receiver, device);
  capture_receiver_antennas(receiver, &device->antennas);
  device->corrects_frequency = SoapySDRDevice_hasFrequencyCorrection(receiver, SOAPY_SDR_RX, 0);
}

static enum sc_error look_at(struct sc_devices *devices, const SoapySDRKwargs *found)
{
  char *name = SoapySDRKwargs_toString(found);
  struct sc_device *device =
      capture_device_add(devices, SC_DEVICE_RECEIVER, name == NULL ? "" : name);
  SoapySDR_free(name);
  if (device == NULL)
    return SC_NO_MEMORY;
  const char *label = SoapySDRKwargs_get(found, "label");
  if (label != NULL)
    (void)common_clean(device->description, sizeof device->description, label, strlen(label));
  SoapySDRDevice *receiver = SoapySDRDevice_make(found);
  if (receiver == NULL) {
    capture_receiver_reason(device->why, sizeof device->why);
    return SC_OK;
  }
  ask(receiver, device);
  (void)SoapySDRDevice_unmake(receiver);
  return SC_OK;
}

enum sc_error capture_receiver_find(struct sc_devices *devices)
{
  size_t count = 0;
  enum sc_error error = SC_OK;
  devices->receivers_built = true;
  capture_receiver_hush();
  SoapySDRKwargs *found = SoapySDRDevice_enumerate(NULL, &count);
  for (size_t i = 0; i < count && error == SC_OK; i++)
    error = look_at(devices, &found[i]);
  SoapySDRKwargsList_clear(found, count);
  return error;
}
