/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A file can be read at two places; what comes in live cannot. */
#include <stdlib.h>

#include "view/engine.h"
#include "view/twin.h"

struct view_twin {
  struct sc_source *source;
  struct view_engine *engine;
  struct view_model model;
};

struct view_twin *view_twin_start(const struct sc_source_options *options,
                                  struct sc_message *message)
{
  struct view_twin *twin = calloc(1, sizeof *twin);
  if (twin == NULL)
    sc_fail(message, SC_NO_MEMORY, "view: not enough memory");
  else if (sc_source_open(options, &twin->source, message) == SC_OK &&
           view_engine_start(twin->source, options, NULL, &twin->engine, message) == SC_OK)
    return twin;
  view_twin_stop(twin);
  return NULL;
}

void view_twin_stop(struct view_twin *twin)
{
  if (twin == NULL)
    return;
  view_engine_stop(twin->engine);
  sc_source_close(twin->source);
  free(twin);
}

int view_twin_descriptor(const struct view_twin *twin)
{
  return twin != NULL ? view_engine_descriptor(twin->engine) : -1;
}

void view_twin_ask(struct view_twin *twin, const struct view_request *request, bool held)
{
  if (twin == NULL)
    return;
  view_engine_hold(twin->engine, held);
  view_engine_ask(twin->engine, request);
}

const struct view_spectrum *view_twin_take(struct view_twin *twin)
{
  if (twin == NULL)
    return NULL;
  view_engine_take(twin->engine, &twin->model);
  return &twin->model.spectrum;
}
