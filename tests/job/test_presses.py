"""A switch that is held or pressed twice: what is read, what is refused, and that nothing is had by a double press only."""

import pytest

from pattress.job import JobError, read

ALLOWED = "what a single press, a held one, a regulator or a remote button with a known code does, too: not every hand can press twice in time"


def with_presses(flat, told, kind="retractive"):
    """Return the flat's job with more keys at its door switch."""
    return flat.replace('kind = "latching"\n', f'kind = "{kind}"\n{told}\n')


def refused(text):
    with pytest.raises(JobError) as caught:
        read(text, "flat.toml")
    return [" | ".join(line.strip() for line in str(problem).splitlines()) for problem in caught.value.problems]


def test_what_a_press_does_is_read_one_or_a_list(flat):
    switch = read(with_presses(flat, 'held = "off everything"\ntwice = ["off pendant", "set study 2"]'), "flat.toml")[0].switch["door"]
    assert {how: list(map(str, acts)) for how, acts in switch.presses.items()} == {
        "does": ["toggle pendant", "up study"], "held": ["off everything"], "twice": ["off pendant", "set study 2"]}


def test_a_switch_without_has_one_way_to_press_it(flat):
    assert list(read(flat, "flat.toml")[0].switch["door"].presses) == ["does"]


@pytest.mark.parametrize("how", ["held", "twice"])
def test_a_latching_switch_is_neither_held_nor_pressed_twice(flat, how):
    assert refused(with_presses(flat, f'{how} = "off pendant"', "latching")) == [
        f"flat.toml:30:1: switch.door.{how} is given for a latching switch, which stays where it is put | "
        f"allowed: no {how} there; it is for a retractive switch, which springs back"]


@pytest.mark.parametrize("how", ["held", "twice"])
def test_what_it_acts_on_must_exist_and_once(flat, how):
    assert refused(with_presses(flat, f'{how} = ["off pendent", "off pendant", "on pendant"]'))[0].startswith(
        f"flat.toml:30:{len(how) + 5}: item 1 of switch.door.{how} is 'off pendent'; there is no load or fan 'pendent' | allowed: pendant, study | nearest: off pendant")


# does = toggle pendant, up study; a regulator with all three steps and off; the remote's "stop" has no code yet.
@pytest.mark.parametrize("told", ["on pendant", "off pendant", "toggle pendant", "up study", "down study", "on study", "off study", "off everything",
                                  "set study 1", "set study 0"])
def test_a_double_press_may_do_what_is_had_otherwise(flat, told):
    assert read(with_presses(flat, f'twice = "{told}"'), "flat.toml")


LAMP = '[load.lamp]\nname = "Lamp"\nkind = "LED driver"\npower = "9 W"\nfeed = "lights"\nrun = { section = "1.5 mm2", length = "6 m" }\n[board]'


@pytest.mark.parametrize("told, more, missing", [
    ("on lamp", "", "lamp comes on"), ("toggle lamp", "", "lamp goes off"), ("off everything", "", "lamp goes off"),
    ("on lamp", 'held = "off lamp"', "lamp comes on"),
])
def test_a_double_press_alone_is_refused(flat, told, more, missing):
    assert refused(with_presses(flat.replace("[board]", LAMP), f'twice = "{told}"\n{more}')) == [
        f"flat.toml:30:9: switch.door.twice is '{told}'; only by a double press {missing} | allowed: {ALLOWED}"]


@pytest.mark.parametrize("more", ['held = "toggle lamp"', 'held = ["off pendant", "on lamp"]'])
def test_a_held_press_is_another_way(flat, more):
    assert read(with_presses(flat.replace("[board]", LAMP), f'twice = "on lamp"\n{more}'), "flat.toml")


def test_the_double_press_of_another_switch_is_no_other_way(flat):
    other = '[switch.bed]\nname = "Bed"\nkind = "retractive"\ndoes = "toggle pendant"\ntwice = "on lamp"\n'
    assert len(refused(with_presses(flat.replace("[board]", other + LAMP), 'twice = "on lamp"'))) == 2


def test_a_button_counts_once_its_code_is_known(flat):
    text = with_presses(flat.replace("[board]", LAMP), 'twice = "off lamp"')
    assert "only by a double press lamp goes off" in refused(text)[0]
    assert read(text.replace('stop = { does', 'stop = { code = "nec 0x04:0x09", does'), "flat.toml")


@pytest.mark.parametrize("positions, step, is_had", [(3, 2, True), (1, 3, True), (1, 2, False), (2, 1, False)])
def test_a_regulator_has_the_steps_of_its_positions(flat, positions, step, is_had):
    """One position of three steps is step 3; two are steps 2 and 3."""
    text = with_presses(flat.replace("positions = 3", f"positions = {positions}"), f'twice = "set study {step}"')
    if is_had:
        assert read(text, "flat.toml")
    else:
        assert f"only by a double press study comes to step {step}" in refused(text)[0]


def test_of_a_control_with_a_fault_nothing_is_said(flat):
    text = with_presses(flat.replace("positions = 3", "positions = 0"), 'twice = "set study 1"')
    assert len(refused(text)) == 1 and "regulator.study.positions" in refused(text)[0]


def test_a_wish_may_be_about_what_is_only_held(flat):
    wish = '[wish.quick]\nsays = "lamp follows its switch within 1 s"\n'
    assert read(with_presses(flat.replace("[board]", wish + LAMP), 'held = "toggle lamp"'), "flat.toml")
