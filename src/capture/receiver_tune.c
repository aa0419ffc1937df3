/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Settings of a receiver: each is checked against what the receiver says it can do, since many
 * drivers clip in silence to the nearest that they can. */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <SoapySDR/Logger.h>

#include "capture/receiver_device.h"
#include "common/text.h"

static const size_t channel = 0;

static void say_nothing(const SoapySDRLogLevel level, const char *text)
{
  (void)level;
  (void)text;
}

void capture_receiver_hush(void)
{
  SoapySDR_registerLogHandler(say_nothing);
}

/* Drivers give reasons of several lines, and indent them; a message is one line. */
static void put_in_one_line(char *out, size_t size, const char *text)
{
  size_t used = 0;
  for (; *text != 0 && used + 1 < size; text++) {
    const bool blank = strchr(" \t\r\n", *text) != NULL;
    if (!blank)
      out[used++] = *text;
    else if (used > 0 && out[used - 1] != ' ')
      out[used++] = ' ';
  }
  while (used > 0 && out[used - 1] == ' ')
    used--;
  out[used] = 0;
}

void capture_receiver_reason(char *out, size_t size)
{
  const char *reason = SoapySDRDevice_lastError();
  put_in_one_line(out, size, reason != NULL ? reason : "");
  if (out[0] == 0)
    (void)snprintf(out, size, "no reason given");
  common_clean_string(out);
}

enum sc_error capture_receiver_fail(const char *name, const char *what, struct sc_message *message)
{
  char reason[256];
  capture_receiver_reason(reason, sizeof reason);
  return sc_fail(message, SC_CANNOT_OPEN, "%s: %s: %s", name, what, reason);
}

/* With what it can do, which cannot be listed while it is in use. */
static enum sc_error refuse(const struct capture_receiver *receiver, const char *what, double value,
                            const char *unit, const struct sc_message *all,
                            struct sc_message *message)
{
  return sc_fail(message, SC_BAD_ARGUMENT,
                 "%s: %s of %.10g %s: out of its range, which is %.120s %s", receiver->name, what,
                 value, unit, all->text, unit);
}

static void add_range(struct sc_message *all, const SoapySDRRange *range)
{
  const size_t used = strlen(all->text);
  const char *parted = used > 0 ? ", " : "";
  if (range->maximum > range->minimum)
    (void)snprintf(all->text + used, sizeof all->text - used, "%s%.10g to %.10g", parted,
                   range->minimum, range->maximum);
  else
    (void)snprintf(all->text + used, sizeof all->text - used, "%s%.10g", parted, range->minimum);
}

/* Takes over the ranges, and writes them into `all`. No range at all: the receiver does not say. */
static bool is_within(SoapySDRRange *ranges, size_t count, double value, struct sc_message *all)
{
  bool within = count == 0;
  all->text[0] = 0;
  for (size_t i = 0; i < count; i++) {
    within = within || (value >= ranges[i].minimum && value <= ranges[i].maximum);
    add_range(all, &ranges[i]);
  }
  SoapySDR_free(ranges);
  return within;
}

static enum sc_error check_frequency(const struct capture_receiver *receiver, double hz,
                                     struct sc_message *message)
{
  struct sc_message all;
  size_t count = 0;
  if (hz == 0) /* exact: not given */
    return SC_OK;
  SoapySDRRange *ranges =
      SoapySDRDevice_getFrequencyRange(receiver->device, SOAPY_SDR_RX, channel, &count);
  return is_within(ranges, count, hz, &all)
             ? SC_OK
             : refuse(receiver, "a frequency", hz, "Hz", &all, message);
}

static enum sc_error set_frequency(struct capture_receiver *receiver, double hz,
                                   struct sc_message *message)
{
  enum sc_error error = check_frequency(receiver, hz, message);
  if (error != SC_OK || hz == 0) /* exact: not given */
    return error;
  if (SoapySDRDevice_setFrequency(receiver->device, SOAPY_SDR_RX, channel, hz, NULL) != 0)
    return capture_receiver_fail(receiver->name, "cannot be tuned", message);
  return SC_OK;
}

static enum sc_error check_bandwidth(const struct capture_receiver *receiver, double hz,
                                     struct sc_message *message)
{
  struct sc_message all;
  size_t count = 0;
  if (hz == 0) /* exact: not given */
    return SC_OK;
  SoapySDRRange *ranges =
      SoapySDRDevice_getBandwidthRange(receiver->device, SOAPY_SDR_RX, channel, &count);
  return is_within(ranges, count, hz, &all)
             ? SC_OK
             : refuse(receiver, "a bandwidth", hz, "Hz", &all, message);
}

