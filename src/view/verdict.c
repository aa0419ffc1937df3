/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Verdicts as marks and styles. */
#include "view/verdict.h"

static const struct {
  char mark;
  enum view_style style;
} looks[] = {
    [SC_VERDICT_UNKNOWN] = {'?', VIEW_STYLE_UNKNOWN},
    [SC_VERDICT_EXPLAINED] = {'=', VIEW_STYLE_EXPLAINED},
    [SC_VERDICT_RESIDUAL] = {'~', VIEW_STYLE_RESIDUAL},
    [SC_VERDICT_SPURIOUS] = {'!', VIEW_STYLE_SPURIOUS},
    [SC_VERDICT_ARTEFACT] = {'x', VIEW_STYLE_ARTEFACT},
};

char view_verdict_mark(enum sc_verdict verdict)
{
  return looks[verdict].mark;
}

enum view_style view_verdict_style(enum sc_verdict verdict)
{
  return looks[verdict].style;
}
