"""What can go wrong between the workbench and a board.

    BenchError              nothing, or not all, was done on the board; the text says what runs there now
      LinkError             no port, no answer, or the link was cut
      WrongBoard            another board, interpreter or file system than the bundle is for
      NotTaken              what arrived is not what was sent, or the board refused it
      SmokeRunError            a bundle did not do on this machine what it does on a board
"""

from pattress.errors import PattressError


class BenchError(PattressError):
    """Work at a board was not done. The former program is still the one that starts, unless the text says otherwise."""


class LinkError(BenchError):
    """The board cannot be reached or stopped answering. Usual cause: a cable, or another program at the port."""


class WrongBoard(BenchError):
    """The board is not the one that the job names. Usual cause: two boards on the bench."""


class NotTaken(BenchError):
    """The board did not keep what was sent, or refused it. Try again; a worn flash fails again."""


class SmokeRunError(BenchError):
    """A bundle that runs on this machine did not do what it does on a board. Usual cause: a machine too busy. Try again."""
