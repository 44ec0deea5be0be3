"""Captures to codes with the board's own decoder.

A capture is a sequence of durations [us]: mark, space, mark, ... `decode` runs the very class that runs on
the board over one of them; `pattress.infrared.batch` gives the same answers for many at once.
"""

from dataclasses import dataclass

from pattress.controller.infrared.decoder import TRUSTED, Decoder
from pattress.job.code import Code


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
    def trusted(self):
        """Whether the confidence suffices to act on."""
        return self.confidence >= TRUSTED


def decode(durations, *, decoder=None):
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


def _decoded(frame):
    return Decoded(
        Code(frame.protocol, frame.address, frame.command), bool(frame.repeat),
        frame.toggle if frame.toggle >= 0 else None,
        frame.confidence, frame.scale / 1024, frame.stretch, frame.merged, frame.start, frame.end,
    )
