# Shared by optimize/run.sh and tests/run.sh: packages and build. Sourced, not run.
# Both steps cost nothing when there is nothing to do.

project=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)

# need PACKAGE...: installs those Debian packages that are not there yet.
need() {
  local missing=() package
  for package in "$@"; do
    dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || missing+=("$package")
  done
  [ ${#missing[@]} -eq 0 ] && return 0
  local as_root=()
  if [ "$(id -u)" -ne 0 ]; then
    if command -v sudo >/dev/null; then
      as_root=(sudo)
    else
      echo "These packages are missing and need an administrator to install them:" >&2
      echo "  apt-get install --no-install-recommends ${missing[*]}" >&2
      return 1
    fi
  fi
  echo "Installing: ${missing[*]}" >&2
  "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get update -qq >&2 &&
    "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}" >&2
}

# build FOLDER [CMake option...] -- TARGET...: configures if needed, then builds the targets.
build() {
  local folder=$1 options=()
  shift
  while [ $# -gt 0 ] && [ "$1" != -- ]; do
    options+=("$1")
    shift
  done
  shift
  local log="$folder/build.log"
  mkdir -p "$folder" || return 3
  if ! cmake -G Ninja -S "$project" -B "$folder" "${options[@]}" >"$log" 2>&1 ||
    ! cmake --build "$folder" --target "$@" >>"$log" 2>&1; then
    tail -n 40 "$log" >&2
    echo "The build failed; the whole of it stands in $log" >&2
    return 70
  fi
}

build_packages=(g++ cmake ninja-build libnlopt-dev libnlopt-cxx-dev libeigen3-dev libtbb-dev
  nlohmann-json3-dev libcli11-dev)
test_packages=(doctest-dev dpkg-dev file libngspice0-dev libgsl-dev libboost-dev libpagmo-dev chromium lintian parallel pkg-config python3
  clang-14 lld-14 wasi-libc libc++-14-dev-wasm32 libc++abi-14-dev-wasm32 libclang-rt-14-dev-wasm32)
