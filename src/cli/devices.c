/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* `sidecomb devices`: what can be captured from, on standard output. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <sidecomb/devices.h>

#include "cli/aside.h"
#include "cli/command.h"
#include "cli/output.h"

enum cli_status cli_run_devices(const struct cli_settings *settings)
{
  struct sc_devices devices;
  char *text = NULL;
  struct cli_aside aside;
  cli_aside_begin(&aside);
  enum sc_error error = sc_devices_find(&devices);
  cli_aside_end(&aside);
  if (error == SC_OK)
    error = settings->json ? sc_devices_json(&devices, &text)
                           : sc_devices_text(&devices, (unsigned)cli_width(), cli_utf8(), &text);
  sc_devices_clear(&devices);
  enum cli_status status = cli_print(error, text, settings->json ? "\n" : "");
  cli_aside_tell(&aside);
  return status;
}
