#!/usr/bin/env bash
# Opens a report page in headless Chromium and asks whether it came to life: the scripts ran under the
# page's own policy, every picture was drawn, and the console stayed silent.
# Usage: page_in_browser.sh REPORT.html. Exit: 0 yes, 1 no, 77 no Chromium here.
set -u
page=$(realpath -- "${1:?which page?}")
browser=$(command -v chromium || command -v chromium-browser) || { echo "no Chromium here"; exit 77; }
room=$(mktemp -d)
trap 'rm -rf "$room"' EXIT
timeout 120 "$browser" --headless --no-sandbox --disable-gpu --no-first-run --disable-background-networking \
  --disable-component-update --disable-sync --user-data-dir="$room/profile" --window-size=1280,900 \
  --virtual-time-budget=5000 --enable-logging=stderr --dump-dom "file://$page" >"$room/dom" 2>"$room/log"
failed=0
fail() { echo "$1"; failed=1; }
grep -q '<body class="live">' "$room/dom" || fail "the page's script did not run"
grep -o 'CONSOLE[^"]*"[^"]*"' "$room/log" | head -5 | grep . && fail "the console was not silent"
drawn=$(grep -o 'class="canvas"[^>]*aria-label="[^"]\{20,\}' "$room/dom" | wc -l)
svgs=$(grep -o '<svg [^>]*>' "$room/dom" | grep -vc circuit)
hidden=$(grep -o '<figure class="picture" id="[^"]*" hidden' "$room/dom" | wc -l)
places=$(grep -o '<figure class="picture"' "$room/dom" | wc -l)
[ "$drawn" -gt 0 ] && [ "$((drawn + hidden))" -eq "$places" ] || fail "$drawn of $((places - hidden)) pictures were drawn"
[ "$svgs" -eq "$drawn" ] || fail "$svgs of $drawn pictures hold an SVG"
shown=$(grep -o '<article class="entry" id="[^"]*">' "$room/dom" | wc -l)
[ "$shown" -eq 1 ] || fail "$shown designs are shown at once"
[ "$failed" -eq 0 ] && echo "the page lives: $drawn pictures drawn, console silent"
exit "$failed"
