"""Names that an engineer knows: what was renamed for its trade term stays so."""

import io
import tokenize
from pathlib import Path

SOURCE = Path(__file__).parents[1] / "src" / "pattress"

# Modules by their former and their present names.
MODULES = {
    "controller/desk": "controller/request_queue", "controller/interpreter": "interpreter", "bench/hand": "bench/upload_agent",
    "bench/alive": "bench/smoke_run", "cli/alive": "cli/smoke_run", "rehearsal/hand": "rehearsal/action_line", "rehearsal/doings": "rehearsal/stimuli",
    "rehearsal/witness": "rehearsal/oracle", "rehearsal/twin": "rehearsal/differential", "rehearsal/watch": "rehearsal/monitor",
    "rehearsal/wishes": "rehearsal/postconditions", "rehearsal/room": "rehearsal/live_run", "proof/owner/course": "proof/owner/timed_trace",
    "proof/parts/strangers": "proof/parts/unknown_inputs", "proof/watched": "proof/instrumented", "web/gate": "web/access",
    "web/works": "web/background_jobs", "web/taking": "web/job/deletion", "web/handing": "web/design/documents", "web/moment": "web/program/live_view",
    "web/back": "web/job/undo", "web/frame": "web/layout", "whole": "atomic_write", "counting": "plural", "marks": "designators",
    "controller/network/wishes": "controller/network/channel_requests", "cli/names": "cli/spoken_names", "web/names": "web/design/spoken_names",
    "spoken/names": "spoken/clashes", "controller/network/names": "controller/network/domain_names", "job/fields": "job/field_types",
    "web/fields": "web/job/form_fields", "repeat/fields": "repeat/field_policy", "controller/infrared/fields": "controller/infrared/code_fields",
    "handover/page": "handover/findings_page", "cli/page": "cli/serve_page", "controller/network/page": "controller/network/http/web_page",
    "pins/picture": "pins/pinout_drawing", "fan/pictures": "fan/charts",
}
# Identifiers that are gone wherever Python code stands; comments, texts and trade words such as an infra-red frame are not looked at.
IDENTIFIERS = {
    "Desk", "desk", "Doing", "doing", "doings", "Deed", "deed", "deeds", "Witness", "Works", "WorkShown", "works_of", "Course", "Moment", "moment_of",
    "frame_of", "write_whole", "relay_mark", "relay_marks", "channel_marks", "device_mark",
    "StrangersPart", "Watched", "watched", "HandingSheet", "AliveError",
}


# Words that no identifier has as a part, MOST_DOINGS for one.
WORDS = {"desk", "doing", "doings", "deed", "deeds", "strangers"}


def identifiers(text: str) -> set[str]:
    """Return every name in a module's code."""
    return {token.string for token in tokenize.generate_tokens(io.StringIO(text).readline) if token.type == tokenize.NAME}


def test_no_module_has_its_former_name():
    assert [former for former in MODULES if (SOURCE / f"{former}.py").exists() or (SOURCE / former / "__init__.py").exists()] == []


def test_modules_of_one_name_are_told_apart():
    assert [path for name in ("names", "fields", "pictures") for path in SOURCE.rglob(f"{name}.py")] == []


def test_every_module_has_its_present_name():
    assert [now for now in MODULES.values() if not ((SOURCE / f"{now}.py").exists() or (SOURCE / now / "__init__.py").exists())] == []


def former(text: str) -> set[str]:
    """Return the names in a module's code that are former ones, or have a former word in them."""
    return {name for name in identifiers(text) if name in IDENTIFIERS or not WORDS.isdisjoint(name.lower().split("_"))}


def test_no_former_identifier_is_left():
    left = {path.relative_to(SOURCE).as_posix(): found for path in sorted(SOURCE.rglob("*.py")) if (found := former(path.read_text("utf-8")))}
    assert left == {}


def test_a_former_identifier_would_be_found():
    assert former("# the desk\nqueue = Desk('doing')\nMOST_DOINGS = 2") == {"Desk", "MOST_DOINGS"}
