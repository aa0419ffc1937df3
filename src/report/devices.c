/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The list of devices, as text and as JSON. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <stdlib.h>
#include <string.h>

#include <sidecomb/devices.h>

#include "report/buffer.h"
#include "report/json_write.h"
#include "report/layout.h"

enum { WIDTH_DEFAULT = 80, WIDTH_LEAST = 40, LABEL_COLUMNS = 13, RATE_DECIMALS = 3 };

static const char *const class_names[] = {"sound", "receiver"};

/* ---- text */

static void wrap_row(struct report_buffer *out, const char *label, struct report_buffer *row,
                     unsigned width)
{
  char *text = report_take(row);
  if (text == NULL)
    return; /* nothing to say */
  report_add(out, "  ");
  report_left(out, label, LABEL_COLUMNS - 2);
  report_wrap(out, text, LABEL_COLUMNS, LABEL_COLUMNS, width);
  free(text);
}

static void add_range(struct report_buffer *out, const struct sc_device_range *range, double unit)
{
  report_add(out, "%.10g", range->least / unit);
  if (range->most > range->least)
    report_add(out, " to %.10g", range->most / unit);
}

static void add_ranges(struct report_buffer *out, const struct sc_device_ranges *ranges,
                       double unit, const char *name)
{
  for (size_t i = 0; i < ranges->count; i++) {
    report_add(out, "%s", i == 0 ? "" : ", ");
    add_range(out, &ranges->range[i], unit);
  }
  if (ranges->count > 0)
    report_add(out, " %s", name);
}

static void add_gains(struct report_buffer *out, const struct sc_device *device)
{
  for (size_t i = 0; i < device->gains.count; i++) {
    report_add(out, "%s%s ", i == 0 ? "" : ", ", device->gains.name[i]);
    add_range(out, &device->gains_db.range[i], 1);
  }
  if (device->gains.count > 0)
    report_add(out, " dB");
}

static void add_names(struct report_buffer *out, const struct sc_device_names *names)
{
  for (size_t i = 0; i < names->count; i++)
    report_add(out, "%s%s", i == 0 ? "" : ", ", names->name[i]);
}

static void add_channels(struct report_buffer *out, const struct sc_device *device)
{
  if (device->channels_most == 0)
    return;
  report_add(out, "%u", device->channels_least);
  if (device->channels_most > device->channels_least)
    report_add(out, " to %u", device->channels_most);
}

