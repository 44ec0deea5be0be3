"""What goes on the board: the compiled control program, its plan, and a manifest with digests."""

from pattress.bundle.errors import BundleError, CompilerError, Damaged, Refused
from pattress.bundle.manifest import Manifest, verify
from pattress.bundle.refusal import refusals
from pattress.bundle.writing import write_bundle

__all__ = [
    "BundleError", "CompilerError", "Damaged", "Manifest", "Refused", "refusals", "verify",
    "write_bundle",
]
