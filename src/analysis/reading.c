/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A source read to its end through an analysis. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include <sidecomb/analysis.h>

enum { READ_FRAMES = 1 << 15 }; /* stays in the second cache on its way through the chain */

struct reading {
  struct sc_source *source;
  struct sc_analysis *analysis;
  bool (*progress)(void *context, double share);
  void *context;
};

static bool goes_on(const struct reading *reading, const struct sc_block *block)
{
  uint64_t total = sc_source_info(reading->source)->frames;
  if (reading->progress == NULL)
    return true;
  double share = total > 0 ? (double)(block->first + block->frames) / (double)total : (double)NAN;
  return reading->progress(reading->context, share);
}

static enum sc_error read_all(const struct reading *reading, struct sc_message *message)
{
  struct sc_block block;
  do {
    enum sc_error error = sc_source_read(reading->source, READ_FRAMES, &block, message);
    if (error == SC_OK && block.frames > 0)
      error = sc_analysis_feed(reading->analysis, &block);
    if (error == SC_NO_MEMORY)
      sc_fail(message, error, "%s: %s", sc_source_info(reading->source)->name,
              sc_error_text(error));
    if (error != SC_OK)
      return error;
  } while (block.frames > 0 && goes_on(reading, &block));
  return SC_OK;
}

enum sc_error sc_analyse_source(struct sc_source *source,
                                const struct sc_analysis_settings *settings,
                                bool (*progress)(void *context, double share), void *context,
                                struct sc_result *result, struct sc_message *message)
{
  *result = (struct sc_result){0};
  struct reading reading = {source, NULL, progress, context};
  enum sc_error error =
      sc_analysis_create(sc_source_info(source), settings, &reading.analysis, message);
  if (error == SC_OK)
    error = read_all(&reading, message);
  if (error == SC_OK)
    error = sc_analysis_result(reading.analysis, result);
  if (error == SC_OK) {
    error = sc_analysis_save_audio(reading.analysis, message);
    if (error != SC_OK)
      sc_result_clear(result);
  }
  if (error == SC_OK)
    sc_source_notices(source, &result->capture.notices);
  sc_analysis_destroy(reading.analysis);
  return error;
}
