"""A thing is taken out of the job with all that only spoke of it, and nothing else."""

import pytest

from pattress.design.rewriting import edited
from pattress.design.tables import with_table
from pattress.web.job import deletion

from .reading import plainly


def test_what_goes_along_is_told_before_anything_is_taken(served, client):
    before = served.file.read_text()
    text = plainly(client.post("/thing/load/wall", data={"do": "remove:load/wall"}).text)
    assert "What goes along with Wall lights" in text and "switch.door_right goes: By the door, right" in text
    assert served.file.read_text() == before
    answer = client.post("/thing/load/wall", data={"do": "along:load/wall"})
    assert answer.status_code == 200 and "wall" not in served.draft.now.design.job.load
    job, after = served.draft.now.design.job, served.file.read_text()
    assert "door_right" not in job.switch and "door" in job.switch
    assert all("wall" not in action.things for switch in job.switch.values() for action in switch.does)
    kept = [line for line in before.splitlines() if line.startswith("#")]
    assert sum(line in after for line in kept) >= len(kept) - 3         # those right above what went are gone with it
    served.draft.undo()
    assert served.file.read_text() == before


@pytest.mark.parametrize(("section", "keys"), [("load", ("pendant", "bench", "ironing", "machine")), ("fan", ("ceiling",)),
                                              ("switch", ("door", "bench", "leaving")), ("wall", ("door", "bench")), ("remote", ("drawer",))])
def test_every_thing_of_the_example_can_be_taken_out(served, client, section, keys):
    job = served.draft.now.design.job
    for key in (key for key in keys if key in getattr(job, section)):
        before = served.file.read_text()
        client.post(f"/thing/{section}/{key}", data={"do": f"along:{section}/{key}"})
        gone = key not in getattr(served.draft.now.design.job, section)
        answer = client.post(f"/thing/{section}/{key}", data={"do": f"along:{section}/{key}"}).text if not gone else ""
        assert gone or (section == "switch" and "wish.light" in answer), (section, key)     # a wish that it is followed must go first
        if gone:
            served.draft.undo()
        assert served.file.read_text() == before


def test_an_acceptance_goes_with_the_load_it_is_about(served):
    signed = {"reason": "only for the trial on the bench", "by": "A. Tester", "date": "2026-11-25"}
    version = served.draft.replace(with_table(served.draft.now.text, ("accept", "contacts.pendant"), signed))
    assert (("accept", "contacts.pendant"), None) in deletion.along(version, "load", "pendant")
    assert all(path[0] != "accept" for path, _ in deletion.along(version, "load", "bench"))


def test_soldered_pins_and_places_go_with_what_they_belong_to(served):
    text = edited(served.draft.now.text, [(("board", "pins"), {"relay": {"pendant": 6}, "switch.door": 7, "infrared": 8})], "job.toml")
    version = served.draft.replace(text)
    assert ((("board", "pins", "relay"), None)) in deletion.along(version, "load", "pendant")
    assert ((("board", "pins", "switch.door"), None)) in deletion.along(version, "switch", "door")
    wall = next(iter(version.design.job.wall))
    freed = [path for path, value in deletion.along(version, "wall", wall) if path[-1] == "at" and value is None]
    assert len(freed) == sum(place.wall == wall for _, place in version.design.job.places())
