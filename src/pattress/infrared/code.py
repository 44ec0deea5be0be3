"""The text form of a code belongs to the job file; re-exported for the rooms that decode."""

from pattress.job.code import Code, CodeError, canonical, code, format_code, kaseikyo_check, parse_code  # noqa: F401
