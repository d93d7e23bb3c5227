#!/usr/bin/env bash
# Installs a build under a folder of its own, builds the 20-line embedding example against it, and makes the
# Debian packages, whose program has to run without the source tree. Usage: check.sh BUILD_FOLDER
set -eu
build=$1
here=$(cd "$(dirname "$0")" && pwd)
root=$(mktemp -d)
trap 'rm -rf "$root"' EXIT
fail() { echo "package: $*" >&2; exit 1; }

cmake --install "$build" --prefix "$root/usr" >/dev/null
program=$root/usr/bin/antiphase
for file in share/antiphase/tubes/12AX7.json share/antiphase/briefs/rehearsal_room.json share/man/man1/antiphase.1.gz \
  share/bash-completion/completions/antiphase share/zsh/vendor-completions/_antiphase \
  share/fish/vendor_completions.d/antiphase.fish share/antiphase/schema/brief.schema.json; do
  [ -s "$root/usr/$file" ] || fail "$file is not installed"
done
"$program" tubes 12AX7 >/dev/null || fail "the installed program does not find its cards"

gunzip -c "$root/usr/share/man/man1/antiphase.1.gz" >"$root/antiphase.1"
# every command and every option of --help stands in the manual and in each completion
for command in $("$program" --help | sed -n '/^Subcommands:/,/^$/p' | awk '/^  [a-z]/ {print $1}'); do
  for option in $("$program" "$command" --help | sed -nE 's/^  (-[a-zA-Z],)?(--[a-z][a-z-]*).*/\2/p' | sort -u); do
    [ "$option" = --help ] && continue
    sed 's/\\-/-/g' "$root/antiphase.1" | grep -qF -- "$option" || fail "$command $option is not in the manual"
    for completion in bash-completion/completions/antiphase zsh/vendor-completions/_antiphase; do
      grep -qF -- "$option" "$root/usr/share/$completion" || fail "$command $option is not in $completion"
    done
    grep -qE -- "from $command'.* -l ${option#--}( |$)" "$root/usr/share/fish/vendor_completions.d/antiphase.fish" ||
      fail "$command $option is not in the completion for fish"
  done
done
bash -n "$root/usr/share/bash-completion/completions/antiphase"
if command -v man >/dev/null; then
  LC_ALL=C.UTF-8 MANWIDTH=80 man --warnings -l "$root/antiphase.1" 2>"$root/man.err" >/dev/null
  [ -s "$root/man.err" ] && fail "the manual page: $(head -3 "$root/man.err")"
fi

cmake -G Ninja -S "$here/embed" -B "$root/embed" -DCMAKE_PREFIX_PATH="$root/usr" -DCMAKE_BUILD_TYPE=Release >/dev/null
cmake --build "$root/embed" >/dev/null
share=$root/usr/share/antiphase
"$root/embed/embed" "$share/tubes" "$share/designs/high_mu_self_biased.json" || fail "the embedding example"

# the same by pkg-config, from a prefix that has moved
mv "$root/usr" "$root/moved"
pc=$(dirname "$(find "$root/moved" -name antiphase.pc)")
flags=$(PKG_CONFIG_PATH=$pc pkg-config --cflags --libs antiphase) || fail "pkg-config does not find the library"
"${CXX:-c++}" -O1 "$here/embed/embed.cpp" -o "$root/by_pkg_config" $flags || fail "the example does not build by pkg-config"
share=$root/moved/share/antiphase
"$root/by_pkg_config" "$share/tubes" "$share/designs/high_mu_self_biased.json" >/dev/null || fail "the example built by pkg-config"
[ "$(PKG_CONFIG_PATH=$pc pkg-config --modversion antiphase)" = "$("$root/moved/bin/antiphase" --version | grep -oE '[0-9]+\.[0-9]+\.[0-9]+' | head -1)" ] ||
  fail "pkg-config and the program name different versions"

export SOURCE_DATE_EPOCH=1764547200  # reproducible-builds.org: the same bytes, whenever they are made
(cd "$root" && cpack --config "$build/CPackConfig.cmake" -B "$root/deb" >/dev/null)
sleep 1
(cd "$root" && cpack --config "$build/CPackConfig.cmake" -B "$root/again" >/dev/null)
for one in "$root"/deb/*.deb; do
  cmp -s "$one" "$root/again/$(basename "$one")" || fail "$(basename "$one") has other bytes when it is made again"
done
package=$(ls "$root"/deb/antiphase_*.deb)
dpkg-deb -x "$package" "$root/unpacked"
(cd / && "$root/unpacked/usr/bin/antiphase" search "$root/unpacked/usr/share/antiphase/briefs/first_stage.json" \
  --effort quick --quiet --out "$root/results" >/dev/null) || fail "the packaged program"
[ -s "$root/results/report.html" ] || fail "the packaged program wrote no page"
dpkg-deb -f "$package" Depends | grep -q libtbb || fail "the package does not name what it needs"
if strings "$root/unpacked/usr/bin/antiphase" | grep -qF "$(cd "$here/../.." && pwd)"; then
  fail "a path of this machine is built into the program"
fi
if command -v lintian >/dev/null; then
  # an address that cannot be written to is one on purpose
  lintian --allow-root --fail-on error --suppress-tags bogus-mail-host "$root"/deb/*.deb >"$root/lintian" 2>&1 ||
    fail "lintian: $(cat "$root/lintian")"
elif [ -n "${ANTIPHASE_NO_SKIPS:-}" ]; then
  fail "lintian is not there"
fi
echo "package: installs, embeds, and runs unpacked: $(basename "$package"), $(stat -c %s "$package") bytes"
