"""What one leaves behind on paper. First form: one self-contained page."""

from pattress.handover.context import page_of
from pattress.handover.findings_page import render

__all__ = ["page_of", "render"]