static enum sc_error set_bandwidth(struct capture_receiver *receiver, double hz,
                                   struct sc_message *message)
{
  enum sc_error error = check_bandwidth(receiver, hz, message);
  if (error != SC_OK || hz == 0) /* exact: not given */
    return error;
  if (SoapySDRDevice_setBandwidth(receiver->device, SOAPY_SDR_RX, channel, hz) != 0)
    return capture_receiver_fail(receiver->name, "its bandwidth cannot be set", message);
  return SC_OK;
}

/* Takes over the names, and writes those that there are into `all`. */
static bool has_name(char **names, size_t count, const char *name, struct sc_message *all)
{
  bool found = false;
  size_t used = 0;
  (void)snprintf(all->text, sizeof all->text, "none");
  for (size_t i = 0; i < count; i++) {
    found = found || strcmp(names[i], name) == 0;
    if (used < sizeof all->text)
      used += (size_t)snprintf(all->text + used, sizeof all->text - used, "%s%s", i > 0 ? ", " : "",
                               names[i]);
  }
  SoapySDRStrings_clear(&names, count);
  return found;
}

void capture_receiver_antennas(const SoapySDRDevice *device, struct sc_device_names *antennas)
{
  size_t count = 0;
  char **names = SoapySDRDevice_listAntennas(device, SOAPY_SDR_RX, channel, &count);
  antennas->count = 0;
  for (size_t i = 0; i < count && antennas->count < SC_DEVICE_NAMES_MAX; i++)
    (void)common_clean(antennas->name[antennas->count++], SC_DEVICE_NAME_LENGTH, names[i],
                       strlen(names[i]));
  SoapySDRStrings_clear(&names, count);
}

static enum sc_error check_antenna(const struct capture_receiver *receiver, const char *name,
                                   struct sc_message *message)
{
  size_t count = 0;
  struct sc_message all;
  if (name[0] == 0)
    return SC_OK;
  char **names = SoapySDRDevice_listAntennas(receiver->device, SOAPY_SDR_RX, channel, &count);
  if (!has_name(names, count, name, &all))
    return sc_fail(message, SC_BAD_ARGUMENT, "%s: has no antenna %s, but: %.120s", receiver->name,
                   name, all.text);
  return SC_OK;
}

static enum sc_error set_antenna(struct capture_receiver *receiver, const char *name,
                                 struct sc_message *message)
{
  enum sc_error error = check_antenna(receiver, name, message);
  if (error != SC_OK || name[0] == 0)
    return error;
  if (SoapySDRDevice_setAntenna(receiver->device, SOAPY_SDR_RX, channel, name) != 0)
    return capture_receiver_fail(receiver->name, "its antenna cannot be chosen", message);
  return SC_OK;
}

static enum sc_error check_gain(const struct capture_receiver *receiver, const struct sc_gain *gain,
                                struct sc_message *message)
{
  SoapySDRDevice *device = receiver->device;
  bool whole = gain->name[0] == 0;
  size_t count = 0;
  if (!whole) {
    struct sc_message all;
    char **names = SoapySDRDevice_listGains(device, SOAPY_SDR_RX, channel, &count);
    if (!has_name(names, count, gain->name, &all))
      return sc_fail(message, SC_BAD_ARGUMENT, "%s: has no gain %s, but: %.120s", receiver->name,
                     gain->name, all.text);
  }
  SoapySDRRange range =
      whole ? SoapySDRDevice_getGainRange(device, SOAPY_SDR_RX, channel)
            : SoapySDRDevice_getGainElementRange(device, SOAPY_SDR_RX, channel, gain->name);
  if (gain->db < range.minimum || gain->db > range.maximum) {
    struct sc_message all = {""};
    add_range(&all, &range);
    return refuse(receiver, "a gain", gain->db, "dB", &all, message);
  }
  return SC_OK;
}

/* A gain that is set by hand ends the automatic one, which would move levels while they are
 * measured. */
static enum sc_error set_gain(struct capture_receiver *receiver, const struct sc_gain *gain,
                              struct sc_message *message)
{
  SoapySDRDevice *device = receiver->device;
  const bool whole = gain->name[0] == 0;
  enum sc_error error = check_gain(receiver, gain, message);
  if (error != SC_OK)
    return error;
  if (SoapySDRDevice_hasGainMode(device, SOAPY_SDR_RX, channel))
    (void)SoapySDRDevice_setGainMode(device, SOAPY_SDR_RX, channel, false);
  int failed =
      whole ? SoapySDRDevice_setGain(device, SOAPY_SDR_RX, channel, gain->db)
            : SoapySDRDevice_setGainElement(device, SOAPY_SDR_RX, channel, gain->name, gain->db);
  return failed ? capture_receiver_fail(receiver->name, "its gain cannot be set", message) : SC_OK;
}

