/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The namespace "sidecomb" of SigMF, version 1: whoever changes a field changes its description in
 * man/sidecomb.sigmf-ext.md with it. */
#include <config.h>

#include "capture/sigmf_tuning.h"

#include <math.h>
#include <string.h>

#include "common/text.h"

static const char extension[] = "sidecomb", extension_version[] = "1.0.0";
static const char gain_key[] = "sidecomb:gain";
static const char gains_key[] = "sidecomb:gains";
static const char automatic_key[] = "sidecomb:automatic_gain";
static const char antenna_key[] = "sidecomb:antenna";
static const char bandwidth_key[] = "sidecomb:bandwidth";
static const char correction_key[] = "sidecomb:frequency_correction";

static const double gain_most_db = 1e3, bandwidth_most_hz = 1e12, correction_most_ppm = 1e6;

bool capture_tuning_known(const struct sc_tuning *tuning)
{
  return tuning->gain_count > 0 || tuning->automatic_gain || tuning->antenna[0] != '\0' ||
         tuning->bandwidth_hz > 0 || tuning->ppm_given;
}

bool capture_tuning_same(const struct sc_tuning *a, const struct sc_tuning *b)
{
  if (a->bandwidth_hz != b->bandwidth_hz || a->ppm_given != b->ppm_given || a->ppm != b->ppm ||
      strcmp(a->antenna, b->antenna) != 0 || a->gain_count != b->gain_count ||
      a->automatic_gain != b->automatic_gain)
    return false;
  for (size_t i = 0; i < a->gain_count; i++)
    if (a->gains[i].db != b->gains[i].db || strcmp(a->gains[i].name, b->gains[i].name) != 0)
      return false;
  return true;
}

/* ---- writing */

/* A program that does not know the namespace can read the samples all the same. */
json_t *capture_tuning_extensions(void)
{
  return json_pack("[{s:s,s:s,s:b}]", "name", extension, "version", extension_version, "optional",
                   1);
}

static int put_stage(json_t *stages, const struct sc_gain *gain)
{
  json_t *stage = json_object();
  int failed = json_object_set_new(stage, "name", json_string(gain->name));
  failed |= json_object_set_new(stage, "gain", json_real(gain->db));
  return json_array_append_new(stages, stage) | failed;
}

static int put_gains(json_t *capture, const struct sc_tuning *tuning)
{
  json_t *stages = json_array();
  int failed = 0;
  for (size_t i = 0; i < tuning->gain_count; i++)
    if (!isfinite(tuning->gains[i].db))
      continue;
    else if (tuning->gains[i].name[0] == '\0')
      failed |= json_object_set_new(capture, gain_key, json_real(tuning->gains[i].db));
    else
      failed |= put_stage(stages, &tuning->gains[i]);
  if (json_array_size(stages) > 0)
    failed |= json_object_set(capture, gains_key, stages);
  json_decref(stages);
  return failed;
}

int capture_tuning_put(json_t *capture, const struct sc_tuning *tuning)
{
  int failed = put_gains(capture, tuning);
  if (tuning->automatic_gain)
    failed |= json_object_set_new(capture, automatic_key, json_true());
  if (tuning->antenna[0] != '\0')
    failed |= json_object_set_new(capture, antenna_key, json_string(tuning->antenna));
  if (tuning->bandwidth_hz > 0 && isfinite(tuning->bandwidth_hz))
    failed |= json_object_set_new(capture, bandwidth_key, json_real(tuning->bandwidth_hz));
  if (tuning->ppm_given && isfinite(tuning->ppm))
    failed |= json_object_set_new(capture, correction_key, json_real(tuning->ppm));
  return failed;
}

/* ---- reading */

/* False: it is not there, or unusable and counted. */
static bool get_number(const json_t *object, const char *key, double least, double most,
                       double *value, size_t *unusable)
{
  const json_t *found = json_object_get(object, key);
  if (found == NULL)
    return false;
  const double number = json_number_value(found);
  const bool usable = json_is_number(found) && number >= least && number <= most;
  *unusable += !usable;
  if (usable)
    *value = number;
  return usable;
}

static bool get_words(const json_t *object, const char *key, char *text, size_t *unusable)
{
  const json_t *found = json_object_get(object, key);
  const char *words = json_string_value(found);
  const bool usable = words != NULL && words[0] != '\0' && strlen(words) < SC_SETTING_LENGTH;
  if (usable)
    (void)common_clean(text, SC_SETTING_LENGTH, words, strlen(words));
  *unusable += found != NULL && !usable;
  return usable;
}

static void get_stages(const json_t *capture, struct sc_tuning *tuning, size_t *unusable)
{
  const json_t *stages = json_object_get(capture, gains_key), *stage;
  size_t i;
  *unusable += stages != NULL && !json_is_array(stages);
  json_array_foreach(stages, i, stage)
  {
    struct sc_gain gain = {.name = ""};
    size_t bad = 0;
    const bool usable = tuning->gain_count < SC_GAINS_MAX &&
                        get_words(stage, "name", gain.name, &bad) &&
                        get_number(stage, "gain", -gain_most_db, gain_most_db, &gain.db, &bad);
    if (usable)
      tuning->gains[tuning->gain_count++] = gain;
    *unusable += !usable;
  }
}

void capture_tuning_get(const json_t *capture, struct sc_tuning *tuning, size_t *unusable)
{
  *tuning = (struct sc_tuning){0};
  if (get_number(capture, gain_key, -gain_most_db, gain_most_db, &tuning->gains[0].db, unusable))
    tuning->gain_count = 1;
  get_stages(capture, tuning, unusable);
  const json_t *automatic = json_object_get(capture, automatic_key);
  *unusable += automatic != NULL && !json_is_boolean(automatic);
  tuning->automatic_gain = json_is_true(automatic);
  (void)get_words(capture, antenna_key, tuning->antenna, unusable);
  (void)get_number(capture, bandwidth_key, 0, bandwidth_most_hz, &tuning->bandwidth_hz, unusable);
  tuning->ppm_given = get_number(capture, correction_key, -correction_most_ppm, correction_most_ppm,
                                 &tuning->ppm, unusable);
}
