"""Pattress: one job file in, a sized, proven and documented mains controller out."""

__version__ = "0.1.0"
