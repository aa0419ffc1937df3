/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Opening a source: checks what the user said, reads up to a second as evidence for the kind,
 * and settles which part and which floats of the container are delivered. */
#include <config.h>

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/source.h"
#include "capture/notice.h"
#include "capture/types.h"
#include "measure/kind.h"

/* Evidence is bounded in floats too, so that memory is, whatever the rate. */
enum { EVIDENCE_FLOATS_MAX = 1 << 20 };

struct opening {
  const struct sc_source_options *options;
  struct sc_source *source;
  struct sc_message *message;
};

static enum sc_error check_numbers(const struct opening *opening)
{
  const struct sc_source_options *options = opening->options;
  if (!isfinite(options->start_s) || options->start_s < 0)
    return sc_fail(opening->message, SC_BAD_ARGUMENT, "--start %g: seconds from 0 on",
                   options->start_s);
  if (!isfinite(options->duration_s) || options->duration_s < 0)
    return sc_fail(opening->message, SC_BAD_ARGUMENT, "--duration %g: seconds above 0",
                   options->duration_s);
  if (!isfinite(options->centre_hz))
    return sc_fail(opening->message, SC_BAD_ARGUMENT, "--centre: a frequency in hertz");
  if (options->clock_known &&
      (!(fabs(options->clock_ppm) <= 1e5) || !(options->clock_ppm_uncertainty >= 0) ||
       !isfinite(options->clock_ppm_uncertainty)))
    return sc_fail(opening->message, SC_BAD_ARGUMENT,
                   "--clock-ppm: parts per million up to 100000, with an uncertainty of 0 or more");
  return SC_OK;
}

/* ---- the shape of a frame */

static enum sc_error refuse_channels(const struct opening *opening)
{
  const struct capture *capture = opening->source->capture;
  return sc_fail(opening->message, SC_BAD_ARGUMENT,
                 "%s: has %u channels: choose the first or the second with --channel left or "
                 "--channel right",
                 capture->name, capture->facts.channels / (capture->facts.is_complex ? 2u : 1u));
}

/* What the user's choice of channel leaves open: 1 or 2 floats, and where they start. */
static enum sc_error choose_channel(const struct opening *opening)
{
  struct sc_source *source = opening->source;
  enum sc_kind as = opening->options->as;
  bool pairs = source->capture->facts.is_complex && (as == SC_KIND_UNDECIDED || as == SC_KIND_IQ);
  unsigned width = pairs ? 2 : 1;
  unsigned channels = source->capture->facts.channels / width;
  enum sc_channel channel = opening->options->channel;
  source->info.channels = channels == 1 ? width : channels == 2 && width == 1 ? 2 : 0;
  if (channel == SC_CHANNEL_LEFT || channel == SC_CHANNEL_RIGHT) {
    if (channels == 1)
      return sc_fail(
          opening->message, SC_BAD_ARGUMENT,
          "%s: has one channel, there is no left or right to choose: leave --channel out",
          source->capture->name);
    source->info.channels = width;
    source->offset = channel == SC_CHANNEL_RIGHT ? width : 0;
  }
  return source->info.channels == 0 ? refuse_channels(opening) : SC_OK;
}

/* ---- evidence */

static size_t evidence_wanted(const struct sc_source *source)
{
  size_t most = EVIDENCE_FLOATS_MAX / source->capture->facts.channels;
  double second = source->capture->facts.rate_hz;
  return second < (double)most ? (size_t)ceil(second) : most;
}

/* What a device lost amid the evidence: the capture begins behind it. */
static size_t begin_anew(struct sc_source *source, size_t filled, size_t got)
{
  size_t channels = source->capture->facts.channels;
  if (!source->capture->gap)
    return filled;
  source->capture->gap = false;
  source->capture->lost = 0;
  memmove(source->evidence, source->evidence + filled * channels,
          got * channels * sizeof *source->evidence);
  return 0;
}

