"""What is published holds nothing of its owner, stands by itself, and says where others put their own."""

import json
import tomllib
from copy import deepcopy
from hashlib import sha256

import pytest
from click.testing import CliRunner

from pattress.cautions import CAUTIONS
from pattress.cli import main
from pattress.controller.digest import digest
from pattress.design import design_of
from pattress.errors import UseError
from pattress.job import job_schema, load
from pattress.repeat import field_policy as fields_module
from pattress.repeat.field_policy import Field, fields
from pattress.repeat.folder import read_folder, write_folder
from pattress.repeat.publishing import Publication, points_text, publish, stripped
from pattress.repeat.writing import job_text

from .publishers import EXAMPLES, SEWING_ROOM, document_of

PRIVATE = {
    "title": "Zquarterdeck at 12 Zelkova Lane", "note": "Znote for Zacharias", "broker": "zbroker.zelkova.example:1884", "altitude": "1234 m", "country": "ZW",
    "reason": "Zreason that nobody else must read", "by": "Zacharias Zorn", "date": "2026-03-14", "room": "Znursery", "winding": "123.4 ohm",
}


def private_job(words=PRIVATE):
    """Return the sewing room with every private field filled."""
    job = document_of("sewing-room")
    job["job"] = {"title": words["title"], "note": words["note"]}
    job["network"]["broker"] = words["broker"]
    job["site"] |= {"altitude": words["altitude"], "country": words["country"], "at": {"wall": "north", "along": "1 m", "height": "2 m"}}
    job["wall"] = {"north": {"name": words["room"], "room": words["room"], "width": "4 m", "height": "2.5 m"}}
    job["accept"] = {"contacts.pendant": {"reason": words["reason"], "by": words["by"], "date": words["date"]}}
    job["fan"]["ceiling"]["measured"] = {"main_winding": words["winding"]}
    job["board"]["pins"] = {"relay.pendant": 2}
    return job


def leaves(node, defs, path=()):
    """Yield every path of the job file's schema that holds a value."""
    if "$ref" in node:
        node = defs[node["$ref"].rpartition("/")[2]]
    branches = [branch for word in ("anyOf", "oneOf") for branch in node.get(word, ())]
    tables = [branch for branch in branches if "$ref" in branch]
    if tables:
        for branch in tables:
            yield from leaves(branch, defs, path)
    elif "properties" in node:
        for key, inner in node["properties"].items():
            yield from leaves(inner, defs, (*path, key))
    elif isinstance(node.get("additionalProperties"), dict) and "description" not in node:
        yield from leaves(node["additionalProperties"], defs, (*path, "*"))
    else:
        yield path


def schema_leaves():
    schema = job_schema()
    return set(leaves(schema, schema["$defs"]))


def test_every_field_of_the_job_file_is_decided_once():
    for path in schema_leaves():
        assert len([field for field in fields() if field.covers(path)]) == 1, path


def test_every_decision_is_about_a_field_that_exists_and_says_why_it_stays_at_home():
    known = schema_leaves()
    for field in fields():
        assert any(field.covers(path) for path in known), field.path
        assert field.published or field.why
        assert field.question or field.adopted in ("", "design")


def test_a_field_nobody_has_decided_is_not_published():
    job = document_of("sewing-room")
    job["secrets"] = {"wifi": "hunter2"}
    job["load"]["pendant"]["owner"] = "somebody"
    left = stripped(job)
    assert "secrets" not in left and "owner" not in left["load"]["pendant"]


@pytest.fixture(scope="module")
def publication(design):
    return publish(private_job(), design, CAUTIONS)


def test_nothing_private_is_in_any_file(publication):
    everything = "\n".join((*publication.files, *publication.files.values()))
    for word in [word for text in PRIVATE.values() for word in (text, *text.split())]:
        if word[0] in "Zz" or word in (PRIVATE["altitude"], PRIVATE["country"], PRIVATE["winding"], PRIVATE["date"]):
            assert word not in everything, word


def test_other_private_values_publish_the_same_bytes(publication, design):
    others = {key: value.replace("Z", "Q").replace("z", "q") for key, value in PRIVATE.items()}
    others |= {"altitude": "99 m", "country": "ZA", "date": "2025-01-02", "winding": "99 ohm"}
    assert publish(private_job(others), design, CAUTIONS).files == publication.files


def test_a_leak_would_be_seen(design, monkeypatch):
    """The fault seeded: one private field let through."""
    leaky = tuple(Field(field.path, True, field.adopted, field.question) if field.path == ("network", "broker") else field for field in fields())
    monkeypatch.setattr(fields_module, "fields", lambda: leaky)
    found = publish(private_job(), design, CAUTIONS)
    assert PRIVATE["broker"] in "\n".join(found.files.values())


def test_comments_stay_at_home(tmp_path):
    marked = SEWING_ROOM.read_text("utf-8").replace('power = "9 W"', 'power = "9 W"   # Zcomment')
    (tmp_path / "job.toml").write_text(f"# Zopening\n{marked}", "utf-8")
    result = CliRunner().invoke(main, ["bundle", str(tmp_path / "job.toml"), "--publish", str(tmp_path / "out")])
    assert result.exit_code == 0, result.output
    for file in (tmp_path / "out").rglob("*"):
        assert file.is_dir() or not {b"Zcomment", b"Zopening", str(tmp_path).encode()} & {word for word in (b"Zcomment", b"Zopening", str(tmp_path).encode()) if word in file.read_bytes()}


