/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Plays a scenario into a SigMF pair of 8-bit samples, for `make sample` and its test.
 *
 * Usage: kitefield SCENARIO OUTPUT.sigmf
 */
#include <stdio.h>

#include <sidecomb/compose.h>

int main(int argc, char **argv)
{
  static struct sc_scenario scenario;
  struct sc_message message = {"usage: kitefield SCENARIO OUTPUT.sigmf"};
  struct sc_compose_result result;
  sc_scenario_init(&scenario);
  enum sc_error error = SC_BAD_ARGUMENT;
  if (argc == 3)
    error = sc_scenario_read(argv[1], &scenario, &message);
  const struct sc_compose_settings settings = {.path = argv[argc - 1], .type = "ci8"};
  if (error == SC_OK)
    error = sc_compose(&scenario, &settings, NULL, NULL, &result, &message);
  if (error != SC_OK)
    fprintf(stderr, "%s\n", message.text);
  return error == SC_OK ? 0 : 2;
}
