#!/bin/sh
# Install the Debian packages that the tests need; name what is missing when that is not allowed.
set -eu
packages="chromium fonts-dejavu-core gcc libc6-dev ir-keytable lirc mosquitto ngspice openssl poppler-utils spin v4l-utils"
missing=""
for package in $packages; do
    dpkg-query -W -f '${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || missing="$missing $package"
done
[ -n "$missing" ] || exit 0
if [ "$(id -u)" = 0 ]; then
    as_root=""
elif sudo -n true 2>/dev/null; then
    as_root="sudo -n"
else
    echo "The tests need these Debian packages:$missing" >&2
    echo "Install them with: sudo apt-get install$missing" >&2
    exit 1
fi
$as_root apt-get update -qq
DEBIAN_FRONTEND=noninteractive $as_root apt-get install -y -qq --no-install-recommends $missing >/dev/null
