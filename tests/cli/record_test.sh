#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# Recordings: the samples that came in, bit by bit; a full disk, a name that is taken, and a
# program that is killed leave a valid file.
set -u
. "${SC_SRCDIR:-.}/tests/cli/expect.sh"

expect 0 compose --ready pilot --rate 240k --seconds 2 --type ci16_le -o made.sigmf
expect 0 compose --ready pilot --as composite --rate 192k --seconds 2 --bits 24 -o made.wav

# A pair holds the very samples and the tuned frequency.
expect 0 record made.sigmf-meta -o kept.sigmf-meta
cmp made.sigmf-data kept.sigmf-data || complain "the samples are others"
expect 0 report --json kept.sigmf-meta
cp out kept.json
expect 0 report --json made.sigmf-meta
diff <(grep '"deviation_khz"' kept.json) <(grep '"deviation_khz"' out) >/dev/null ||
  complain "the recording measures differently"
grep -q 'core:frequency' made.sigmf-meta && {
  grep -q 'core:frequency' kept.sigmf-meta || complain "the tuned frequency is lost"
}

# Every tuning that falls into what is copied, with its time (the later by what is left out before)
# and its place in the stream. By hand: 0.25 s after 12:00:59.875 is 12:01:00.125.
cat >two.sigmf-meta <<'END'
{"global": {"core:datatype": "ci16_le", "core:sample_rate": 240000, "core:version": "1.0.0"},
 "captures": [
  {"core:sample_start": 0, "core:frequency": 98e6, "core:datetime": "2031-05-04T12:00:59.875Z"},
  {"core:sample_start": 240000, "core:frequency": 99e6, "core:datetime": "2031-05-04T12:05:00Z",
   "core:global_index": 1000},
  {"core:sample_start": 360000, "core:frequency": 99e6, "core:datetime": "2031-05-04T12:05:00.5Z",
   "core:global_index": 121000}]}
END
cp made.sigmf-data two.sigmf-data
captures() {
  tr -d ' \n' <"$1" | sed 's/.*"captures":\[\(.*\)\],"annotations":\(.*\)}/\1 \2/'
}
second='{"core:sample_start":S,"core:frequency":99000000,"core:datetime":"2031-05-04T12:05:00Z"'
second+=',"core:global_index":1000}'
third='{"core:sample_start":T,"core:frequency":99000000,"core:datetime":"2031-05-04T12:05:00.5Z"'
third+=',"core:global_index":121000}'
two() { # START-OF-SECOND START-OF-THIRD
  printf '%s,%s []' "${second/S/$1}" "${third/T/$2}"
}
expect 0 record two.sigmf-meta -o both.sigmf-meta
first='{"core:sample_start":0,"core:frequency":98000000,"core:datetime":"2031-05-04T12:00:59.875Z"}'
[ "$(captures both.sigmf-meta)" = "$first,$(two 240000 360000)" ] ||
  complain "two tunings: $(captures both.sigmf-meta)"
[ "$(wc -l <err)" -eq 1 ] || complain "more than a line: $(cat err)"
said 'both.sigmf-meta: 2 s, 480000 frames.'
expect 0 record --start 0.25 two.sigmf-meta -o later.sigmf-meta
first='{"core:sample_start":0,"core:frequency":98000000,"core:datetime":"2031-05-04T12:01:00.125000000Z"}'
[ "$(captures later.sigmf-meta)" = "$first,$(two 180000 300000)" ] ||
  complain "the later part of two tunings: $(captures later.sigmf-meta)"
expect 0 record both.sigmf-meta -o twice.sigmf-meta
cmp both.sigmf-meta twice.sigmf-meta || complain "recorded again, the metadata are others"
expect 0 record two.sigmf-meta -o two.wav
said 'has no place for tuned frequency, time and settings of 3 capture segments'

# What a capture says of its passages is kept, moved by what is left out before.
annotations() {
  tr -d ' \n' <"$1" | sed 's/.*"annotations"://'
}
[ "$(annotations kept.sigmf-meta)" = "$(annotations made.sigmf-meta)" ] ||
  complain "annotations: $(annotations kept.sigmf-meta)"
