/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Reads SigMF metadata. The text is foreign: every value is checked for its type and its
 * range, and every string is cleaned. */
#include <config.h>

#include <inttypes.h>
#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "capture/datetime.h"
#include "capture/sigmf.h"
#include "capture/sigmf_tuning.h"
#include "common/text.h"

enum { CHANNELS_MAX = 64 };

/* What every step needs to complain. */
struct place {
  const char *shown; /* the file */
  const char *list;  /* "global", "captures", "annotations" */
  size_t index;      /* in a list */
  struct sc_message *message;
};

static enum sc_error complain(const struct place *place, const char *key, const char *wanted)
{
  if (strcmp(place->list, "global") == 0)
    return sc_fail(place->message, SC_BAD_FORMAT, "%s: %s in global must be %s", place->shown, key,
                   wanted);
  return sc_fail(place->message, SC_BAD_FORMAT, "%s: %s in %s[%zu] must be %s", place->shown, key,
                 place->list, place->index, wanted);
}

/* A number that is absent leaves *value as it is. */
static enum sc_error get_number(const json_t *object, const char *key, double *value,
                                const struct place *place)
{
  const json_t *found = json_object_get(object, key);
  if (found == NULL || json_is_null(found))
    return SC_OK;
  if (!json_is_number(found) || !isfinite(json_number_value(found)))
    return complain(place, key, "a number");
  *value = json_number_value(found);
  return SC_OK;
}

/* Whole numbers up to 2^53; some writers put them as 1e6 or 0.0. */
static enum sc_error get_count(const json_t *object, const char *key, uint64_t *value,
                               const struct place *place)
{
  double number = (double)*value;
  enum sc_error error = get_number(object, key, &number, place);
  if (error != SC_OK)
    return error;
  if (number < 0 || number > 0x1p53 || number != floor(number))
    return complain(place, key, "a whole number, 0 or more");
  *value = (uint64_t)number;
  return SC_OK;
}

static const char *get_text(const json_t *object, const char *key)
{
  return json_string_value(json_object_get(object, key));
}

static enum sc_error get_type(const json_t *global, struct capture_sigmf *sigmf,
                              const struct place *place)
{
  const char *name = get_text(global, "core:datatype");
  if (name == NULL)
    return complain(place, "core:datatype",
                    "there, as a string: without it the samples cannot "
                    "be read");
  sigmf->type = capture_type_find(name);
  if (sigmf->type != NULL)
    return SC_OK;
  (void)capture_type_refuse(place->shown, name, place->message);
  return SC_BAD_FORMAT;
}

/* The name of a data file beside the metadata: no path, so that metadata cannot reach out. */
static enum sc_error get_dataset(const json_t *global, struct capture_sigmf *sigmf,
                                 const struct place *place)
{
  const char *name = get_text(global, "core:dataset");
  if (name == NULL)
    return SC_OK;
  size_t length = strlen(name);
  if (length == 0 || length >= sizeof sigmf->dataset || strchr(name, '/') != NULL ||
      strcmp(name, "..") == 0)
    return complain(place, "core:dataset", "the name of a file in the same folder");
  memcpy(sigmf->dataset, name, length + 1);
  return SC_OK;
}

static enum sc_error get_global(const json_t *root, struct capture_sigmf *sigmf,
                                const struct place *place)
{
  const json_t *global = json_object_get(root, "global");
  uint64_t channels = 1;
  if (!json_is_object(global))
    return sc_fail(place->message, SC_BAD_FORMAT,
                   "%s: has no \"global\" object: is it SigMF metadata?", place->shown);
  enum sc_error error = get_type(global, sigmf, place);
  if (error == SC_OK)
    error = get_number(global, "core:sample_rate", &sigmf->rate_hz, place);
  if (error == SC_OK && json_object_get(global, "core:sample_rate") != NULL &&
      !(sigmf->rate_hz > 0 && sigmf->rate_hz <= 1e12))
    error = complain(place, "core:sample_rate", "above 0 and at most 1e12");
  if (error == SC_OK)
    error = get_count(global, "core:num_channels", &channels, place);
  if (error == SC_OK && (channels < 1 || channels > CHANNELS_MAX))
    error = complain(place, "core:num_channels", "from 1 to 64");
  if (error == SC_OK)
    error = get_count(global, "core:offset", &sigmf->offset, place);
  if (error == SC_OK)
    error = get_count(global, "core:trailing_bytes", &sigmf->trailing_bytes, place);
  if (error == SC_OK)
    error = get_dataset(global, sigmf, place);
  sigmf->channels = (unsigned)channels;
  sigmf->metadata_only = json_is_true(json_object_get(global, "core:metadata_only"));
  return error;
}

