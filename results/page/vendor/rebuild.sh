#!/usr/bin/env bash
# For maintainers: builds charts.min.js anew from the lock file (Node.js and npm needed) and says
# whether the vendored bytes are what comes out. With --update it takes the new bytes and their digest.
# Nothing in the ordinary build runs this.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
room=$(mktemp -d)
trap 'rm -rf "$room"' EXIT
cp "$here"/{entry.mjs,package.json,package-lock.json} "$room"
cd "$room"
npm ci --ignore-scripts --no-audit --no-fund >/dev/null
version() { node -p "require('./node_modules/$1/package.json').version"; }
banner="/*! Apache ECharts $(version echarts), zrender $(version zrender), tslib $(version tslib): \
the parts that entry.mjs names, bundled and minified. Licences: LICENCES.txt, and inside each report page. */"
npx esbuild entry.mjs --bundle --minify --format=iife --target=es2020 --charset=ascii --legal-comments=none \
  --define:process.env.NODE_ENV='"production"' --banner:js="$banner" --log-level=warning --outfile=charts.min.js
sha256sum charts.min.js > charts.min.js.sha256
if [ "${1:-}" = --update ]; then
  cp charts.min.js charts.min.js.sha256 "$here"
  echo "took $(cut -c1-16 charts.min.js.sha256)…; look at LICENCES.txt if a version changed"
elif cmp -s charts.min.js "$here/charts.min.js"; then
  echo "the vendored bundle is what the lock file gives"
else
  echo "the vendored bundle differs from what the lock file gives" >&2
  exit 1
fi