@pytest.mark.parametrize("name", ["sewing-room", "garden-workshop", "landing"])
def test_a_job_written_anew_is_the_same_job(name, tmp_path):
    (tmp_path / "job.toml").write_text(job_text(document_of(name)), "utf-8")
    assert load(tmp_path / "job.toml") == load(EXAMPLES / name / "job.toml")


def test_an_input_is_published_without_its_place_and_asked_for(tmp_path):
    job = tmp_path / "job.toml"
    job.write_bytes((EXAMPLES / "garden-workshop" / "job.toml").read_bytes())
    folder = tmp_path / "folder"
    write_folder(folder, publish(document_of("garden-workshop"), design_of(job), CAUTIONS))
    assert load(folder / "job.toml").input["bin"] == load(job).input["bin"].model_copy(update={"at": None})
    points = {point["key"]: point["question"] for point in tomllib.loads((folder / "points.toml").read_text("utf-8"))["point"]}
    assert points["input.bin.name"] == "What do you call the contact?" and points["input.bin.cable"] == "How long is its cable?"


def test_the_published_job_keeps_everything_that_is_design(published, design):
    before, after = design.job, load(published / "job.toml")
    for section in ("load", "fan", "switch", "regulator", "remote", "sensor"):
        for key, thing in getattr(before, section).items():
            assert getattr(after, section)[key] == (thing.model_copy(update={"at": None}) if hasattr(thing, "at") else thing)
    assert after.wish == before.wish and after.feed == before.feed
    assert after.network.broker == "none" and after.job.note == ""


def test_the_digest_in_the_readme_is_that_of_a_rebuild(published):
    plan = design_of(published / "job.toml").plan
    assert f"`{digest(plan)}`" in (published / "README.md").read_text("utf-8")


def test_the_list_of_points_says_question_original_allowed_and_cost(published):
    points = {point["key"]: point for point in tomllib.loads((published / "points.toml").read_text("utf-8"))["point"]}
    length = points["feed.lights.cable.length"]
    assert (length["adopted"], length["original"]) == ("anew", "18 m") and "at most 500 m" in length["allowed"]
    assert {key for key, point in points.items() if point["adopted"] == "anew"} >= {
        "supply.system", "supply.earthing", "feed.lights.device.rating", "feed.sockets.device.curve", "load.ironing.run.section", "site.altitude"}
    assert any(cost.startswith("taken instead: 50 a day") for cost in points["load.pendant.operations_per_day"]["unknown_costs"])
    assert "original" not in points["network.broker"] and "original" not in points["site.altitude"]


def test_names_that_others_will_read_are_listed_and_those_near_a_secret_pointed_at(design):
    job = private_job()
    job["load"]["pendant"]["name"] = "Lamp of Zacharias"
    found = publish(job, design, CAUTIONS)
    assert found.suspects == ("Lamp of Zacharias",)
    assert {"Bench light", "bench", "drawer", "green"} <= set(found.names) and "kind" not in found.names


def points_of_files(files):
    return points_text((), {name: sha256(content.encode()).hexdigest() for name, content in files.items()}).replace("[files]", "point = []\n[files]")


def test_publishing_again_replaces_and_strangers_stop_it(tmp_path):
    folder = tmp_path / "folder"
    write_folder(folder, Publication({"old.csv": "1", "job.toml": "", "points.toml": points_of_files({"old.csv": "1", "job.toml": ""})}, (), (), ""))
    write_folder(folder, Publication({"job.toml": "x"}, (), (), ""))
    assert [file.name for file in folder.iterdir()] == ["job.toml"]
    with pytest.raises(UseError, match="holds job.toml, which no publication put there as it is"):
        write_folder(folder, Publication({"job.toml": "y"}, (), (), ""))


def test_a_changed_file_is_seen(published, tmp_path):
    for file in published.rglob("*"):
        if file.is_file():
            (tmp_path / file.relative_to(published)).parent.mkdir(exist_ok=True)
            (tmp_path / file.relative_to(published)).write_bytes(file.read_bytes())
    assert read_folder(tmp_path).document["feed"]["lights"]["device"]["rating"] == "10 A"
    (tmp_path / "job.toml").write_bytes((tmp_path / "job.toml").read_bytes().replace(b'"10 A"', b'"63 A"'))
    (tmp_path / "schedules" / "pins.csv").unlink()
    with pytest.raises(UseError, match="job.toml differs; schedules/pins.csv is missing"):
        read_folder(tmp_path)


def test_a_job_that_is_refused_is_not_published(tmp_path):
    result = CliRunner().invoke(main, ["bundle", str(EXAMPLES / "landing" / "job.toml"), "--publish", str(tmp_path / "out")])
    assert result.exit_code == 1 and not (tmp_path / "out").exists()


def test_a_job_that_stands_only_by_an_acceptance_says_so(design):
    job = deepcopy(document_of("sewing-room"))
    job["load"]["ironing"]["power"] = "5 kW"
    readme = publish(job, design, CAUTIONS).files["README.md"]
    assert "- **fails**: Can the relay of Ironing socket" in readme and "who builds it answers for it" in readme


def test_the_title_goes_out_only_when_given(tmp_path):
    result = CliRunner().invoke(main, ["bundle", str(SEWING_ROOM), "--publish", str(tmp_path / "out"), "--title", "Five loads", "--json"])
    assert load(tmp_path / "out" / "job.toml").job.title == "Five loads"
    assert json.loads(result.stdout)["names"][0] == "Five loads"
    refused = CliRunner().invoke(main, ["bundle", str(SEWING_ROOM), "--title", "x"])
    assert (refused.exit_code, refused.stderr.splitlines()[0]) == (2, "--title was given without --publish")
