"""What can go wrong with a bundle.

    BundleError             a bundle cannot be written, or must not be used
      Refused               a failed safety check that nobody answers for
      Damaged               a bundle is not what its manifest says
      CompilerError         the compiler refused a module of the control program
      SecretsError          the file of a job's secrets cannot be used
"""

from pattress.errors import PattressError


class BundleError(PattressError):
    """A bundle cannot be written or used. Usual cause: the folder named is something else."""


class Refused(BundleError):
    """A safety check fails and nobody answers for it. Change the design, or accept it in the job file."""


class Damaged(BundleError):
    """A file of a bundle is missing, changed or too many. Write the bundle anew from the job."""


class CompilerError(BundleError):
    """The compiler refused a module: it uses something that MicroPython does not know."""


class SecretsError(BundleError):
    """The file of a job's secrets cannot be used: others may read it, or it holds something else."""
