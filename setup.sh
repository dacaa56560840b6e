#!/usr/bin/env bash
# Sets evenbevel up on Debian 12 or Ubuntu 24.04.
#
#   ./setup.sh demo       installs what it needs, builds it and measures a sample photo
#   ./setup.sh test       installs what the tests need too, builds and runs them
#   ./setup.sh packages   only installs what program and tests need
#
# Further arguments of demo and test go to CMake.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")"

readonly sample_photo=sample-images/edge-ground-offcentre.jpg
readonly sample_camera=calibration/sample-phone.yml
readonly sample_thickness=3.4mm

readonly program_packages=(
  g++ cmake ninja-build pkg-config
  libopencv-dev libeigen3-dev libboost-dev libcli11-dev libfmt-dev nlohmann-json3-dev
  libjpeg-dev libpng-dev libexif-dev libheif-dev libcairo2-dev libsqlite3-dev libminizip-dev
  libssl-dev libqrcodegencpp-dev
)
# The last rows are data and second opinions for tests/outside.
readonly test_packages=(
  libgtest-dev libgmock-dev python3-jsonschema
  dpkg-dev file lintian man-db
  libheif-examples imagemagick libimage-exiftool-perl poppler-utils units
  gretl-data opencv-doc mrcal visp-images-data
  golang-github-disintegration-imaging-dev golang-github-rwcarlsen-goexif-dev
)

# The pages of the reports are opened in it; elsewhere than on Debian it comes another way, and where
# it is missing those tests are skipped.
browser_packages() {
  if grep -qx 'ID=debian' /etc/os-release 2>/dev/null; then echo chromium; fi
}

as_root() {
  if [ "$(id -u)" = 0 ]; then "$@"; else sudo "$@"; fi
}

installed() {
  [ "$(dpkg-query -W -f='${db:Status-Status}' "$1" 2>/dev/null)" = installed ]
}

install_packages() {
  local missing=() package
  for package in "$@"; do installed "$package" || missing+=("$package"); done
  [ ${#missing[@]} = 0 ] && return
  if ! command -v apt-get >/dev/null; then
    echo "setup.sh: this needs Debian or Ubuntu; elsewhere install the like of: ${missing[*]}" >&2
    exit 1
  fi
  echo "installing: ${missing[*]}"
  as_root apt-get update -q
  as_root env DEBIAN_FRONTEND=noninteractive \
    apt-get install -q -y --no-install-recommends "${missing[@]}"
}

build() {
  local arguments=("$@")
  if command -v ccache >/dev/null; then arguments+=(-DCMAKE_CXX_COMPILER_LAUNCHER=ccache); fi
  cmake --preset release "${arguments[@]}"
  cmake --build --preset release
}

demo() {
  install_packages "${program_packages[@]}"
  build -DEVENBEVEL_TESTS=OFF "$@"
  printf '\n$ evenbevel edge %s --thickness %s --camera-file %s -o out\n' \
    "$sample_photo" "$sample_thickness" "$sample_camera"
  # 1: measured, but out of tolerance or not resolved.
  build/release/evenbevel edge "$sample_photo" --thickness "$sample_thickness" \
    --camera-file "$sample_camera" -o out || [ $? = 1 ]
  printf '\nannotated picture: %s\nthe program: %s\n' "$PWD/out/annotated.jpg" \
    "$PWD/build/release/evenbevel"
}

run_tests() {
  install_packages "${program_packages[@]}" "${test_packages[@]}" $(browser_packages)
  build -DEVENBEVEL_TESTS=ON "$@"
  ctest --preset release -j "$(nproc)"
}

case "${1:-}" in
  demo) demo "${@:2}" ;;
  test) run_tests "${@:2}" ;;
  packages) install_packages "${program_packages[@]}" "${test_packages[@]}" $(browser_packages) ;;
  *) sed -n '2,8s/^# \{0,1\}//p' setup.sh; exit 2 ;;
esac
