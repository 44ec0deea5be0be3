"""The job file: what the home has and what its owner wants, as frozen models."""

from pattress.job.model import Job
from pattress.job.problem import JobError, Problem
from pattress.job.reading import Source, load, load_with_source, read
from pattress.job.schema import job_schema

__all__ = ["Job", "JobError", "Problem", "Source", "job_schema", "load", "load_with_source", "read", "starter"]


def starter() -> str:
    """Return a commented job file to start from; it passes as it is."""
    from importlib.resources import files

    return files(__package__).joinpath("starter.toml").read_text("utf-8")