/* Index of an entry's first frame in the data file. */
static enum sc_error get_start(const json_t *entry, const struct capture_sigmf *sigmf,
                               uint64_t *first, const struct place *place)
{
  uint64_t start = sigmf->offset;
  enum sc_error error = get_count(entry, "core:sample_start", &start, place);
  if (error != SC_OK)
    return error;
  if (start < sigmf->offset)
    return complain(place, "core:sample_start", "at least core:offset");
  *first = start - sigmf->offset;
  return SC_OK;
}

/* Where the entry's first frame stands in its stream, and when it was taken; a text that is no
 * time is left out. */
static enum sc_error get_origin(const json_t *entry, struct capture_segment *segment,
                                const struct place *place)
{
  double index = -1;
  enum sc_error error = get_number(entry, "core:global_index", &index, place);
  segment->indexed = index >= 0 && index <= 0x1p53;
  segment->global_index = segment->indexed ? (uint64_t)index : 0;
  const char *time = get_text(entry, "core:datetime");
  if (time != NULL)
    (void)capture_datetime_move(time, 0, segment->datetime);
  return error;
}

/* One more, unless it is the last one's. */
static enum sc_error keep_tuning(struct capture_sigmf *sigmf, const struct sc_tuning *tuning,
                                 struct capture_segment *segment, const struct place *place)
{
  const size_t count = sigmf->tuning_count;
  if (count > 0 && capture_tuning_same(&sigmf->tunings[count - 1], tuning)) {
    segment->tuning = count;
    return SC_OK;
  }
  if (count == CAPTURE_TUNINGS_MAX) {
    sigmf->tunings_dropped++;
    return SC_OK;
  }
  struct sc_tuning *more = realloc(sigmf->tunings, (count + 1) * sizeof *more);
  if (more == NULL)
    return sc_fail(place->message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  sigmf->tunings = more;
  more[count] = *tuning;
  segment->tuning = ++sigmf->tuning_count;
  return SC_OK;
}

/* Settings are a help, not the measurement, as annotations are. */
static enum sc_error get_tuning(const json_t *entry, struct capture_sigmf *sigmf,
                                struct capture_segment *segment, const struct place *place)
{
  struct sc_tuning tuning;
  capture_tuning_get(entry, &tuning, &sigmf->tunings_dropped);
  segment->tuning = 0;
  return capture_tuning_known(&tuning) ? keep_tuning(sigmf, &tuning, segment, place) : SC_OK;
}

/* One entry of "captures". */
static enum sc_error get_segment(const json_t *entry, struct capture_sigmf *sigmf,
                                 struct capture_segment *segment, const struct place *place)
{
  if (!json_is_object(entry))
    return complain(place, "the entry", "an object");
  enum sc_error error = get_start(entry, sigmf, &segment->first, place);
  if (error == SC_OK)
    error = get_number(entry, "core:frequency", &segment->centre_hz, place);
  if (error == SC_OK && fabs(segment->centre_hz) > 1e12)
    error = complain(place, "core:frequency", "from -1e12 to 1e12");
  if (error == SC_OK)
    error = get_count(entry, "core:header_bytes", &segment->offset_bytes, place);
  if (error == SC_OK)
    error = get_origin(entry, segment, place);
  if (error == SC_OK)
    error = get_tuning(entry, sigmf, segment, place);
  return error;
}

/* A capture that begins later than the data leaves a first stretch of which nothing is said. */
static void insert_start(struct capture_sigmf *sigmf)
{
  if (sigmf->segment_count > 0 && sigmf->segments[0].first == 0)
    return;
  memmove(sigmf->segments + 1, sigmf->segments, sigmf->segment_count * sizeof *sigmf->segments);
  sigmf->segments[0] = (struct capture_segment){0};
  sigmf->segment_count++;
}

static enum sc_error get_segments(const json_t *root, struct capture_sigmf *sigmf,
                                  struct place *place)
{
  const json_t *list = json_object_get(root, "captures");
  size_t count = json_array_size(list);
  if (list != NULL && !json_is_array(list))
    return sc_fail(place->message, SC_BAD_FORMAT, "%s: \"captures\" must be an array",
                   place->shown);
  sigmf->segments = calloc(count + 1, sizeof *sigmf->segments);
  if (sigmf->segments == NULL)
    return sc_fail(place->message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  place->list = "captures";
  for (size_t i = 0; i < count; i++) {
    struct capture_segment *segment = &sigmf->segments[i];
    place->index = i;
    enum sc_error error = get_segment(json_array_get(list, i), sigmf, segment, place);
    if (error == SC_OK && i > 0 && segment->first <= segment[-1].first)
      error = complain(place, "core:sample_start", "behind that of the entry before");
    if (error != SC_OK)
      return error;
    segment->follows =
        i > 0 && segment->indexed && segment[-1].indexed &&
        segment->global_index - segment[-1].global_index == segment->first - segment[-1].first;
  }
  sigmf->segment_count = count;
  insert_start(sigmf);
  return SC_OK;
}

/* "label (comment)", or the one of them that is there. */
static void get_words(const json_t *entry, struct sc_annotation *annotation)
{
  char text[512];
  const char *label = get_text(entry, "core:label");
  const char *comment = get_text(entry, "core:comment");
  if (label == NULL)
    label = get_text(entry, "core:description"); /* its name before version 1 */
  if (label != NULL && comment != NULL)
    (void)snprintf(text, sizeof text, "%s (%s)", label, comment);
  else
    (void)snprintf(text, sizeof text, "%s", label != NULL ? label : comment != NULL ? comment : "");
  (void)common_clean(annotation->text, sizeof annotation->text, text, strlen(text));
}

/* False when the entry's indices say nothing usable. Annotations are a help, not the
 * measurement: a broken one is left out and counted. */
static bool get_annotation(const json_t *entry, const struct capture_sigmf *sigmf,
                           struct sc_annotation *annotation)
{
  struct place quiet = {"", "annotations", 0, NULL};
  *annotation = (struct sc_annotation){.lower_hz = (double)NAN, .upper_hz = (double)NAN};
  if (!json_is_object(entry) || get_start(entry, sigmf, &annotation->first, &quiet) != SC_OK ||
      get_count(entry, "core:sample_count", &annotation->frames, &quiet) != SC_OK ||
      get_number(entry, "core:freq_lower_edge", &annotation->lower_hz, &quiet) != SC_OK ||
      get_number(entry, "core:freq_upper_edge", &annotation->upper_hz, &quiet) != SC_OK)
    return false;
  get_words(entry, annotation);
  return true;
}

static enum sc_error get_annotations(const json_t *root, struct capture_sigmf *sigmf,
                                     const struct place *place)
{
  const json_t *list = json_object_get(root, "annotations");
  size_t count = json_array_size(list);
  size_t kept = count < CAPTURE_ANNOTATIONS_MAX ? count : CAPTURE_ANNOTATIONS_MAX;
  if (kept == 0)
    return SC_OK;
  sigmf->annotations = calloc(kept, sizeof *sigmf->annotations);
  if (sigmf->annotations == NULL)
    return sc_fail(place->message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  for (size_t i = 0; i < kept; i++)
    if (get_annotation(json_array_get(list, i), sigmf,
                       &sigmf->annotations[sigmf->annotation_count]))
      sigmf->annotation_count++;
  sigmf->annotations_dropped = count - sigmf->annotation_count;
  return SC_OK;
}

/* White space of JSON (RFC 8259, section 2) and nothing else. */
static bool is_blank(const char *text, size_t length)
{
  size_t i = 0;
  while (i < length && text[i] != 0 && strchr(" \t\r\n", text[i]) != NULL)
    i++;
  return i == length;
}

enum sc_error capture_sigmf_parse(const char *text, size_t length, const char *shown,
                                  struct capture_sigmf *sigmf, struct sc_message *message)
{
  json_error_t where;
  struct place place = {shown, "global", 0, message};
  *sigmf = (struct capture_sigmf){0};
  static const char mark[] = "\xef\xbb\xbf"; /* of UTF-8: may be ignored (RFC 8259, section 8.1) */
  const size_t skipped = length >= 3 && memcmp(text, mark, 3) == 0 ? 3 : 0;
  if (is_blank(text + skipped, length - skipped))
    return sc_fail(message, SC_BAD_FORMAT, "%s: the file is empty", shown);
  json_t *root =
      json_loadb(text + skipped, length - skipped, JSON_REJECT_DUPLICATES | JSON_ALLOW_NUL, &where);
  if (root == NULL)
    return sc_fail(message, SC_BAD_FORMAT, "%s: line %d, column %d: %s", shown, where.line,
                   where.column, where.text);
  enum sc_error error = get_global(root, sigmf, &place);
  if (error == SC_OK)
    error = get_segments(root, sigmf, &place);
  if (error == SC_OK)
    error = get_annotations(root, sigmf, &place);
  json_decref(root);
  if (error != SC_OK)
    capture_sigmf_clear(sigmf);
  return error;
}

void capture_sigmf_clear(struct capture_sigmf *sigmf)
{
  free(sigmf->segments);
  free(sigmf->annotations);
  free(sigmf->tunings);
  sigmf->segments = NULL;
  sigmf->annotations = NULL;
  sigmf->tunings = NULL;
}
