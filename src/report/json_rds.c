/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* RDS lists as JSON. Texts were cleaned when they were decoded. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include "report/json_rds.h"

static bool put(json_t *object, const char *key, json_t *value)
{
  return json_object_set_new(object, key, value) == 0;
}

static json_t *text_or_null(const char *text)
{
  return text != NULL && text[0] != '\0' ? json_string(text) : json_null();
}

static json_t *truth_of(enum sc_truth truth)
{
  return truth == SC_UNKNOWN ? json_null() : json_boolean(truth == SC_YES);
}

static json_t *code_of(unsigned code)
{
  return json_sprintf("%04X", code & 0xffff);
}

static bool put_counts(json_t *object, const struct sc_rds_data *data)
{
  json_t *counts = json_object();
  bool ok = true;
  for (unsigned i = 0; i < SC_RDS_GROUP_TYPES; i++)
    if (data->group_counts[i] > 0)
      ok &= put(counts, sc_rds_group_name(i), json_integer((json_int_t)data->group_counts[i]));
  return put(object, "group_counts", counts) && ok;
}

static json_t *frequencies_of(const double *mhz, size_t count, bool *ok)
{
  json_t *list = json_array();
  for (size_t i = 0; i < count; i++)
    *ok &= json_array_append_new(list, json_real(round(mhz[i] * 1e3) / 1e3)) == 0;
  return list;
}

static bool put_frequencies(json_t *object, const struct sc_rds_data *data)
{
  bool ok = true;
  json_t *list = frequencies_of(data->af_mhz, data->af_count, &ok);
  return put(object, "af_mhz", list) && ok;
}

static json_t *other_of(const struct sc_rds_other *other, bool *ok)
{
  json_t *object = json_object();
  *ok &= put(object, "pi", code_of(other->pi));
  *ok &= put(object, "ps", text_or_null(other->ps));
  *ok &= put(object, "pty", other->pty >= 0 ? json_integer(other->pty) : json_null());
  *ok &= put(object, "tp", truth_of(other->tp));
  *ok &= put(object, "ta", truth_of(other->ta));
  *ok &= put(object, "af_mhz", frequencies_of(other->af_mhz, other->af_count, ok));
  return object;
}

static bool put_others(json_t *object, const struct sc_rds_data *data)
{
  json_t *list = json_array();
  bool ok = true;
  for (size_t i = 0; i < data->eon_count; i++)
    ok &= json_array_append_new(list, other_of(&data->eon[i], &ok)) == 0;
  return put(object, "eon", list) && ok;
}

static bool put_applications(json_t *object, const struct sc_rds_data *data)
{
  json_t *list = json_array();
  bool ok = true;
  for (size_t i = 0; i < data->oda_count; i++) {
    const struct sc_rds_oda *oda = &data->oda[i];
    json_t *one = json_object();
    ok &= put(one, "id", code_of(oda->id));
    ok &= put(one, "name", text_or_null(oda->name));
    ok &=
        put(one, "group", oda->type > 0 ? json_string(sc_rds_group_name(oda->type)) : json_null());
    ok &= put(one, "message", code_of(oda->message));
    ok &= json_array_append_new(list, one) == 0;
  }
  return put(object, "oda", list) && ok;
}

static bool put_tags(json_t *object, const struct sc_rds_data *data)
{
  json_t *list = json_array();
  bool ok = true;
  for (size_t i = 0; i < data->tag_count; i++) {
    const struct sc_rds_tag *tag = &data->tags[i];
    json_t *one = json_object();
    ok &= put(one, "type", json_integer(tag->type));
    ok &= put(one, "name", text_or_null(tag->name));
    ok &= put(one, "text", text_or_null(tag->text));
    ok &= json_array_append_new(list, one) == 0;
  }
  return put(object, "rt_plus", list) && ok;
}

bool report_json_rds(json_t *object, const struct sc_rds *rds)
{
  const struct sc_rds_data *data = &rds->data;
  bool ok = put_counts(object, data);
  ok &= put_frequencies(object, data);
  ok &= put_others(object, data);
  ok &= put_applications(object, data);
  ok &= put_tags(object, data);
  return ok;
}
