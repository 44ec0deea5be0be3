"""Terminals, cables, pins, relays and parts: every figure is the job's or the design's, and nothing is counted twice."""

import csv
from collections import Counter
from decimal import Decimal
from io import StringIO
from pathlib import Path

import pytest

from pattress.circuit.assembly import MAINS_OUT
from pattress.design import design_of
from pattress.design.prices import Prices
from pattress.handover.colours import IEC, NORTH_AMERICA, colours_of, signal
from pattress.handover.commissioning import bench
from pattress.handover.parts import parts_list
from pattress.handover.schedules import board_rules, idle_prices, parts, schedules
from pattress.handover.site_tests import live
from pattress.handover.wiring import NEUTRAL, finding_of, wiring_of
from pattress.job.system import System
from pattress.pins.best import Assignment
from pattress.quantity import parse, show
from pattress.spreadsheet import BYTE_ORDER_MARK, as_csv


# IEC 60445 and NEC 200.6, 200.7, 250.119: from memory.
@pytest.mark.parametrize("system, country, letters", [
    (System(230.0, 50.0), "unknown", ("BN", "BU", "GNYE", "BN")), (System(120.0, 60.0), "unknown", ("BK", "WH", "GN", "RD")), (System(100.0, 50.0), "unknown", ("BN", "BU", "GNYE", "BN")),
    (System(127.0, 60.0), "BR", ("BN", "BU", "GNYE", "BN")), (System(120.0, 60.0), "US", ("BK", "WH", "GN", "RD")), (System(220.0, 60.0), "KR", ("BN", "BU", "GNYE", "BN")),
])
def test_mains_system_and_country_choose_the_letters(system, country, letters):
    colours = colours_of(system, country)
    assert (colours.line, colours.neutral, colours.protective, colours.switched) == letters


def test_a_line_that_is_sensed_is_listed_and_tested():
    """The compressor of the garden workshop is the one: one optocoupler, two resistors on the mains side, and a step on bench and site."""
    design = design_of(Path(__file__).parents[2] / "examples" / "garden-workshop" / "job.toml")
    wiring = wiring_of(design)
    listed = {line.part: line for line in parts_list(design, wiring)}
    assert (listed["PC817A"].count, listed["PC817A"].marks) == (1, "U2") and (listed["resistor 24 kohm"].count, listed["resistor 24 kohm"].marks) == (2, "R24, R25")
    assert "D22" in listed["1N4148"].marks.split(", ") and listed["capacitor 2.7 uF"].what == "holds from crest to crest"
    for section in (bench(design, wiring), live(design, wiring)[1]):
        assert sum(row[0] == "Feedback of Compressor" for table in section.tables for row in table.rows) == 1


def test_a_supply_that_may_have_two_lines_is_told():
    assert all("both" in colours_of(System(240.0, 60.0), country).note for country in ("unknown", "US"))
    assert "both" not in colours_of(System(220.0, 60.0), "KR").note + IEC.note + NORTH_AMERICA.note


def test_no_signal_has_the_colour_of_a_protective_conductor():
    assert not {signal(place) for place in range(20)} & {IEC.protective, NORTH_AMERICA.protective}


def test_every_cable_is_as_the_job_says(design):
    wiring, job = wiring_of(design), design.job
    for key, feed in job.feed.items():
        cable = wiring.cable(f"feed.{key}")
        assert (cable.section, cable.length) == (feed.cable.section, feed.cable.length)
    for key, channel in {**job.load, **job.fan}.items():
        cable = wiring.cable(key)
        assert (cable.section, cable.length, cable.end) == (channel.run.section, channel.run.length, channel.name)
    for section, key, thing in job.contacts():
        assert wiring.cable(f"{section}.{key}").length == thing.cable
    assert len({cable.mark for cable in wiring.cables}) == len(wiring.cables)


def test_every_core_ends_at_one_terminal_of_its_own(design):
    wiring = wiring_of(design)
    ends = Counter((terminal.cable, terminal.role) for terminal in wiring.terminals)
    cores = Counter((cable.mark, core.role) for cable in wiring.cables for core in cable.cores)
    assert ends == cores
    assert max(Counter(terminal.mark for terminal in wiring.terminals).values()) == 1


def test_neutrals_of_different_feeds_never_share_a_name(design):
    wiring = wiring_of(design)
    for terminal in wiring.terminals:
        if terminal.strip == MAINS_OUT and terminal.role == NEUTRAL:
            channel = {**design.job.load, **design.job.fan}[terminal.thing]
            assert terminal.potential == f"N of {channel.feed}"


def test_pins_are_those_of_the_design(design):
    wiring = wiring_of(design)
    if isinstance(design.pins, Assignment):
        assert {wire.name: wire.gpio for wire in wiring.pins} == design.pins.by_name()
    else:
        assert {wire.pin for wire in wiring.pins} == {"no pin"}


