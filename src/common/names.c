/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The words for the choices of the public structs, as they stand in reports and options. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include <sidecomb/audio.h>
#include <sidecomb/capture.h>
#include <sidecomb/injection.h>
#include <sidecomb/result.h>
#include <sidecomb/spectrum.h>
#include <sidecomb/stereo.h>

const char *sc_kind_name(enum sc_kind kind)
{
  switch (kind) {
  case SC_KIND_IQ:
    return "iq";
  case SC_KIND_COMPOSITE:
    return "composite";
  case SC_KIND_AUDIO:
    return "audio";
  case SC_KIND_UNDECIDED:
    break;
  }
  return "undecided";
}

const char *sc_window_name(enum sc_window window)
{
  static const char *const names[SC_WINDOW_COUNT] = {
      [SC_WINDOW_RECTANGULAR] = "rectangular",
      [SC_WINDOW_HANN] = "Hann",
      [SC_WINDOW_BLACKMAN_HARRIS] = "Blackman-Harris",
      [SC_WINDOW_FLAT_TOP] = "flat-top",
      [SC_WINDOW_KAISER] = "Kaiser",
  };
  return names[(unsigned)window < SC_WINDOW_COUNT ? window : SC_WINDOW_HANN];
}

const char *sc_verdict_name(enum sc_verdict verdict)
{
  switch (verdict) {
  case SC_VERDICT_EXPLAINED:
    return "explained";
  case SC_VERDICT_RESIDUAL:
    return "residual";
  case SC_VERDICT_SPURIOUS:
    return "spurious";
  case SC_VERDICT_ARTEFACT:
    return "artefact";
  case SC_VERDICT_UNKNOWN:
    break;
  }
  return "unknown";
}

const char *sc_stereo_mode_name(enum sc_stereo_mode mode)
{
  switch (mode) {
  case SC_MODE_NONE:
    return "none";
  case SC_MODE_UNMODULATED:
    return "unmodulated";
  case SC_MODE_PILOT_ONLY:
    return "pilot_only";
  case SC_MODE_MONO:
    return "mono";
  case SC_MODE_STEREO:
    return "stereo";
  case SC_MODE_DIFFERENCE_WITHOUT_PILOT:
    return "difference_without_pilot";
  case SC_MODE_UNKNOWN:
    break;
  }
  return NULL;
}

const char *sc_channel_order_name(enum sc_channel_order order)
{
  switch (order) {
  case SC_ORDER_NORMAL:
    return "normal";
  case SC_ORDER_SWAPPED:
    return "swapped";
  case SC_ORDER_IDENTICAL:
    return "identical";
  case SC_ORDER_UNKNOWN:
    break;
  }
  return NULL;
}

/* Our choice: half a turn with room for what filters differ by. */
static const double inverted_from_deg = 150;

bool sc_audio_inverted(const struct sc_audio *audio)
{
  return audio->sequence == SC_YES && audio->phase_deg.why == NULL &&
         fabs(audio->phase_deg.value) > inverted_from_deg;
}

const char *sc_audio_law_name(enum sc_audio_law law)
{
  static const char *const names[SC_LAWS] = {
      [SC_LAW_FLAT] = "flat: pre-emphasis and de-emphasis match",
      [SC_LAW_DEEMPHASIS_50] = "de-emphasis of 50 µs without its pre-emphasis",
      [SC_LAW_DEEMPHASIS_75] = "de-emphasis of 75 µs without its pre-emphasis",
      [SC_LAW_PREEMPHASIS_50] = "pre-emphasis of 50 µs without its de-emphasis",
      [SC_LAW_PREEMPHASIS_75] = "pre-emphasis of 75 µs without its de-emphasis",
      [SC_LAW_50_LESS_75] = "pre-emphasis of 50 µs under de-emphasis of 75 µs",
      [SC_LAW_75_LESS_50] = "pre-emphasis of 75 µs under de-emphasis of 50 µs",
  };
  return (unsigned)law < SC_LAWS ? names[law] : NULL;
}

const char *sc_injection_kind_name(enum sc_injection_kind kind)
{
  static const char *const names[] = {"tone", "fm", "band", "beat"};
  return (unsigned)kind < sizeof names / sizeof names[0] ? names[kind] : NULL;
}
