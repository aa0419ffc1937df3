#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# The help is complete and narrow, and the man page knows the same commands and options.
set -u
sidecomb=${SC_BUILDDIR:-.}/sidecomb
page=${SC_SRCDIR:-.}/man/sidecomb.1
failed=0
complain() {
  echo "$*"
  failed=1
}

help=$("$sidecomb" --help) || complain "--help ends with status $?"
[ "$("$sidecomb" -h)" = "$help" ] || complain "-h says something else than --help"
version=$("$sidecomb" --version) || complain "--version ends with status $?"
[[ $version =~ ^sidecomb\ [0-9]+\.[0-9]+ ]] || complain "the version is: $version"

commands=$(sed -n '/^Commands:/,/^$/s/^  \([a-z][a-z]*\) .*/\1/p' <<<"$help")
[ -n "$commands" ] || complain "the help lists no command"
text=$(sed 's/\\-/-/g' "$page")
options=
for command in $commands; do
  own=$("$sidecomb" "$command" --help) || complain "$command --help ends with status $?"
  grep -qE "^\.(BI|B) .*\b$command\b" <<<"$text" || complain "the man page does not know $command"
  options+=$'\n'$(grep -oE '^  --[a-z-]+' <<<"$own")
done
options=$(sort -u <<<"$options" | tr -d ' ' | grep .)
[ "$(wc -l <<<"$options")" -gt 10 ] || complain "the help lists hardly any option: $options"
for option in $options; do
  grep -qE "^\.(BI|B) $option( |\$)" <<<"$text" || complain "the man page does not know $option"
done
for option in $(grep -oE '^\.(BI|B) --[a-z-]+' <<<"$text" | sed 's/^[^-]*//' | sort -u); do
  grep -qxF -- "$option" <<<"$options" || complain "the man page invents $option"
done

# Every member of the JSON report has its line in the man page.
members=$("$sidecomb" report --json "${SC_SRCDIR:-.}/samples/kitefield.sigmf-meta" |
  sed -n 's/^  "\([a-z_]*\)":.*/\1/p')
[ "$(wc -l <<<"$members")" -gt 20 ] || complain "the JSON report has hardly any member: $members"
section=$(sed -n '/^\.SH JSON REPORT/,/^\.SH LIMITS/p' <<<"$text")
for member in $members; do
  grep -qE "^\.B (.*, )?$member(,.*)?\$" <<<"$section" || complain "the man page does not explain $member"
done

wide=$(LC_ALL=C.UTF-8 COLUMNS=72 "$sidecomb" report --help | awk 'length > 72' LC_ALL=C.UTF-8)
[ -z "$wide" ] || complain "wider than 72 columns: $wide"
LC_ALL=C "$sidecomb" report --help | LC_ALL=C grep -nP '[^\x00-\x7f]' && complain "not ASCII in the C locale"
exit "$failed"