def test_relays_carry_what_the_design_put_around_them(design):
    """In the schedule the capacitor of each, in the circuit damping, bleed and the one snubber of a channel too."""
    wiring, circuit = wiring_of(design), design.circuit
    assert len(wiring.relays) == sum(design.chosen.relay_count(key) for key in design.chosen.relays)
    for key, fan in design.results["fan_designs"].items():
        relays = wiring.relays_of(key)
        assert tuple(relay.capacitor for relay in relays) == (*fan.drive.capacitors, None)
        for relay, bleed in zip(relays, fan.bleeds):
            group = [part for part in circuit.components if part.designator[1:-1] == relay.mark[1:]]
            assert [part.figure.value for part in group if part.name == "damping"] == [fan.damping.resistance]
            assert [part.figure.value for part in group if part.name == "bleed"] == [bleed.piece] * bleed.pieces
    for key in design.chosen.relays:
        finding = finding_of(design, f"suppression.{key}")
        snubber = [part for block in circuit.blocks if block.name in (f"channel {key}", f"fan {key}") for part in block.components if part.name == "snubber"]
        assert len(snubber) == (2 if finding and finding.value else 0)
        assert not snubber or f"{snubber[0].value} in series" in finding.detail


def test_the_parts_list_counts_what_is_wired(design):
    wiring = wiring_of(design)
    lines = parts_list(design, wiring)
    counted = {what: sum(line.count for line in lines if line.what.startswith(what)) for what in ("relay", "coil driver", "terminal at mains", "strip X3")}
    assert counted["relay"] == counted["coil driver"] == len(wiring.relays)
    assert counted["terminal at mains"] == sum(cable.mains for cable in wiring.cables) * 3
    assert counted["strip X3"] == sum(len(cable.cores) for cable in wiring.cables if not cable.mains)
    chosen = {choice.part.designation for choice in design.chosen.relays.values()}
    assert {line.part for line in lines if line.what == "relay"} == chosen
    assert not any(line.part in line.second.split(", ") for line in lines)
    assert f"{show(design.results['fitted'].driver.input, 'ohm')} in series with each input" in finding_of(design, "drive_pin.controller").detail


def test_the_parts_list_adds_up_the_prices_a_person_gave(design):
    wiring = wiring_of(design)
    lines = parts_list(design, wiring)
    one, other = lines[0], lines[-1]
    prices = Prices({}, "EUR", {one.part: Decimal("3.205"), other.part: Decimal("0.10"), "RT31400": Decimal(1)})
    table = parts(design, wiring, prices).table
    priced = {one.part: Decimal("3.205"), other.part: Decimal("0.10")}
    assert table.head[-2:] == ("Each, EUR", "Sum, EUR")
    for line, row in zip(lines, table.rows):
        each = priced.get(line.part)
        assert row[-2:] == (("no price", "no price") if each is None else (f"{each:.2f}", f"{each * line.count:.2f}"))
    paid = [line for line in lines if line.part in priced]
    assert table.rows[-1][-1] == f"{sum(priced[line.part] * line.count for line in paid):.2f}"
    assert f"of {len(paid)} lines; {len(lines) - len(paid)} have no price" in table.rows[-1]
    assert idle_prices(design, wiring, prices) == ("RT31400",)


def test_without_prices_of_parts_the_list_has_no_column_for_them(design):
    wiring = wiring_of(design)
    assert parts(design, wiring, Prices({})) == parts(design, wiring) and len(parts(design, wiring).table.head) == 8


def test_a_schedule_comes_back_from_csv_with_its_numbers_in_the_unit_of_the_head(design):
    for name, schedule in schedules(design, wiring_of(design)).items():
        leaf = schedule.leaf(name)
        head, *rows = csv.reader(StringIO(as_csv(leaf.head, leaf.rows).removeprefix(BYTE_ORDER_MARK)))
        assert len(rows) == len(schedule.rows) > 0 and all(len(row) == len(head) == len(schedule.columns) for row in rows)
        for row, told in zip(schedule.rows, rows):
            for column, title, cell, words in zip(schedule.columns, head, row, told):
                if isinstance(cell, float) and column.unit:
                    assert title == f"{column.head} [{column.unit}]" and not set(words) & set("[] ")
                    assert (float(words) if column.unit == "N m" else parse(f"{words} {column.unit}", column.unit)) == pytest.approx(cell, rel=1e-8)
                else:
                    assert words == ("" if cell is None else str(cell)), (name, title)


def test_board_rules_hold_the_limits_of_the_findings(design):
    words = " ".join(" ".join(row) for row in board_rules(design).table.rows)
    for thing in ("mains_to_mains", "mains_to_touchable"):
        assert f"{show(finding_of(design, f'board_distance.{thing}').limit.value, 'm')} through air" in words
    for key in design.chosen.relays:
        assert f"at least {show(finding_of(design, f'track.{key}').value.value, 'm')} wide" in words