annotations kept.sigmf-meta | grep -q '"core:label":"' || complain "there are no annotations to keep"
sed 's/}]}$/}], "annotations": [{"core:sample_start": 120000, "core:sample_count": 120000,'\
' "core:label": "one"}, {"core:sample_start": 400000, "core:label": "two"}]}/' two.sigmf-meta >note.sigmf-meta
cp two.sigmf-data note.sigmf-data
expect 0 record --start 0.75 --duration 0.75 note.sigmf-meta -o noted.sigmf-meta
one='{"core:sample_start":0,"core:sample_count":60000,"core:label":"one"}'
[ "$(annotations noted.sigmf-meta)" = "[$one]}" ] || complain "notes: $(annotations noted.sigmf-meta)"

# WAV keeps its 24 bits, and below 4 GB it is no RF64.
expect 0 record --as composite made.wav -o kept.wav
[ "$(head -c 4 kept.wav)" = RIFF ] || complain "a short file is no plain WAV"
expect 0 record --as composite kept.wav -o again.wav
cmp kept.wav again.wav || complain "recorded again it is another file"
expect 0 record --as composite --start 0.5 --duration 1 made.wav -o part.wav
said 'part.wav: 1 s, 192000 frames.'

# Names.
expect 2 record made.sigmf-meta -o kept.sigmf-meta
said 'is there already; name another file, or say --replace'
cmp made.sigmf-data kept.sigmf-data || complain "a refused recording changed the file"
expect 0 record --replace made.sigmf-meta -o kept.sigmf-meta
expect 2 record made.sigmf-meta -o kept.flac
said '.sigmf-meta or .wav'
expect 2 record made.sigmf-meta
said '--out'
expect 2 record made.sigmf-meta -o nowhere/kept.sigmf-meta
said 'nowhere/kept.sigmf-data'
[ "$(wc -l <err)" -eq 1 ] || complain "more than a line: $(cat err)"

# A pipe that brings nothing, or ends before the part that is asked for, leaves nothing, and what
# stood under the name.
empty() { # BYTES ARGUMENTS...
  head -c "$1" /dev/zero | "$sidecomb" record --type cu8 --rate 240k - "${@:2}" >out 2>err
  local status=$?
  [ "$status" -eq 1 ] || complain "an empty pipe ends with status $status"
  said 'standard input: no samples came, so nothing is recorded'
  [ "$(wc -l <err)" -eq 1 ] || complain "more than a line: $(cat err)"
}
empty 0 -o empty.sigmf-meta
empty 0 -o empty.wav
empty 4800 --start 1 -o empty.sigmf-meta
[ -z "$(find . -name 'empty.*')" ] || complain "nothing came and left a file"
empty 0 --replace -o twice.sigmf-meta
cmp both.sigmf-data twice.sigmf-data || complain "nothing came and took a recording away"

# No more room: one line, and what was written can be read. SIGXFSZ is ignored, so that the limit
# shows as a failed write, like a full disk.
full() { # NAME STATUS-OF-THE-REPORT ARGUMENTS...
  (
    trap '' XFSZ
    ulimit -f 1000 # KiB
    exec "$sidecomb" record "${@:2}" -o "$1"
  ) >out 2>err </dev/null
  [ $? -eq 2 ] || complain "a full disk ends with another status: $(cat err)"
  said 'writing failed'
  said 's, '
}
full full.sigmf-meta made.sigmf-meta
cmp -n "$(stat -c %s full.sigmf-data)" made.sigmf-data full.sigmf-data || complain "other samples"
[ "$(stat -c %s full.sigmf-data)" -gt 1000000 ] || complain "hardly anything was written"
[ $(($(stat -c %s full.sigmf-data) % 4)) -eq 0 ] || complain "a part of a frame is left"
expect 0 report --json full.sigmf-meta
full full.wav --as composite made.wav
expect 0 report --json --as composite full.wav
grep -qE '"duration_s": 1\.7[0-9]*' out || complain "full.wav: $(grep duration_s out)"

