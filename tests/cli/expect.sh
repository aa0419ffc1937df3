# shellcheck shell=bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# What the scripts of this room share: a folder of their own, the program, and how it is asked.
sidecomb=$(realpath "${SC_BUILDDIR:-.}")/sidecomb
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
cd "$folder" || exit 1
export LC_ALL=C.UTF-8
failed=0
complain() {
  echo "$*"
  failed=1
}

# expect STATUS ARGUMENTS...: its output is in out and err.
expect() {
  "$sidecomb" "${@:2}" >out 2>err </dev/null
  local status=$?
  [ "$status" -eq "$1" ] || complain "${*:2}: status $status instead of $1: $(head -c 300 err)"
}

# said WORDS: on standard error.
said() {
  grep -qF -- "$1" err || complain "'$1' is not said: $(head -c 300 err)"
}