static enum sc_error check_correction(const struct capture_receiver *receiver,
                                      const struct sc_tuning *tuning, struct sc_message *message)
{
  if (!tuning->ppm_given)
    return SC_OK;
  if (!SoapySDRDevice_hasFrequencyCorrection(receiver->device, SOAPY_SDR_RX, channel))
    return sc_fail(message, SC_UNSUPPORTED,
                   "%s: --ppm: cannot correct its frequency by itself; --clock-ppm corrects what "
                   "is measured",
                   receiver->name);
  return SC_OK;
}

static enum sc_error set_correction(struct capture_receiver *receiver,
                                    const struct sc_tuning *tuning, struct sc_message *message)
{
  enum sc_error error = check_correction(receiver, tuning, message);
  if (error != SC_OK || !tuning->ppm_given)
    return error;
  if (SoapySDRDevice_setFrequencyCorrection(receiver->device, SOAPY_SDR_RX, channel, tuning->ppm) !=
      0)
    return capture_receiver_fail(receiver->name, "its frequency cannot be corrected", message);
  return SC_OK;
}

static void read_gains(SoapySDRDevice *device, struct sc_tuning *tuned)
{
  size_t count = 0;
  char **names = SoapySDRDevice_listGains(device, SOAPY_SDR_RX, channel, &count);
  tuned->gains[tuned->gain_count++].db = SoapySDRDevice_getGain(device, SOAPY_SDR_RX, channel);
  for (size_t i = 0; i < count && tuned->gain_count < SC_GAINS_MAX; i++) {
    struct sc_gain *gain = &tuned->gains[tuned->gain_count++];
    (void)common_clean(gain->name, sizeof gain->name, names[i], strlen(names[i]));
    gain->db = SoapySDRDevice_getGainElement(device, SOAPY_SDR_RX, channel, names[i]);
  }
  SoapySDRStrings_clear(&names, count);
  tuned->automatic_gain = SoapySDRDevice_hasGainMode(device, SOAPY_SDR_RX, channel) &&
                          SoapySDRDevice_getGainMode(device, SOAPY_SDR_RX, channel);
}

static void read_back(struct capture_receiver *receiver)
{
  SoapySDRDevice *device = receiver->device;
  struct sc_tuning *tuned = &receiver->tuned;
  char *antenna = SoapySDRDevice_getAntenna(device, SOAPY_SDR_RX, channel);
  receiver->centre_hz = SoapySDRDevice_getFrequency(device, SOAPY_SDR_RX, channel);
  *tuned = (struct sc_tuning){
      .tune_hz = receiver->centre_hz,
      .bandwidth_hz = SoapySDRDevice_getBandwidth(device, SOAPY_SDR_RX, channel),
      .ppm_given = SoapySDRDevice_hasFrequencyCorrection(device, SOAPY_SDR_RX, channel)};
  if (antenna != NULL)
    (void)common_clean(tuned->antenna, sizeof tuned->antenna, antenna, strlen(antenna));
  SoapySDR_free(antenna);
  if (tuned->ppm_given)
    tuned->ppm = SoapySDRDevice_getFrequencyCorrection(device, SOAPY_SDR_RX, channel);
  read_gains(device, tuned);
}

enum sc_error capture_receiver_check(const struct capture_receiver *receiver,
                                     const struct sc_tuning *tuning, struct sc_message *message)
{
  enum sc_error error = check_correction(receiver, tuning, message);
  if (error == SC_OK)
    error = check_antenna(receiver, tuning->antenna, message);
  if (error == SC_OK)
    error = check_bandwidth(receiver, tuning->bandwidth_hz, message);
  if (error == SC_OK)
    error = check_frequency(receiver, tuning->tune_hz, message);
  for (size_t i = 0; error == SC_OK && i < tuning->gain_count; i++)
    error = check_gain(receiver, &tuning->gains[i], message);
  return error;
}

/* Each is looked at when its turn comes: what one can do may hang on another. */
enum sc_error capture_receiver_apply(struct capture_receiver *receiver,
                                     const struct sc_tuning *tuning, struct sc_message *message)
{
  enum sc_error error = set_correction(receiver, tuning, message);
  if (error == SC_OK)
    error = set_antenna(receiver, tuning->antenna, message);
  if (error == SC_OK)
    error = set_bandwidth(receiver, tuning->bandwidth_hz, message);
  if (error == SC_OK)
    error = set_frequency(receiver, tuning->tune_hz, message);
  for (size_t i = 0; error == SC_OK && i < tuning->gain_count; i++)
    error = set_gain(receiver, &tuning->gains[i], message);
  read_back(receiver);
  return error;
}