/* As a shell takes it: what it would divide or change stands in quotes. */
static void add_word(struct report_buffer *out, const char *word)
{
  static const char plain[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789"
                              "_-+=:,./@%";
  if (word[strspn(word, plain)] == 0) {
    report_add(out, "%s", word);
    return;
  }
  report_add(out, "'");
  for (; *word != 0; word++)
    if (*word == '\'')
      report_add(out, "'\\''");
    else
      report_add(out, "%c", *word);
  report_add(out, "'");
}

static void describe(struct report_buffer *out, const struct sc_device *device, unsigned width)
{
  struct report_buffer row = {0};
  report_add(out, "--%s ", class_names[device->device_class]);
  add_word(out, device->name);
  report_add(out, "\n");
  if (device->description[0] != 0)
    report_add(&row, "%s", device->description);
  wrap_row(out, "", &row, width);
  if (device->why[0] != 0)
    report_add(&row, "could not be asked: %s", device->why);
  wrap_row(out, "", &row, width);
  add_ranges(&row, &device->tune_hz, 1e6, "MHz");
  wrap_row(out, "tunes to", &row, width);
  add_ranges(&row, &device->rates_hz, 1e3, "kHz");
  wrap_row(out, "rates", &row, width);
  add_ranges(&row, &device->bandwidths_hz, 1e3, "kHz");
  wrap_row(out, "bandwidths", &row, width);
  add_gains(&row, device);
  wrap_row(out, "gains", &row, width);
  add_names(&row, &device->antennas);
  wrap_row(out, "antennas", &row, width);
  if (device->corrects_frequency)
    report_add(&row, "corrects its frequency (--ppm)");
  wrap_row(out, "", &row, width);
  add_channels(&row, device);
  wrap_row(out, "channels", &row, width);
  add_names(&row, &device->formats);
  wrap_row(out, "formats", &row, width);
  out->failed = out->failed || row.failed;
}

enum sc_error sc_devices_text(const struct sc_devices *devices, unsigned width, bool utf8,
                              char **text)
{
  struct report_buffer out = {0};
  width = width == 0 ? WIDTH_DEFAULT : width < WIDTH_LEAST ? WIDTH_LEAST : width;
  for (size_t i = 0; i < devices->count; i++)
    describe(&out, &devices->device[i], width);
  if (devices->count == 0)
    report_add(&out, "No device was found.\n");
  if (!devices->sound_built)
    report_add(&out, "This build knows no sound cards: build it where libasound is.\n");
  if (!devices->receivers_built)
    report_add(&out, "This build knows no receivers: build it where SoapySDR is.\n");
  *text = report_take(&out);
  if (*text != NULL && !utf8)
    report_to_ascii(*text);
  return *text == NULL ? SC_NO_MEMORY : SC_OK;
}

/* ---- JSON */

static json_t *json_of_ranges(struct report_json *json, const struct sc_device_ranges *ranges)
{
  json_t *array = json_array();
  for (size_t i = 0; i < ranges->count; i++) {
    json_t *pair = json_array();
    report_json_append(json, pair, report_json_number(ranges->range[i].least, RATE_DECIMALS));
    report_json_append(json, pair, report_json_number(ranges->range[i].most, RATE_DECIMALS));
    report_json_append(json, array, pair);
  }
  return array;
}

static json_t *json_of_names(struct report_json *json, const struct sc_device_names *names)
{
  json_t *array = json_array();
  for (size_t i = 0; i < names->count; i++)
    report_json_append(json, array, report_json_text(names->name[i]));
  return array;
}

static json_t *json_of(struct report_json *json, const struct sc_device *device)
{
  json_t *object = json_object();
  report_json_put(json, object, "class", report_json_text(class_names[device->device_class]));
  report_json_put(json, object, "name", report_json_text(device->name));
  report_json_put(json, object, "description", report_json_text(device->description));
  if (device->why[0] != 0)
    report_json_put(json, object, "why", report_json_text(device->why));
  report_json_put(json, object, "rates_hz", json_of_ranges(json, &device->rates_hz));
  if (device->device_class == SC_DEVICE_SOUND) {
    report_json_put(json, object, "channels_least", json_integer(device->channels_least));
    report_json_put(json, object, "channels_most", json_integer(device->channels_most));
    report_json_put(json, object, "formats", json_of_names(json, &device->formats));
    return object;
  }
  report_json_put(json, object, "tune_hz", json_of_ranges(json, &device->tune_hz));
  report_json_put(json, object, "bandwidths_hz", json_of_ranges(json, &device->bandwidths_hz));
  report_json_put(json, object, "gains", json_of_names(json, &device->gains));
  report_json_put(json, object, "gains_db", json_of_ranges(json, &device->gains_db));
  report_json_put(json, object, "antennas", json_of_names(json, &device->antennas));
  report_json_put(json, object, "corrects_frequency", json_boolean(device->corrects_frequency));
  return object;
}

enum sc_error sc_devices_json(const struct sc_devices *devices, char **text)
{
  struct report_json json = {.failed = false};
  json_t *root = json_object(), *list = json_array();
  report_json_put(&json, root, "schema", json_string("sidecomb-devices/1"));
  for (size_t i = 0; i < devices->count; i++)
    report_json_append(&json, list, json_of(&json, &devices->device[i]));
  report_json_put(&json, root, "devices", list);
  report_json_put(&json, root, "sound_built", json_boolean(devices->sound_built));
  report_json_put(&json, root, "receivers_built", json_boolean(devices->receivers_built));
  *text = report_json_finish(&json, root);
  return *text == NULL ? SC_NO_MEMORY : SC_OK;
}
