/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The beginning of a capture: a bounded buffer with its gaps, and a spectrum of it. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <stdlib.h>
#include <string.h>

#include <sidecomb/spectrum.h>

#include "analysis/head.h"

/* Fine enough for a line beside a hump, coarse enough to average much in one second. */
static const double resolution_hz = 1000;

struct analysis_head {
  double rate_hz;
  struct sc_spectrum *spectrum;
  float *iq;
  size_t frames, room;
  size_t starts[ANALYSIS_HEAD_GAPS_MAX]; /* of runs without a gap; the first is 0 */
  size_t runs;
  bool begins_after_gap;
};

static enum sc_error create_spectrum(struct analysis_head *head)
{
  struct sc_spectrum_settings settings = {.sample_rate_hz = head->rate_hz,
                                          .complex_input = true,
                                          .rbw_hz = resolution_hz,
                                          .window = SC_WINDOW_BLACKMAN_HARRIS,
                                          .overlap = 0.5,
                                          .expected_frames = head->room};
  return sc_spectrum_create(&settings, &head->spectrum);
}

enum sc_error analysis_head_create(double rate_hz, struct analysis_head **out)
{
  *out = NULL;
  struct analysis_head *head = calloc(1, sizeof *head);
  if (head == NULL)
    return SC_NO_MEMORY;
  head->rate_hz = rate_hz;
  head->room = rate_hz < ANALYSIS_HEAD_FRAMES_MAX ? (size_t)rate_hz : ANALYSIS_HEAD_FRAMES_MAX;
  head->iq = malloc(head->room * 2 * sizeof *head->iq);
  enum sc_error error = head->iq == NULL ? SC_NO_MEMORY : create_spectrum(head);
  if (error != SC_OK) {
    analysis_head_destroy(head);
    return error;
  }
  analysis_head_reset(head);
  *out = head;
  return SC_OK;
}

void analysis_head_reset(struct analysis_head *head)
{
  sc_spectrum_reset(head->spectrum);
  head->frames = 0;
  head->runs = 1;
  head->starts[0] = 0;
  head->begins_after_gap = false;
}

static void note_gap(struct analysis_head *head)
{
  if (head->frames == 0)
    head->begins_after_gap = true;
  else if (head->frames > head->starts[head->runs - 1])
    head->starts[head->runs++] = head->frames;
}

size_t analysis_head_feed(struct analysis_head *head, const float *iq, size_t frames,
                          bool discontinuity)
{
  if (analysis_head_full(head))
    return 0;
  if (discontinuity)
    note_gap(head);
  size_t left = head->room - head->frames, taken = frames < left ? frames : left;
  memcpy(head->iq + 2 * head->frames, iq, taken * 2 * sizeof *iq);
  head->frames += taken;
  sc_spectrum_feed(head->spectrum, iq, taken, discontinuity);
  return taken;
}

bool analysis_head_full(const struct analysis_head *head)
{
  return head->frames == head->room || head->runs == ANALYSIS_HEAD_GAPS_MAX;
}

size_t analysis_head_frames(const struct analysis_head *head)
{
  return head->frames;
}

struct sc_channel_guess analysis_head_guess(struct analysis_head *head)
{
  struct sc_trace trace;
  sc_spectrum_result(head->spectrum, &trace);
  if (trace.points == 0)
    return (struct sc_channel_guess){.present = SC_UNKNOWN};
  return sc_channel_find(&trace, head->rate_hz);
}

bool analysis_head_run(const struct analysis_head *head, size_t i, const float **iq, size_t *frames,
                       bool *discontinuity)
{
  if (i >= head->runs || head->frames == 0)
    return false;
  size_t end = i + 1 < head->runs ? head->starts[i + 1] : head->frames;
  *iq = head->iq + 2 * head->starts[i];
  *frames = end - head->starts[i];
  *discontinuity = i > 0 || head->begins_after_gap;
  return true;
}

void analysis_head_destroy(struct analysis_head *head)
{
  if (head == NULL)
    return;
  sc_spectrum_destroy(head->spectrum);
  free(head->iq);
  free(head);
}
