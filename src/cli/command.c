/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The table of subcommands. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <string.h>

#include "cli/command.h"
#include "cli/option.h"
#include "view/view.h"

static const struct cli_command commands[] = {
    {"view", CLI_ON_VIEW, CLI_A_CAPTURE, "CAPTURE", "show a capture on the terminal",
     "Shows the spectra on air and of the composite with movable markers, a zoom that measures "
     "anew, and the account of each line. 'sidecomb CAPTURE' alone does the same.",
     cli_run_view, view_keys_print},
    {"report", CLI_ON_REPORT, CLI_A_CAPTURE, "CAPTURE",
     "measure a capture and print what was found",
     "Reads the capture to its end and prints the carrier, the pilot and every line on air and "
     "of the composite, each with its uncertainty (one standard uncertainty, k = 1) and, for a "
     "line, with what explains it.",
     cli_run_report, NULL},
    {"plot", CLI_ON_PLOT, CLI_A_CAPTURE, "--out FILE CAPTURE", "draw a spectrum for paper",
     "Measures the capture and draws one of its spectra with its lines labelled and a table of "
     "them: offset, level, uncertainty, verdict and cause. One page as wide as A4, legible at A5 "
     "and in grey. With a mask its limit is drawn: a measurement, no certificate.",
     cli_run_plot, NULL},
    {"watch", CLI_ON_WATCH, CLI_A_CAPTURE, "CAPTURE", "measure again and again, a line each",
     "Measures a live or a long capture in intervals and prints one line each, as CSV or JSON, "
     "with "
     "the limits judged; at the end, also on Ctrl-C, a summary on standard error. Status 3 when a "
     "limit was not kept in any interval.",
     cli_run_watch, NULL},
    {"compare", CLI_ON_COMPARE, CLI_CAPTURES, "CAPTURE CAPTURE...",
     "say what differs between captures",
     "Measures each capture and sets the others against the first: a transmitter before and after "
     "a repair, at several powers, beside one that is known to be good. Differences that exceed "
     "their uncertainties stand first. The options hold for all captures.",
     cli_run_compare, NULL},
    {"devices", CLI_ON_DEVICES, CLI_NOTHING, "", "list what can be captured from",
     "Lists the inputs of sound cards, each with the rates, channels and sample formats that it "
     "offers without a conversion on the way, and the receivers, each with what it can be set to. "
     "Their names are what --sound and --receiver take.",
     cli_run_devices, NULL},
    {"record", CLI_ON_RECORD, CLI_A_CAPTURE, "CAPTURE", "keep what comes in",
     "Writes a sound card's, a receiver's or a pipe's samples, or a part of a capture, to a SigMF "
     "pair or WAV file. It is valid at any moment, so that a full disk or a device that is pulled "
     "out leaves what came before. Ctrl-C ends it.",
     cli_run_record, NULL},
    {"compose", CLI_ON_COMPOSE, CLI_MAYBE_SCENARIO, "[SCENARIO]",
     "make a capture whose truth is known",
     "Makes a complete capture by a scenario file: a station with its programme and data, what "
     "happens on the way, and the receiver. Without a file it is a stereo station with nothing "
     "but its pilot, and --set changes it. A SigMF pair carries the truth as annotations.",
     cli_run_compose, NULL},
    {"sequence", CLI_ON_SEQUENCE, CLI_NOTHING, "--out FILE", "make test audio for a transmitter",
     "Writes 69 s of test audio at 48 kHz. Play it into a transmitter and record what a radio "
     "gives back: 'sidecomb report' finds the sequence in the recording, whatever stands before "
     "and after it, and measures separation, channel order, response, distortion and noise. Use "
     "no sound processing, and keep the transmitter within its licence and in a screened load.",
     cli_run_sequence, NULL},
};

const struct cli_command *cli_commands(size_t *count)
{
  *count = sizeof commands / sizeof commands[0];
  return commands;
}

const struct cli_command *cli_command_find(const char *name)
{
  for (size_t i = 0; i < sizeof commands / sizeof commands[0]; i++)
    if (strcmp(commands[i].name, name) == 0)
      return &commands[i];
  return NULL;
}
