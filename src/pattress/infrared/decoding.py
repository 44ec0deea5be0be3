"""Captures to codes with the board's own decoder.

A capture is a sequence of durations [us]: mark, space, mark, ... `decode` runs the very class that runs on
the board over one of them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pattress.controller.infrared import protocols as p
from pattress.controller.infrared.decoder import TRUSTED, Decoder, decoder_of
from pattress.job.code import Code

if TYPE_CHECKING:
    from pattress.controller.infrared.reading import Frame


@dataclass(frozen=True)
class Decoded:
    """One frame found in a capture."""

    code: Code
    repeat: bool            # the key was already held
    toggle: int | None      # 0 or 1 where the protocol sends one
    confidence: int         # 0 to 100; `TRUSTED` and above may be acted on
    clock: float            # the remote's time unit against nominal, 1.0 if not measured
    stretch: int            # marks longer than sent by this [us]
    merged: int             # disturbances taken out
    start: int              # place of its first duration in the burst
    end: int                # place after its last

    @property
    def trusted(self) -> bool:
        """Whether the confidence suffices to act on."""
        return self.confidence >= TRUSTED

    @property
    def doubt(self) -> str:
        """Why a frame is too weak to act on and what to do, in words; "" for a trusted one."""
        if self.trusted:
            return ""
        if self.code.protocol == p.HASH:
            return "too weak: of no known protocol; the board acts on it once it was learnt from three presses that agree"
        if self.code.protocol in (p.SHARP, p.DENON):
            return "too weak: half of a pair, the other half is missing; hold the button longer, record the whole press"
        return "too weak: disturbed; keep the receiver away from lamps, hold the remote closer, press again"


def board_decoder(codes: Sequence[Code]) -> Decoder:
    """Return the decoder of a board whose buttons have these `Code`s, as the board itself makes it."""
    codes = list(codes)
    made: Decoder = decoder_of(*([getattr(code, column) for code in codes] for column in ("protocol", "address", "command")))
    return made


def decode(durations: Sequence[int], *, decoder: Decoder | None = None) -> list[Decoded]:
    """Return the frames in one capture as a list of `Decoded`, in order.

    Parameters
    ----------
    durations : iterable of int
        Marks and spaces [us] in turn, beginning with a mark. Zero and negative ones count as missing.
    decoder : Decoder, optional
        Reused and reset; one is made if absent.

    Raises nothing for any integers.
    """
    decoder = decoder or Decoder()
    decoder.reset()
    found = []
    sign = 1
    for duration in durations:
        for place in range(decoder.feed(sign * duration if duration > 0 else 0)):
            found.append(_decoded(decoder.frames[place]))
        sign = -sign
    for place in range(decoder.idle()):
        found.append(_decoded(decoder.frames[place]))
    return found


def _decoded(frame: "Frame") -> Decoded:
    return Decoded(
        Code(frame.protocol, frame.address, frame.command), bool(frame.repeat),
        frame.toggle if frame.toggle >= 0 else None,
        frame.confidence, frame.scale / 1024, frame.stretch, frame.merged, frame.start, frame.end,
    )
