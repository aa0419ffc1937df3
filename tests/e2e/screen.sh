# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# A terminal of a given size, keys, and what it shows: sourced by the tests beside it.
# A condition is waited for, never a time; LIMIT is how long before it has failed.
: "${LIMIT:=60}"
top=${SC_SRCDIR:-$(cd "$(dirname "${BASH_SOURCE[0]}")/../.." && pwd)}
build=${SC_BUILDDIR:-$top/build}
sidecomb=$build/sidecomb
sample=$top/samples/kitefield.sigmf-meta
passed=0
failed=0

command -v tmux >/dev/null 2>&1 || {
  echo "tmux is needed for the terminal tests and is not here"
  exit 1
}
[ -x "$sidecomb" ] || {
  echo "$sidecomb is not built"
  exit 1
}

folder=$(mktemp -d)
terminals=0
tm() {
  tmux -S "$folder/$terminals" -f /dev/null "$@"
}
finish() {
  tm kill-server 2>/dev/null
  rm -rf "$folder"
}
trap finish EXIT

# terminal WIDTH HEIGHT [NAME=VALUE...]: a shell in a new terminal of that size.
terminal() {
  local width=$1 height=$2
  shift 2
  tm kill-server 2>/dev/null
  terminals=$((terminals + 1)) # a server of its own: the old one may still be ending
  tm new-session -d -x "$width" -y "$height" \
    "env -u NO_COLOR XDG_CONFIG_HOME=$folder/config LC_ALL=C.UTF-8 ASAN_OPTIONS=detect_leaks=0 $* PS1='ready> ' bash --norc --noprofile -i"
  tm set-option -g status off
  tm set-option -g escape-time 0
  resize "$width" "$height"
  wait_for '^ready>'
}

resize() {
  tm resize-window -x "$1" -y "$2"
}

keys() {
  tm send-keys -- "$@"
}

# A command line typed into the shell.
type_line() {
  tm send-keys -l -- "$1"
  tm send-keys Enter
}

shown() {
  tm capture-pane -p
}

pass() {
  passed=$((passed + 1))
}

fail() {
  failed=$((failed + 1))
  printf 'FAILED: %s\n' "$1"
  shown | sed 's/^/  | /'
}

# Until a line of the screen matches; false after LIMIT seconds.
matches() {
  local end=$((SECONDS + LIMIT))
  until grep -Eq -- "$1" <<<"$(shown)"; do
    [ "$SECONDS" -lt "$end" ] || return 1
    sleep 0.1
  done
}

# wait_for REGEX: a precondition; the test cannot go on without it.
wait_for() {
  matches "$1" && return
  fail "waited for /$1/"
  summary
}

# expect NAME REGEX
expect() {
  if matches "$2"; then pass; else fail "$1: no line matches /$2/"; fi
}

# expect_not NAME REGEX: looks once, so expect the picture first.
expect_not() {
  if shown | grep -Eq -- "$2"; then fail "$1: a line matches /$2/"; else pass; fi
}

# expect_true NAME COMMAND... : until the command is true.
expect_true() {
  local name=$1 end=$((SECONDS + LIMIT))
  shift
  until "$@"; do
    if [ "$SECONDS" -ge "$end" ]; then
      fail "$name"
      return
    fi
    sleep 0.1
  done
  pass
}

flag() {
  [ "$(tm display-message -p "#{$1}")" = "$2" ]
}

# The terminal is as the shell left it: main screen, cursor, echo and line mode.
expect_restored() {
  expect "$1: the shell is back" 'ready>( |$)'
  expect_true "$1: main screen" flag alternate_on 0
  expect_true "$1: cursor" flag cursor_flag 1
  type_line "stty -a | grep -o ' icanon\| echo \|-icanon\|-echo ' | tr -d '\n'; echo ' modes'"
  expect "$1: line mode and echo" '^ icanon echo +modes'
}

summary() {
  echo "$passed passed, $failed failed"
  [ "$failed" -eq 0 ] && [ "$passed" -gt 0 ]
  exit
}
