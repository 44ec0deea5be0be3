"""The JSON Schema of the job file, for editors that check and complete as one types."""

from typing import Any

from pattress.job.model import Job

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def job_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a job file. What tables name in one another is not in it."""
    schema = Job.model_json_schema(mode="validation")
    return {"$schema": DIALECT, **schema, "title": "Pattress job file"}
