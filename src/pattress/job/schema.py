"""The JSON Schema of the job file, for editors that check and complete as one types."""

from typing import Any

from pattress.job.model import Job

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def job_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a job file.

    What tables name in one another is not in it, and it wants keys of several parts in quotes,
    `[accept."contacts.pendant"]`, where the reader takes them without.
    """
    schema = Job.model_json_schema(mode="validation")
    for record in (schema, *schema["$defs"].values()):
        for field in record.get("properties", {}).values():
            if field.get("type") == "string" and not isinstance(field.get("default", ""), str):
                del field["default"]           # a quantity is a float in the model, and text with a unit in the file
    return {"$schema": DIALECT, **schema, "title": "Pattress job file"}
