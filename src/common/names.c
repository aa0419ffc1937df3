/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The words for the choices of the public structs, as they stand in reports and options. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <sidecomb/capture.h>
#include <sidecomb/result.h>
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
