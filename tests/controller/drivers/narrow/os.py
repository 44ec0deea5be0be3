"""Stands before the interpreter's `os` where the build for 32-bit numbers finds no random numbers."""

from uos import *


def urandom(count):
    with open("/dev/urandom", "rb") as file:
        return file.read(count)
