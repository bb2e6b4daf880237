# Sourced by the scripts that a person or the continuous integration starts: what they share.
# Installs what is missing, configures, builds. Nothing to do takes no time and touches nothing.
set -euo pipefail

root="$(cd "$(dirname "${BASH_SOURCE[0]}")/../.." && pwd)"
cores="$(nproc)"

# Debian 12's names: what the program is built from, and what its tests compare it with.
build_packages=(g++ cmake ninja-build ccache pkg-config libopencv-core-dev libopencv-imgproc-dev
  libdcmtk-dev libboost-program-options-dev nlohmann-json3-dev libpng-dev zlib1g-dev libpugixml-dev
  nettle-dev libcsv-dev libcairo2-dev fonts-dejavu-core qt6-base-dev)
test_packages=(doctest-dev dcmtk dicom3tools librsvg2-bin clang python3 python3-pydicom
  python3-numpy python3-scipy python3-jsonschema python3-pil poppler-utils slurm-wlm munge
  chromium chromium-driver python3-selenium xvfb xauth xdotool)

# install_missing PACKAGE...: calls apt-get only where dpkg doesn't know one of them as installed.
install_missing() {
  if ! command -v dpkg-query > /dev/null; then
    echo "This is no Debian system: see DEVELOPERS.md for the libraries that must be there."
    return
  fi
  local package missing=() as_root=()
  for package in "$@"; do
    if [[ "$(dpkg-query -W -f '${db:Status-Status}' "$package" 2> /dev/null)" != installed ]]; then
      missing+=("$package")
    fi
  done
  if [[ ${#missing[@]} -eq 0 ]]; then return; fi
  if [[ "$(id -u)" -ne 0 ]]; then
    if ! command -v sudo > /dev/null; then
      echo "Missing packages; as root run: apt-get install --no-install-recommends ${missing[*]}" >&2
      exit 1
    fi
    echo "Not root, so apt-get is called with sudo, which may ask for your password."
    as_root=(sudo)
  fi
  echo "Installing with apt-get: ${missing[*]}"
  "${as_root[@]}" apt-get update -q
  "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive \
    apt-get install -q -y --no-install-recommends "${missing[@]}"
}

# install_axe FOLDER: what the tests of the pages have from npm, into FOLDER/browser, as the lock file names it.
install_axe() {
  local folder="$1/browser" from="$root/tests/browser"
  if cmp -s "$from/package-lock.json" "$folder/package-lock.json" &&
    [[ -f "$folder/node_modules/axe-core/axe.min.js" ]]; then return; fi
  if ! command -v npm > /dev/null; then install_missing npm; fi
  mkdir -p "$folder"
  cp "$from/package.json" "$from/package-lock.json" "$folder"
  (cd "$folder" && npm ci --ignore-scripts --no-audit --no-fund --silent) ||
    echo "npm could not install axe-core into $folder: the tests of the pages will fail." >&2
}

# configure FOLDER OPTION...: a Release build in which a warning is an error, unless OPTION says else.
configure() {
  local folder="$1"
  shift
  cmake -S "$root" -B "$folder" -G Ninja -DCMAKE_BUILD_TYPE=Release \
    -DCANALRULE_WARNINGS_ARE_ERRORS=ON "$@" > "$folder/configure.log" 2>&1 || {
    cat "$folder/configure.log"
    exit 1
  }
}

# build FOLDER TARGET...
build() {
  local folder="$1"
  shift
  cmake --build "$folder" --parallel "$cores" --target "$@"
}