# No room from the start: one line, and nothing that holds nothing.
for room in 0 1; do # KiB
  for name in begun.sigmf-meta begun.wav; do
    (
      trap '' XFSZ
      ulimit -f $room
      exec "$sidecomb" record made.sigmf-meta -o $name 2>&1 >/dev/null </dev/null | cat >&3
    ) 3>&1 | (ulimit -f unlimited; cat) >said
    [ "$(grep -c 'begun.*writ' said)" -eq 1 ] || complain "no room for $name: $(cat said)"
    [ -z "$(find . -name 'begun*')" ] || complain "no room left $(find . -name 'begun*')"
    rm -f begun*
  done
done

# Killed amid a stream: what came a second before at the latest is there.
mkfifo pipe
exec 3<>pipe
"$sidecomb" record --type ci16_le --rate 240k - -o killed.sigmf-meta <pipe >out 2>err &
recording=$!
cat made.sigmf-data >&3
for _ in $(seq 100); do
  [ "$(stat -c %s killed.sigmf-data 2>/dev/null || echo 0)" -ge 1900000 ] && break
  sleep 0.1
done
kill -KILL $recording
wait $recording 2>/dev/null
exec 3>&-
expect 0 report --json killed.sigmf-meta

# A signal ends it in order, also while nothing comes.
exec 3<>pipe
env --default-signal=INT "$sidecomb" record --type ci16_le --rate 240k - -o ended.wav <pipe \
  >out 2>err &
recording=$!
cat made.sigmf-data >&3
for _ in $(seq 100); do
  [ "$(stat -c %s ended.wav 2>/dev/null || echo 0)" -ge 1900000 ] && break
  sleep 0.1
done
kill -INT $recording
wait $recording || complain "a signal ends it with status $?: $(cat err)"
exec 3>&-
said 'ended.wav: 2 s, 480000 frames.'

# What is read is not written over, by whatever name.
ln -s made.sigmf-data other.sigmf-data
ln made.sigmf-data linked.sigmf-data
ln made.sigmf-meta half.sigmf-meta
ln made.wav linked.wav
sed 's/"global": *{/&"core:dataset": "linked.sigmf-data",/' two.sigmf-meta >far.sigmf-meta
sha256sum made.* two.* far.* >before
onto() { # NAME ARGUMENTS...
  "$sidecomb" record --replace -o "$@" >out 2>err <made.sigmf-data
  local status=$?
  [ "$status" -eq 2 ] || complain "recording onto the input ends with status $status: $(cat err)"
  said 'is the one that is read'
  sha256sum --quiet -c before || complain "recording $* changed what it reads"
}
onto made.sigmf-meta made.sigmf-meta
onto other.sigmf-meta made.sigmf-meta
onto linked.sigmf-meta made.sigmf-meta
onto half.sigmf-meta made.sigmf-meta
onto linked.wav --as composite made.wav
onto made.sigmf-meta far.sigmf-meta
onto linked.sigmf-meta --type ci16_le --rate 240k -
onto linked.sigmf-meta --type ci16_le --rate 240k ./made.sigmf-data
[ ! -e half.sigmf-data ] || complain "a refused recording left half a pair"

# A folder that is removed amid a stream ends it, with one line.
mkdir folder
exec 3<>pipe
"$sidecomb" record --type ci16_le --rate 240k - -o folder/lost.wav <pipe >out 2>err &
recording=$!
cat made.sigmf-data >&3
for _ in $(seq 100); do
  [ "$(stat -c %s folder/lost.wav 2>/dev/null || echo 0)" -ge 1900000 ] && break
  sleep 0.1
done
rm -r folder
cat made.sigmf-data >&3 & # nobody takes all of it
feeding=$!
wait $recording
status=$?
kill $feeding 2>/dev/null
exec 3>&-
[ "$status" -eq 2 ] || complain "a folder that is gone ends with status $status: $(cat err)"
said 'folder/lost.wav: is no longer there'
exit "$failed"
