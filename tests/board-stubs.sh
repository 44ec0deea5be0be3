#!/bin/sh
# What each board's interpreter offers, as type stubs: one folder for each board, since all of them define `machine`.
# Given the folder of the virtual environment.
set -e
install() {
    [ -e "$1/boards/$2/machine.pyi" ] || "$1/bin/python" -m pip install --quiet --disable-pip-version-check --target "$1/boards/$2" "$3"
}
install "$1" rp2040-wifi micropython-rp2-rpi-pico-w-stubs==1.29.0.post1
install "$1" rp2350-wifi micropython-rp2-rpi-pico2-w-stubs==1.29.0.post1
install "$1" esp32 micropython-esp32-esp32-generic-stubs==1.29.0.post1
install "$1" esp32-c3 micropython-esp32-esp32-generic-c3-stubs==1.29.0.post1
install "$1" esp32-s3 micropython-esp32-esp32-generic-s3-stubs==1.29.0.post1
