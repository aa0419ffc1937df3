#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# Devices through the real program: the list, a card that plays a composite in real time, one that
# is pulled out, and what a build without them says.
set -u
. "${SC_SRCDIR:-.}/tests/cli/expect.sh"
# shellcheck disable=SC2154 # set by expect.sh
module=$(dirname "$sidecomb")/tests/sound/bench_card.so

# The composite of a station whose pilot has 6 kHz of deviation; 100 kHz are 6 dB below full scale.
export SOAPY_SDR_ROOT=$PWD SOAPY_SDR_PLUGIN_PATH= # no receivers of this machine
make_card() {
  expect 0 compose --ready pilot --set station.pilot.khz=6 --as composite --rate 192k --seconds 4 \
    --type ri16_le -o samples.raw
  cat >sound.conf <<END
pcm_type.bench_card { lib "$module" }
pcm.card {
  type bench_card samples "$PWD/samples.raw" channels 1 rates "48000 192000"
  hint { show on description "a card on the bench" }
}
pcm.pulled {
  type bench_card samples "$PWD/samples.raw" channels 1 rates "192000" unplug 192000
}
END
  export ALSA_CONFIG_PATH=$PWD/sound.conf
}

# key FILE SECTION NAME: a number of the JSON report.
key() {
  awk -v section="\"$2\"" -v name="\"$3\"" '
    index($0, "  " section ": {") == 1 { inside = 1 }
    inside && index($1, name ":") == 1 { sub(/,$/, "", $2); print $2; exit }' "$1"
}

try_cards() {
  make_card
  expect 0 devices
  grep -qx -- '--sound card' out || complain "the card is not listed: $(cat out)"
  grep -qE 'rates +48, 192 kHz' out || complain "its rates are not listed: $(cat out)"
  expect 0 devices --json
  grep -qF '"a card on the bench"' out || complain "the card is not in the JSON: $(cat out)"

  expect 0 report --json --sound card --as composite --full-scale-khz 199.526 --duration 1
  grep -qF '"gaps": 0' out || complain "samples were lost: $(grep gaps out)"
  khz=$(key out pilot deviation_khz)
  awk -v khz="$khz" 'BEGIN { exit !(khz > 5.99 && khz < 6.01) }' ||
    complain "the pilot has $khz kHz instead of 6"

  expect 0 report --sound pulled --as composite
  grep -qF 'pulled: the sound card is gone' out || complain "nothing is said of the card: $(cat out)"
  expect 2 watch --sound pulled --as composite --every 0.5 --keys pilot.deviation_khz
  said 'pulled: the sound card is gone'
  [ "$(grep -c '^[0-9]' out)" -ge 2 ] || complain "watch: $(cat out)"

  expect 2 report --sound card samples.raw
  said 'takes the place of a capture'
  expect 2 report --sound card --rate 96k --as composite
  said 'does not do 96000 samples a second'
}

# The name that is listed is one that a shell takes, and what libraries print is no part of it.
try_receivers() {
  modules=$(dirname "$sidecomb")/tests/receiver
  [ -e "$modules/bench_receiver.so" ] || {
    complain "tests/receiver/bench_receiver.so is not built"
    return
  }
  expect 0 compose --ready pilot --rate 240k --seconds 1 --type ci16_le -o air.ci16
  export SOAPY_SDR_ROOT=$modules SOAPY_SDR_PLUGIN_PATH=$modules
  export SC_BENCH_RECEIVER="samples=$PWD/air.ci16,rate=240000,home=100e6,chatter=babble"
  expect 0 devices
  head -n 1 out | grep -q '^--' || complain "something stands before the list: $(cat out)"
  if grep -q babble out; then complain "the list holds what a library printed: $(cat out)"; fi
  said 'meanwhile the libraries of the devices said:'
  said '  babble on output'
  said '  babble on error?'
  listed=$(grep -e '--receiver .*bench_receiver' out)
  eval "set -- $listed"
  [ "$#" -eq 2 ] || complain "the name is not one word: $listed"
  expect 0 report "$@" --rate 240k --tune 100M --duration 0.5
  expect 0 devices --json
  if grep -q babble out; then complain "the JSON holds what a library printed: $(cat out)"; fi
  export SOAPY_SDR_ROOT=$PWD SOAPY_SDR_PLUGIN_PATH=
}

expect 0 devices --json
if grep -qF '"receivers_built": true' out; then
  try_receivers
fi
expect 0 devices --json
if grep -qF '"sound_built": true' out; then
  try_cards
else
  expect 2 report --sound card --as audio
  said 'knows no sound cards'
fi
exit "$failed"
