"""The errors of the program: all mean that a person's input cannot be used as it is.

    PattressError           the text is for a person; a command ends with exit code 2
      JobError              pattress.job: the job file; carries every problem found in it
      StockError            pattress.stock: a parts or boards file
      UseError              a command was given something that does not exist

A failing check is no error: it is a finding.
"""


class PattressError(Exception):
    """What happened, and what to try, in words for a person."""


class UseError(PattressError):
    """A command was asked for something that is not there; the text says what there is."""
