"""Contacts that are no wall switches: what may be written, and what is said of what may not."""

import pytest

from pattress.job import read

WELL = '[input.well]\nname = "Well"\nkind = "float"\n'
BOARD = "[board]"


def with_input(text, more=WELL):
    return text.replace(BOARD, f"{more}\n{BOARD}")


def test_an_input_is_read(flat):
    wall = '[wall.yard]\nname = "Yard wall"\nroom = "Yard"\nwidth = "4 m"\nheight = "2 m"\n'
    job = read(with_input(flat, f'{wall}{WELL}cable = "25 m"\nat = {{ wall = "yard", along = "1 m", height = "0 m" }}\n'), "flat.toml")[0]
    well = job.input["well"]
    assert (well.name, well.kind, well.cable, well.what) == ("Well", "float", 25.0, "float contact")
    assert [(path, place.wall) for path, place in job.places()] == [(("input", "well"), "yard")]


def test_a_cable_that_is_not_told_is_as_long_as_that_of_a_switch(flat):
    job = read(with_input(flat), "flat.toml")[0]
    assert job.input["well"].cable == job.switch["door"].cable == 3.0 and job.input["well"].at is None


def test_the_contacts_stand_in_the_order_of_their_terminals(flat):
    job = read(with_input(flat), "flat.toml")[0]
    assert [(section, key) for section, key, _ in job.contacts()] == [("switch", "door"), ("input", "well"), ("regulator", "study")]
    assert [(section, key) for section, key, _ in job.single_contacts()] == [("switch", "door"), ("input", "well")]


def test_a_contact_of_no_kind_of_its_own_is_a_contact(flat):
    assert read(with_input(flat, WELL.replace("float", "other")), "flat.toml")[0].input["well"].what == "contact"


@pytest.mark.parametrize(("old", "new", "words"), [
    ('kind = "float"', 'kind = "flaot"', """\
flat.toml:46:8: input.well.kind is 'flaot'
  allowed: door, window, presence, float, leak, switch, other
  nearest: float"""),
    ('kind = "float"', 'kind = "float"\ndoes = "toggle pendant"', """\
flat.toml:47:1: input.well.does is not a key that is known here
  allowed: name, kind, cable, at"""),
    ('kind = "float"\n', "", """\
flat.toml:44:8: input.well.kind is missing
  allowed: door, window, presence, float, leak, switch, other"""),
    ("[input.well]", "[input.Well]", """\
flat.toml:44:8: input.Well is not a name for use in keys
  allowed: as a key, small letters, digits and _, a letter first, at most 32
  nearest: well"""),
    ('kind = "float"', 'kind = "float"\ncable = "900 m"', """\
flat.toml:47:9: input.well.cable is '900 m'
  allowed: a length such as "3 m", at least 0 m, at most 500 m"""),
    ('kind = "float"', 'kind = "float"\nat = { wall = "yard", along = "1 m", height = "1 m" }', """\
flat.toml:47:15: input.well.at.wall is 'yard', which is no wall
  allowed: the key of a wall; the job has none yet"""),
    ("[input.well]", "[inptu.well]", """\
flat.toml:44:2: inptu is not a key that is known here
  allowed: job, supply, site, wall, feed, load, fan, mode, switch, input, regulator, remote, receiver, sensor, board, network, rule, wish, accept
  nearest: input"""),
])
def test_what_is_wrong_is_told_by_line_and_key(said, old, new, words):
    assert said((BOARD, f"{WELL}\n{BOARD}"), (old, new)) == words


def test_nothing_can_act_on_an_input_and_none_opens_the_set_up(said):
    assert said((BOARD, f"{WELL}\n{BOARD}"), ("toggle pendant", "toggle well")).startswith(
        "flat.toml:30:9: item 1 of switch.door.does is 'toggle well'; there is no load or fan 'well'\n")
    assert said((BOARD, f'{WELL}\n[network]\nsetup_switch = "well"\n\n{BOARD}')) == (
        "flat.toml:49:16: network.setup_switch is 'well', which is no switch\n  allowed: door")
