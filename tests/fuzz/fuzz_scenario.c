/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Fuzz target: scenario files. What is read without an error passes the check or is refused with
 * one line, and a wrong one leaves the scenario as it was. */
#include <config.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fuzz/target.h"
#include "signal/keys.h"

/* A string that the input leaves open stays in libconfig's scanner: a leak of its
 * own, nothing that a caller could free. The sanitizer looks for this name. */
const char *__lsan_default_suppressions(void);
const char *__lsan_default_suppressions(void)
{
  return "leak:strbuf_append\n";
}

/* libconfig's @include would read other files. */
static int includes(const char *text)
{
  return strstr(text, "@include") != NULL;
}

static void check_line(const struct sc_message *message)
{
  if (message->text[0] == '\0')
    abort();
  for (const char *c = message->text; *c != '\0'; c++)
    if ((unsigned char)*c < 0x20 || *c == 0x7f)
      abort();
}

/* What is printed is read as the same scenario. */
static int comes_back(const struct sc_scenario *start, const struct sc_scenario *scenario)
{
  static struct sc_scenario again;
  char *text;
  if (sc_scenario_print(scenario, &text) != SC_OK)
    abort();
  memcpy(&again, start, sizeof again);
  int same = sc_scenario_parse(text, "printed", &again, NULL) == SC_OK &&
             memcmp(scenario, &again, sizeof again) == 0;
  free(text);
  return same;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  static struct sc_scenario before, after;
  struct sc_message message = {""};
  char *text = malloc(size + 1);
  if (text == NULL)
    abort();
  memcpy(text, data, size);
  text[size] = '\0';
  memset(&before, 0, sizeof before);
  sc_scenario_init(&before);
  memcpy(&after, &before, sizeof after);
  if (!includes(text)) {
    if (sc_scenario_parse(text, "input", &after, &message) != SC_OK) {
      check_line(&message);
      if (memcmp(&before, &after, sizeof after) != 0)
        abort();
    } else if (!comes_back(&before, &after)) {
      abort();
    } else if (signal_scenario_check(&after, &message) != SC_OK) {
      check_line(&message);
    }
  }
  free(text);
  return 0;
}
