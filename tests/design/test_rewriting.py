"""Changes written into a job file: what was asked changes, everything else stays, and it reads back."""

from collections import Counter
from difflib import ndiff

import pytest

from pattress.design.choices import Kind, catalogue, chosen_job
from pattress.design.prices import load_prices
from pattress.design.rewriting import edited, rewritten, write_changes
from pattress.errors import UseError
from pattress.job import read
from tests.design import seeded


def lines_changed(before, after):
    old, new = Counter(before.splitlines()), Counter(after.splitlines())
    return list((old - new).elements()), list((new - old).elements())


def change(text, *wanted):
    """Return the text with, of each key, the option that shows so."""
    job, _ = read(text, "job.toml")
    design = seeded.design_of_text(text)
    choices = catalogue(design, load_prices())
    picks = tuple(next((place for place, option in enumerate(choice.options) if (choice.key, option.shown) in wanted), 0) for choice in choices)
    assert sum(map(bool, picks)) == len(wanted)
    edits = tuple(edit for choice, pick in zip(choices, picks) for edit in choice.options[pick].edits)
    return rewritten(text, edits, chosen_job(job, choices, picks), "job.toml")


def test_a_value_changes_and_its_comment_stays():
    text = seeded.text(seeded.RELAY, seeded.CABLE)
    after = change(text, ("load.ironing.relay", "RT314005"), ("feed.sockets.cable.section", "4 mm²"), ("feed.lights.device", "C 13 A"))
    gone, new = lines_changed(text, after)
    assert len(after.splitlines()) == len(text.splitlines())
    assert new == [
        'device = { kind = "miniature circuit-breaker", curve = "C", rating = "13 A", breaking_capacity = "6 kA" }',
        'cable = { section = "4 mm2", length = "16 m", method = "B2", grouped = 3 }   # in the old conduit',
        'relay = "RT314005"     # from a drawer',
    ]
    assert len(gone) == 3


def test_a_new_key_stands_at_the_end_of_its_own_table():
    text = seeded.text()
    after = change(text, ("load.pendant.relay", "RT314005"))
    assert 'height = "ceiling" }\nrelay = "RT314005"\n\n# A linear driver' in after
    assert after.replace('relay = "RT314005"\n', "") == text


@pytest.mark.parametrize("soldered, left", [
    ('pins = { relay.pendant = 24, "switch.door" = 3 }   # soldered', 'pins = { "switch.door" = 3 }   # soldered'),
    ("pins = { relay.pendant = 24 }   # soldered", "pins = {}   # soldered"),
    ('pins = { "relay.pendant" = 24, switch.door = 3 }', "pins = { switch = { door = 3 } }"),
    ("pins.relay.pendant = 24   # here", ""),
    ("[board.pins]\nrelay.pendant = 24\nrelay.bench = 3   # kept", "[board.pins]\nrelay.bench = 3   # kept"),
    ('[board.pins]\n"relay.pendant" = 24\n"relay.bench" = 3   # kept', '[board.pins]\n"relay.bench" = 3   # kept'),
])
def test_a_soldered_wire_is_taken_away(soldered, left):
    text = seeded.text(('type = "rp2040-wifi"', f'type = "rp2040-wifi"\n{soldered}'))
    after = change(text, ('board.pins."relay.pendant"', "any pin"))
    assert after == seeded.text(('type = "rp2040-wifi"', f'type = "rp2040-wifi"\n{left}'.rstrip("\n"))) or not left
    assert "relay.pendant" not in read(after, "job.toml")[0].board.pins
    assert lines_changed(text, after)[0] and "# The wall switches and the remote never wait for this." in after


