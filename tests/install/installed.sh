#!/usr/bin/env bash
# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# Builds and runs a program against the installed library, found by pkg-config
# alone. Run by `make installcheck`, which sets PKG_CONFIG_PATH and the rest.
set -eu
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
read -ra flags < <(pkg-config --cflags --libs sidecomb)
# shellcheck disable=SC2086 # CC and CFLAGS may hold several words
${CC:-cc} -std=c11 -pedantic -Wall -Werror ${CFLAGS-} -o "$work/user" "$SC_SRCDIR/tests/install/user.c" "${flags[@]}"
LD_LIBRARY_PATH=$SC_LIBDIR "$work/user"
test "$(pkg-config --modversion sidecomb)" = "$SC_VERSION"