/* Reads ahead; a stream that cannot seek keeps what was read for the first blocks. */
static enum sc_error gather(const struct opening *opening)
{
  struct sc_source *source = opening->source;
  size_t wanted = evidence_wanted(source), channels = source->capture->facts.channels;
  source->evidence = malloc(wanted * channels * sizeof *source->evidence);
  if (source->evidence == NULL)
    return sc_fail(opening->message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  size_t filled = 0, got = 1;
  while (filled < wanted && got > 0) {
    enum sc_error error = capture_read(source->capture, source->evidence + filled * channels,
                                       wanted - filled, &got, opening->message);
    if (error != SC_OK)
      return error;
    filled = begin_anew(source, filled, got);
    filled += got;
  }
  source->evidence_frames = filled;
  return SC_OK;
}

static void pick_evidence(const struct sc_source *source, float *out)
{
  const struct capture_facts *facts = &source->capture->facts;
  struct capture_range range = source->range;
  struct capture_scan scan = {0};
  unsigned width = source->info.channels;
  for (size_t i = 0; i < source->evidence_frames; i++)
    for (unsigned k = 0; k < width; k++)
      out[i * width + k] = source->evidence[i * facts->channels + source->offset + k];
  capture_scan(out, source->evidence_frames, width, &range, &scan); /* only to remove NaN */
}

static enum sc_error judge(const struct opening *opening, struct measure_kind *kind)
{
  struct sc_source *source = opening->source;
  enum sc_error error = gather(opening);
  if (error != SC_OK)
    return error;
  if (source->evidence_frames == 0)
    return sc_fail(opening->message, SC_BAD_FORMAT, "%s: holds no sample", source->capture->name);
  size_t floats = source->evidence_frames * source->info.channels;
  float *picked = malloc(floats * sizeof *picked);
  if (picked == NULL)
    return sc_fail(opening->message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  pick_evidence(source, picked);
  error = measure_kind(picked, source->evidence_frames, source->info.channels,
                       source->capture->facts.rate_hz, kind);
  free(picked);
  if (error != SC_OK)
    return sc_fail(opening->message, error, "%s", sc_error_text(error));
  return SC_OK;
}

/* ---- the kind */

/* Whether evidence is needed: to tell the kind, or the channel that holds a composite. */
static bool is_open(const struct opening *opening)
{
  const struct sc_source *source = opening->source;
  enum sc_kind as = opening->options->as;
  if (as == SC_KIND_COMPOSITE)
    return source->info.channels == 2;
  return as == SC_KIND_UNDECIDED && !source->capture->facts.is_complex;
}

static enum sc_error ask(const struct opening *opening, const char *reason)
{
  return sc_fail(opening->message, SC_UNDECIDED,
                 "%s: cannot tell what the samples are: %s: say --as iq, --as composite or "
                 "--as audio",
                 opening->source->capture->name, reason);
}

/* --as wins over the evidence, but not over the number of channels. */
static enum sc_error apply_wish(const struct opening *opening, struct measure_kind *kind)
{
  const struct sc_source *source = opening->source;
  enum sc_kind as = opening->options->as;
  if (as == SC_KIND_UNDECIDED)
    return kind->kind == SC_KIND_UNDECIDED ? ask(opening, kind->reason) : SC_OK;
  if (as == SC_KIND_IQ && source->info.channels != 2)
    return sc_fail(opening->message, SC_BAD_ARGUMENT,
                   "%s: --as iq needs two channels, I and Q, here is one", source->capture->name);
  if (as == SC_KIND_COMPOSITE && source->capture->facts.is_complex &&
      kind->kind != SC_KIND_COMPOSITE)
    return sc_fail(opening->message, SC_BAD_ARGUMENT,
                   "%s: --as composite: the samples are complex, and neither part of them shows a "
                   "pilot: leave --as out to read them as IQ",
                   source->capture->name);
  if (as == SC_KIND_COMPOSITE && source->info.channels == 2 && kind->kind != SC_KIND_COMPOSITE)
    return sc_fail(opening->message, SC_BAD_ARGUMENT,
                   "%s: --as composite: no channel shows a pilot: say which one with --channel "
                   "left or --channel right",
                   source->capture->name);
  kind->kind = as;
  if (as != SC_KIND_COMPOSITE || source->info.channels != 2)
    (void)snprintf(kind->reason, sizeof kind->reason, "said by --as %s", sc_kind_name(as));
  return SC_OK;
}

static enum sc_error decide(const struct opening *opening)
{
  struct sc_source *source = opening->source;
  struct measure_kind kind = {.kind = SC_KIND_IQ};
  (void)snprintf(kind.reason, sizeof kind.reason, "the sample type is complex");
  enum sc_error error = is_open(opening) ? judge(opening, &kind) : SC_OK;
  if (error == SC_OK)
    error = apply_wish(opening, &kind);
  if (error != SC_OK)
    return error;
  source->info.kind = kind.kind;
  (void)snprintf(source->info.kind_reason, sizeof source->info.kind_reason, "%s", kind.reason);
  if (kind.kind != SC_KIND_COMPOSITE || source->info.channels == 1)
    return SC_OK;
  if (opening->options->channel == SC_CHANNEL_BOTH)
    return sc_fail(opening->message, SC_BAD_ARGUMENT,
                   "%s: holds a composite (%s): it is in one channel, --channel both does not fit",
                   source->capture->name, kind.reason);
  source->offset += kind.channel;
  source->info.channels = 1;
  return SC_OK;
}

/* Options that only make sense for one kind. */
static enum sc_error check_kind(const struct opening *opening)
{
  struct sc_source *source = opening->source;
  if (source->info.kind == SC_KIND_IQ && opening->options->response_path != NULL)
    return sc_fail(opening->message, SC_BAD_ARGUMENT,
                   "%s: --response corrects real samples, composite or audio; this capture is iq",
                   source->capture->name);
  if (source->info.kind == SC_KIND_IQ)
    return SC_OK;
  if (opening->options->swap_iq)
    return sc_fail(opening->message, SC_BAD_ARGUMENT,
                   "%s: --swap-iq needs I and Q, this capture is %s", source->capture->name,
                   sc_kind_name(source->info.kind));
  if (opening->options->centre_hz != 0) /* exact: not given */
    capture_notice(&source->notices, "--centre has no meaning for a capture of kind %s",
                   sc_kind_name(source->info.kind));
  return SC_OK;
}

/* ---- the part */

static enum sc_error skip_frames(const struct opening *opening, uint64_t frames)
{
  struct sc_source *source = opening->source;
  size_t most = SOURCE_CHUNK_FLOATS / source->capture->facts.channels, got = 1;
  for (uint64_t left = frames; left > 0 && got > 0; left -= got) {
    size_t now = left < most ? (size_t)left : most;
    enum sc_error error = source_fetch(source, source->chunk, now, &got, opening->message);
    if (error != SC_OK)
      return error;
  }
  return SC_OK;
}

static uint64_t frames_of(double seconds, double rate_hz)
{
  double frames = rint(seconds * rate_hz);
  return frames < 0x1p62 ? (uint64_t)frames : (uint64_t)1 << 62;
}

static enum sc_error choose_part(const struct opening *opening)
{
  struct sc_source *source = opening->source;
  const struct sc_source_options *options = opening->options;
  uint64_t frames = source->capture->facts.frames; /* 0: unknown */
  double rate_hz = source->info.sample_rate_hz;
  source->start = frames_of(options->start_s, rate_hz);
  source->end = frames > 0 ? frames : UINT64_MAX;
  if (frames > 0 && source->start >= frames)
    return sc_fail(opening->message, SC_BAD_ARGUMENT,
                   "%s: --start %g: the capture ends after %.6g s", source->capture->name,
                   options->start_s, (double)frames / rate_hz);
  if (options->duration_s > 0) {
    uint64_t wanted = frames_of(options->duration_s, rate_hz);
    if (wanted == 0)
      return sc_fail(opening->message, SC_BAD_ARGUMENT,
                     "--duration %g: shorter than one sample, which lasts %.3g s",
                     options->duration_s, 1 / rate_hz);
    if (frames > 0 && wanted > frames - source->start)
      capture_notice(&source->notices, "--duration %g: the capture ends %.6g s after its start",
                     options->duration_s, (double)(frames - source->start) / rate_hz);
    else
      source->end = source->start + wanted;
  }
  source->info.frames =
      source->end == UINT64_MAX || source->capture->facts.live ? 0 : source->end - source->start;
  source->position = source->input = source->resume = source->start;
  if (source->capture->facts.live)
    return skip_frames(opening, source->start);
  source->evidence_frames = source->evidence_used = 0;
  free(source->evidence);
  source->evidence = NULL;
  enum sc_error error = capture_seek(source->capture, source->start);
  return error == SC_OK ? SC_OK
                        : sc_fail(opening->message, error, "%s: cannot go to its start",
                                  source->capture->name);
}

/* Annotations in the frames of the part; those outside it are dropped. */
static void shift_annotations(struct sc_source *source)
{
  struct capture *capture = source->capture;
  size_t kept = 0;
  for (size_t i = 0; i < capture->annotation_count; i++) {
    struct sc_annotation annotation = capture->annotations[i];
    uint64_t first = annotation.first;
    uint64_t end = annotation.frames == 0 || annotation.frames > UINT64_MAX - first
                       ? UINT64_MAX
                       : first + annotation.frames;
    if (first >= source->end || end <= source->start)
      continue;
    first = first > source->start ? first : source->start;
    annotation.first = first - source->start;
    annotation.frames = end >= source->end ? 0 : end - first;
    capture->annotations[kept++] = annotation;
  }
  capture->annotation_count = kept;
  source->info.annotations = capture->annotations;
  source->info.annotation_count = kept;
}

/* ---- facts and memory */

static void fill_info(const struct opening *opening)
{
  struct sc_source *source = opening->source;
  const struct sc_source_options *options = opening->options;
  const struct capture *capture = source->capture;
  struct sc_source_info *info = &source->info;
  source->clock_factor = options->clock_known ? 1 + options->clock_ppm * 1e-6 : 1;
  source->given_centre_hz = info->kind == SC_KIND_IQ ? options->centre_hz : 0;
  source->swap_iq = options->swap_iq;
  (void)snprintf(info->name, sizeof info->name, "%s", capture->name);
  (void)snprintf(info->format, sizeof info->format, "%s", capture->facts.format);
  info->nominal_rate_hz = capture->facts.rate_hz;
  info->sample_rate_hz = capture->facts.rate_hz * source->clock_factor;
  info->clock_relative_uncertainty =
      options->clock_known ? options->clock_ppm_uncertainty * 1e-6 : (double)NAN;
  info->live = capture->facts.live;
  info->bits = capture->facts.bits;
}

/* Centre and time at the part's first frame. */
static void fill_origin(struct sc_source *source)
{
  source->now = source->info;
  source_enter(source);
  source->info = source->now;
}

static enum sc_error allocate(const struct opening *opening)
{
  struct sc_source *source = opening->source;
  uint64_t frames = source->capture->facts.frames;
  source->block_frames =
      frames > 0 && frames < SOURCE_BLOCK_FRAMES_MAX ? (size_t)frames : SOURCE_BLOCK_FRAMES_MAX;
  source->block = malloc(source->block_frames * source->info.channels * sizeof *source->block);
  source->chunk = malloc(SOURCE_CHUNK_FLOATS * sizeof *source->chunk);
  if (source->block == NULL || source->chunk == NULL)
    return sc_fail(opening->message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  return SC_OK;
}

static enum sc_error start_type(const struct opening *opening)
{
  struct sc_source *source = opening->source;
  const struct capture_facts *facts = &source->capture->facts;
  const bool looks = source->info.kind == SC_KIND_IQ && facts->is_complex && facts->channels == 2 &&
                     facts->type != NULL;
  const enum sc_error error = looks ? sampletype_start(&source->type, facts->type) : SC_OK;
  return error == SC_OK ? SC_OK : sc_fail(opening->message, error, "%s", sc_error_text(error));
}

/* What the options do to the samples belongs to what is reported of them. */
static void note_treatment(const struct opening *opening)
{
  const struct sc_source_options *options = opening->options;
  struct sc_notices *notices = &opening->source->notices;
  if (options->start_s > 0)
    capture_notice(notices, "the first %.10g s are left out (--start)", options->start_s);
  if (options->swap_iq)
    capture_notice(notices, "I and Q are exchanged, which mirrors the spectrum (--swap-iq)");
  if (options->clock_known)
    capture_notice(notices,
                   "the sample clock is taken to be fast by %.6g ppm, known to %.3g ppm "
                   "(--clock-ppm)",
                   options->clock_ppm, options->clock_ppm_uncertainty);
  if (options->response_path != NULL)
    capture_notice(notices, "the response of the input is undone (--response %s)",
                   options->response_path);
}

static enum sc_error open_source(const struct opening *opening)
{
  struct sc_source *source = opening->source;
  enum sc_error error = check_numbers(opening);
  if (error == SC_OK)
    error = capture_open(opening->options, &source->capture, opening->message);
  if (error != SC_OK)
    return error;
  const struct capture_facts *facts = &source->capture->facts;
  source->range = (struct capture_range){facts->low, facts->high, facts->bits == 0};
  error = choose_channel(opening);
  if (error == SC_OK)
    error = decide(opening);
  if (error == SC_OK)
    error = check_kind(opening);
  if (error == SC_OK)
    error = allocate(opening);
  if (error != SC_OK)
    return error;
  fill_info(opening);
  error = start_type(opening);
  if (error != SC_OK)
    return error;
  error = choose_part(opening);
  if (error != SC_OK)
    return error;
  if (opening->options->response_path != NULL)
    error = corrector_create(opening->options->response_path, source->info.sample_rate_hz,
                             source->info.channels, &source->corrector, opening->message);
  if (error != SC_OK)
    return error;
  fill_origin(source);
  note_treatment(opening);
  shift_annotations(source);
  watch_start(&source->watch, source->info.sample_rate_hz, source->info.kind == SC_KIND_IQ);
  return SC_OK;
}

enum sc_error sc_source_open(const struct sc_source_options *options, struct sc_source **source,
                             struct sc_message *message)
{
  *source = NULL;
  struct sc_source *fresh = calloc(1, sizeof *fresh);
  if (fresh == NULL)
    return sc_fail(message, SC_NO_MEMORY, "%s", sc_error_text(SC_NO_MEMORY));
  struct opening opening = {options, fresh, message};
  enum sc_error error = open_source(&opening);
  if (error != SC_OK) {
    sc_source_close(fresh);
    return error;
  }
  *source = fresh;
  return SC_OK;
}
