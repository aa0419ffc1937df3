/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Works hop by hop: a window of input around each hop is kept, and its last part serves the
 * next one, so that a capture read in one go is read once. */
#include <config.h>

#include "analysis/corrector.h"

#include <stdlib.h>
#include <string.h>

#include "analysis/source.h"
#include "capture/response.h"
#include "dsp/correction.h"

struct corrector {
  struct dsp_correction *filter;
  size_t hop, delay, channels;
  float *in;      /* delay + hop + delay frames around the hop */
  float *out;     /* the hop, corrected */
  size_t held;    /* frames in `out` */
  uint64_t first; /* container's frame of the first one */
  bool primed;    /* `in` is filled around `first` */
};

enum sc_error corrector_create(const char *path, double rate_hz, unsigned channels,
                               struct corrector **corrector, struct sc_message *message)
{
  struct dsp_response_point *points = NULL;
  size_t count = 0;
  enum sc_error error = capture_response_read(path, &points, &count, message);
  if (error != SC_OK)
    return error;
  struct corrector *made = calloc(1, sizeof *made);
  error = made == NULL ? SC_NO_MEMORY
                       : dsp_correction_create(points, count, rate_hz, channels, &made->filter);
  free(points);
  if (error == SC_OK) {
    made->hop = dsp_correction_hop(made->filter);
    made->delay = dsp_correction_delay(made->filter);
    made->channels = channels;
    made->in = malloc((made->hop + 2 * made->delay) * channels * sizeof *made->in);
    made->out = malloc(made->hop * channels * sizeof *made->out);
    error = made->in == NULL || made->out == NULL ? SC_NO_MEMORY : SC_OK;
  }
  if (error != SC_OK) {
    corrector_destroy(made);
    return sc_fail(message, error, "%s", sc_error_text(error));
  }
  *corrector = made;
  return SC_OK;
}

/* Input frames into `in` from index `filled` on; what the segment does not hold counts as 0.
 * *filled: how many came. */
static enum sc_error fill_input(struct corrector *corrector, struct sc_source *source,
                                uint64_t segment_end, size_t *filled, struct sc_block *tally,
                                struct sc_message *message)
{
  size_t length = corrector->hop + 2 * corrector->delay, got = 1;
  while (*filled < length && got > 0 && source->input < segment_end) {
    uint64_t left = segment_end - source->input;
    size_t wanted = left < length - *filled ? (size_t)left : length - *filled;
    enum sc_error error = source_take(source, corrector->in + *filled * corrector->channels, wanted,
                                      &got, tally, message);
    if (error != SC_OK)
      return error;
    *filled += got;
  }
  memset(corrector->in + *filled * corrector->channels, 0,
         (length - *filled) * corrector->channels * sizeof *corrector->in);
  return SC_OK;
}

/* Puts what comes before the wanted input in place: the last window's end, or the capture's
 * own samples read again, or zeros. Returns how many frames are there. */
static enum sc_error lead_in(struct corrector *corrector, struct sc_source *source,
                             uint64_t segment_first, size_t *filled)
{
  size_t delay = corrector->delay, hop = corrector->hop, channels = corrector->channels;
  uint64_t position = source->position;
  if (corrector->primed && position == corrector->first + hop &&
      corrector->first >= segment_first) {
    memmove(corrector->in, corrector->in + hop * channels,
            2 * delay * channels * sizeof *corrector->in);
    *filled = 2 * delay;
    return SC_OK;
  }
  bool live = source->capture->facts.live;
  uint64_t before = live ? 0 : position - segment_first;
  before = before < delay ? before : delay;
  *filled = delay - (size_t)before;
  memset(corrector->in, 0, *filled * channels * sizeof *corrector->in);
  source->input = position - before;
  return live ? SC_OK : capture_seek(source->capture, source->input);
}

static enum sc_error next_hop(struct corrector *corrector, struct sc_source *source,
                              struct sc_block *tally, struct sc_message *message)
{
  const struct capture *capture = source->capture;
  size_t index = capture_segment_at(capture, source->position), filled = 0;
  uint64_t segment_end =
      index + 1 < capture->segment_count ? capture->segments[index + 1].first : UINT64_MAX;
  enum sc_error error = lead_in(corrector, source, capture->segments[index].first, &filled);
  if (error != SC_OK)
    return sc_fail(message, error, "%s: cannot go back to where it was", capture->name);
  error = fill_input(corrector, source, segment_end, &filled, tally, message);
  if (error != SC_OK)
    return error;
  dsp_correction_run(corrector->filter, corrector->in, corrector->out);
  corrector->primed = true;
  corrector->first = source->position;
  size_t behind = filled > corrector->delay ? filled - corrector->delay : 0;
  corrector->held = behind < corrector->hop ? behind : corrector->hop;
  return SC_OK;
}

enum sc_error corrector_take(struct corrector *corrector, struct sc_source *source, float *out,
                             size_t frames, size_t *got, struct sc_block *tally,
                             struct sc_message *message)
{
  bool inside = corrector->primed && source->position >= corrector->first &&
                source->position < corrector->first + corrector->held;
  *got = 0;
  if (!inside) {
    enum sc_error error = next_hop(corrector, source, tally, message);
    if (error != SC_OK)
      return error;
  }
  size_t used = (size_t)(source->position - corrector->first);
  size_t left = corrector->held - used;
  *got = frames < left ? frames : left;
  memcpy(out, corrector->out + used * corrector->channels,
         *got * corrector->channels * sizeof *out);
  return SC_OK;
}

void corrector_destroy(struct corrector *corrector)
{
  if (corrector == NULL)
    return;
  dsp_correction_destroy(corrector->filter);
  free(corrector->in);
  free(corrector->out);
  free(corrector);
}
