/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* SigMF metadata, written with the keys that our own reader reads. */
#include <config.h>

#include "capture/write_sigmf.h"

#include "capture/sigmf_tuning.h"

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* What is to come in a recording with all its gaps and marks (record.c), some 150 and 200 bytes
 * each, and with a receiver's settings in each mark, 1500 bytes for the longest names. */
enum { RESERVED_BYTES = 1 << 17, RESERVED_TUNED_BYTES = 1 << 20 };

/* Whole numbers without a decimal point. */
static json_t *number(double value)
{
  if (value == rint(value) && fabs(value) < 0x1p53)
    return json_integer((json_int_t)value);
  return json_real(value);
}

static bool is_tuned(const struct capture_write_settings *settings)
{
  for (size_t i = 0; i < settings->mark_count; i++)
    if (capture_tuning_known(&settings->marks[i].tuned))
      return true;
  return false;
}

static json_t *global_object(const struct capture_write_settings *settings)
{
  json_t *global = json_object();
  int failed = json_object_set_new(global, "core:datatype", json_string(settings->type));
  failed |= json_object_set_new(global, "core:sample_rate", number(settings->rate_hz));
  failed |= json_object_set_new(global, "core:version", json_string("1.0.0"));
  if (settings->channels > 1)
    failed |= json_object_set_new(global, "core:num_channels", json_integer(settings->channels));
  if (settings->description != NULL)
    failed |= json_object_set_new(global, "core:description", json_string(settings->description));
  if (settings->hardware != NULL)
    failed |= json_object_set_new(global, "core:hw", json_string(settings->hardware));
  if (is_tuned(settings))
    failed |= json_object_set_new(global, "core:extensions", capture_tuning_extensions());
  if (failed == 0)
    return global;
  json_decref(global);
  return NULL;
}

static json_t *capture_object(const struct capture_mark *mark)
{
  json_t *capture = json_object();
  int failed =
      json_object_set_new(capture, "core:sample_start", json_integer((json_int_t)mark->first));
  if (mark->centre_hz != 0) /* exact: not given */
    failed |= json_object_set_new(capture, "core:frequency", number(mark->centre_hz));
  if (mark->datetime[0] != '\0')
    failed |= json_object_set_new(capture, "core:datetime", json_string(mark->datetime));
  if (mark->indexed)
    failed |= json_object_set_new(capture, "core:global_index",
                                  json_integer((json_int_t)mark->global_index));
  failed |= capture_tuning_put(capture, &mark->tuned);
  if (failed == 0)
    return capture;
  json_decref(capture);
  return NULL;
}

static json_t *captures_array(const struct capture_write_settings *settings)
{
  const struct capture_mark start = {.centre_hz = settings->centre_hz};
  json_t *captures = json_array();
  int failed = 0;
  if (settings->mark_count == 0)
    failed = json_array_append_new(captures, capture_object(&start));
  for (size_t i = 0; i < settings->mark_count; i++)
    failed |= json_array_append_new(captures, capture_object(&settings->marks[i]));
  if (failed == 0)
    return captures;
  json_decref(captures);
  return NULL;
}

static json_t *annotation_object(const struct sc_annotation *annotation)
{
  json_t *object = json_object();
  int failed =
      json_object_set_new(object, "core:sample_start", json_integer((json_int_t)annotation->first));
  if (annotation->frames > 0)
    failed |= json_object_set_new(object, "core:sample_count",
                                  json_integer((json_int_t)annotation->frames));
  if (isfinite(annotation->lower_hz) && isfinite(annotation->upper_hz)) {
    failed |= json_object_set_new(object, "core:freq_lower_edge", number(annotation->lower_hz));
    failed |= json_object_set_new(object, "core:freq_upper_edge", number(annotation->upper_hz));
  }
  failed |= json_object_set_new(object, "core:label", json_string(annotation->text));
  if (failed == 0)
    return object;
  json_decref(object);
  return NULL;
}

static json_t *annotations_array(const struct capture_write_settings *settings)
{
  json_t *annotations = json_array();
  int failed = 0;
  for (size_t i = 0; i < settings->annotation_count; i++)
    failed |= json_array_append_new(annotations, annotation_object(&settings->annotations[i]));
  if (failed == 0)
    return annotations;
  json_decref(annotations);
  return NULL;
}

static json_t *root_object(const struct capture_write_settings *settings)
{
  json_t *root = json_object();
  int failed = json_object_set_new(root, "global", global_object(settings));
  failed |= json_object_set_new(root, "captures", captures_array(settings));
  failed |= json_object_set_new(root, "annotations", annotations_array(settings));
  if (failed == 0)
    return root;
  json_decref(root);
  return NULL;
}

int capture_write_meta(const struct capture_write_settings *settings, const char *path)
{
  json_t *root = root_object(settings);
  int failed = root == NULL ? -1 : json_dump_file(root, path, JSON_INDENT(2));
  json_decref(root);
  return failed == 0 ? 0 : -1;
}

/* The text, and blanks behind it: `spare` bytes, or a little more. */
static int put_text(FILE *file, const struct capture_write_settings *settings, size_t spare)
{
  static const char blanks[] = "                                                               \n";
  json_t *root = root_object(settings);
  char *text = root == NULL ? NULL : json_dumps(root, JSON_INDENT(2));
  json_decref(root);
  if (text == NULL)
    return -1;
  size_t length = strlen(text);
  int failed = fwrite(text, 1, length, file) == length ? 0 : -1;
  free(text);
  for (size_t put = 0; failed == 0 && put < spare; put += sizeof blanks - 1)
    failed = fwrite(blanks, 1, sizeof blanks - 1, file) == sizeof blanks - 1 ? 0 : -1;
  return fflush(file) == 0 ? failed : -1;
}

int capture_reserve_meta(const struct capture_write_settings *settings, const char *path)
{
  FILE *file = fopen(path, settings->keep ? "wbx" : "wb");
  if (file == NULL)
    return -1;
  int failed = put_text(file, settings, is_tuned(settings) ? RESERVED_TUNED_BYTES : RESERVED_BYTES);
  return fclose(file) == 0 ? failed : -1;
}

int capture_complete_meta(const struct capture_write_settings *settings, const char *path)
{
  FILE *file = fopen(path, "r+b");
  if (file == NULL)
    return -1;
  int failed = put_text(file, settings, 0);
  if (failed == 0)
    failed = ftruncate(fileno(file), ftello(file));
  return fclose(file) == 0 ? failed : -1;
}
