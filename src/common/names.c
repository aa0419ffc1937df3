/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The words for the choices of the public structs, as they stand in reports and options. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <sidecomb/capture.h>
#include <sidecomb/result.h>

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