def test_line_ends_and_byte_order_mark_stay(tmp_path):
    text = seeded.text(seeded.RELAY)
    file = tmp_path / "job.toml"
    file.write_bytes(("\ufeff" + text.replace("\n", "\r\n")).encode())
    design = seeded.design(seeded.RELAY)
    choices = catalogue(design, load_prices())
    picks = tuple(int(choice.key == "load.ironing.relay") for choice in choices)
    after = chosen_job(design.job, choices, picks)
    write_changes(file, [edit for choice, pick in zip(choices, picks) for edit in choice.options[pick].edits], after)
    content = file.read_bytes()
    assert content.startswith(b"\xef\xbb\xbf#") and content.count(b"\r\n") == content.count(b"\n")
    assert read(content.decode("utf-8-sig"), "job.toml")[0] == after
    assert [path.name for path in tmp_path.iterdir()] == ["job.toml"]


def test_what_would_not_read_back_is_refused_and_the_file_left_alone(tmp_path):
    file = tmp_path / "job.toml"
    file.write_text(seeded.text(), "utf-8")
    job = read(seeded.text(), "job.toml")[0]
    with pytest.raises(UseError) as refused:
        write_changes(file, [(("load", "pendant", "relay"), "RT314005")], job)
    assert str(refused.value) == (
        f"{file} is left as it is: the changes cannot be written into it: the changed text would mean another job\n"
        '  change it by hand: load.pendant.relay = "RT314005"')
    with pytest.raises(UseError, match="cannot be written into it"):
        write_changes(file, [(("feed", "lights", "device", "rating"), "ten")], job)
    assert file.read_text("utf-8") == seeded.text()


def test_a_comment_is_never_lost():
    text = seeded.text(('type = "rp2040-wifi"', 'type = "rp2040-wifi"\n[board.pins.relay]\npendant = 24'))
    with pytest.raises(UseError, match="a comment would be lost\n  change it by hand: take away board.pins.\"relay.pendant\"$"):
        change(text, ('board.pins."relay.pendant"', "any pin"))


@pytest.mark.parametrize("example", ["sewing-room", "garden-workshop", "landing"])
def test_every_option_of_the_catalogue_can_be_written(example):
    text = seeded.text(example=example)
    design = seeded.design(example=example)
    choices = catalogue(design, load_prices())
    for place, choice in enumerate(choices):
        number = len(choice.options) - 1
        if number:
            picks = tuple(number if other == place else 0 for other in range(len(choices)))
            after = rewritten(text, choice.options[number].edits, chosen_job(design.job, choices, picks), "job.toml")
            gone, new = lines_changed(text, after)
            assert len(new) == 1 and len(gone) <= 1, choice.key
    assert Kind.RUN in {choice.kind for choice in choices}


@pytest.mark.parametrize("edits, line", [
    ([(("load", "pendant", "power"), "11 W")], 'power = "11 W"                    # of one lamp'),
    ([(("load", "pendant", "count"), 6)], "count = 6"),
    ([(("load", "pendant", "minimum_off"), "3 s")], 'minimum_off = "3 s"'),
    ([(("load", "pendant", "inrush"), {"peak": "5 A", "duration": "1 ms"})],
     'inrush = { peak = "5 A", duration = "1 ms" }      # from the sheet of the lamps: "unknown" would be taken for 25 A each'),
    ([(("switch", "door", "does"), ["toggle pendant", "toggle wall"])], 'does = ["toggle pendant", "toggle wall"]'),
    ([(("fan", "ceiling", "measured", "readings", 0, "mains"), "230 V")], 'measured = { readings = [{ mains = "230 V" }] }'),
    ([(("accept", "contacts.pendant", "reason"), "it is so")], '"contacts.pendant" = { reason = "it is so" }'),
    ([(("remote", "drawer", "button", "x"), {"does": "toggle wall"})], 'x = { does = "toggle wall" }'),
    ([(("job", "note"), "one\ntwo")], 'note = """one\ntwo"""'),
])
def test_an_edit_of_any_kind_touches_its_own_lines_only(edits, line):
    text = seeded.text()
    changed = edited(text, edits, "job.toml")
    assert f"\n{line}\n" in changed
    new = [row for row in ndiff(text.split("\n"), changed.split("\n")) if row.startswith("+") and row.strip("+ ")]
    assert "\n".join(row[2:] for row in new).endswith(line)
    assert len(new) <= 3
