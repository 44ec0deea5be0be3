"""Findings about the pins, on their exact words."""

from pattress.finding import Figure, Verdict
from pattress.pins.assign import assign
from pattress.pins.demands import CONTACT, LAMP, RELAY, Demand
from pattress.pins.findings import findings
from pattress.stock.boards import load_boards

BOARDS = load_boards()
WANTED = [*(Demand(f"relay.{name}", RELAY, "relays") for name in ("lamp", "heater", "fan")),
          *(Demand(f"switch.{name}", CONTACT, "switches") for name in ("door", "bed", "hall")), Demand("status", LAMP, "status")]


def on(board, fixed=None):
    return {finding.id: finding for finding in findings(assign(WANTED, BOARDS[board], fixed or {}), BOARDS[board])}


def test_a_board_that_fits():
    found = on("rp2040-wifi")
    assert list(found) == ["pins.board", "pins.relay.lamp", "pins.relay.heater", "pins.relay.fan"]
    assert found["pins.board"].verdict is Verdict.HOLDS
    assert (found["pins.board"].value, found["pins.board"].limit) == (Figure(7, ""), Figure(26, ""))
    relay = found["pins.relay.lamp"]
    assert relay.question == "Does relay.lamp stay off while the board starts?"
    assert relay.detail == "GPIO0 (GP0) can set the line, is held low while the board starts."
    assert (relay.verdict, relay.value, relay.safety) == (Verdict.HOLDS, Figure(0.0, "s"), False)


SOLDERED = on("esp32", {"relay.lamp": 14, "relay.heater": 1, "relay.fan": 12, "switch.door": 34, "switch.bed": 12 + 1,
                        "switch.hall": 12 + 3, "status": 2})


def test_a_soldered_relay_on_a_pin_said_to_pulse_fails_and_concerns_safety():
    found = SOLDERED["pins.relay.lamp"]
    assert found.question == "May relay.lamp stay on GPIO14 (D14), where it is soldered?"
    assert (found.verdict, found.safety, found.value) == (Verdict.FAILS, True, None)
    assert found.detail == "GPIO14 (D14) is reported to pulse high while the board starts, for how long is unknown."
    assert found.assumptions[0].measure == "watch GPIO14 (D14) with an oscilloscope while the board starts"
    assert found.change == ("move the wire to GPIO32 (D32) or GPIO33 (D33) or GPIO25 (D25), which nothing speaks against",)


def test_a_soldered_relay_on_the_sending_console_pin_fails_twice():
    found = SOLDERED["pins.relay.heater"]
    assert (found.verdict, found.safety, found.value) == (Verdict.FAILS, True, None)
    assert found.detail == ("GPIO1 (TX0) is driven high while the board starts; "
                            "GPIO1 (TX0) is the console's: the console sends on it, and the boot log before.")
    assert found.assumptions == ()


def test_a_soldered_relay_on_a_pin_that_must_start_low_holds():
    found = SOLDERED["pins.relay.fan"]
    assert (found.verdict, found.value) == (Verdict.HOLDS, Figure(0.0, "s"))
    assert found.detail == ("GPIO12 (D12) can set the line, is held low while the board starts; "
                            "a pin read at reset (selects the flash voltage, high means 1.8 V).")


def test_a_soldered_switch_without_a_pull_up_needs_a_resistor():
    found = SOLDERED["pins.switch.door"]
    assert (found.verdict, found.safety) == (Verdict.TIGHT, False)
    assert found.detail == "GPIO34 (D34) has no pull-up of its own."
    assert found.change[0] == "fit a pull-up resistor of 4.7 kohm to 3.3 V at GPIO34 (D34)"


def test_a_switch_that_could_stop_the_board_from_starting_fails_but_hurts_nobody():
    found = on("esp32", {"switch.door": 12})["pins.switch.door"]
    assert (found.verdict, found.safety) == (Verdict.FAILS, False)
    assert found.detail == "GPIO12 (D12) must not be held high at reset (selects the flash voltage, high means 1.8 V)."


def test_a_board_that_does_not_fit_says_why_and_what_would_help():
    wanted = [Demand(f"relay.{number}", RELAY, "relays") for number in range(10)]
    why = findings(assign(wanted, BOARDS["esp32-c3"], {}, BOARDS.values()), BOARDS["esp32-c3"])
    assert [finding.id for finding in why] == ["pins.board"]
    assert (why[0].verdict, why[0].value, why[0].limit) == (Verdict.FAILS, Figure(10, ""), Figure(9, ""))
    assert why[0].detail.startswith("10 wires need a pin each, and the rules leave 9: ")
    assert why[0].change[0] == (
        "drive 3 relays from a shift register whose enable line is pulled up, to stay off while the board starts: "
        "relay.7, relay.8, relay.9"
    )
    assert "take the board rp2040-wifi (RP2040 with Wi-Fi, 40-pin board): all 10 wires fit it" in why[0].change


def test_every_finding_names_its_sources():
    assert all(finding.sources for finding in (*SOLDERED.values(), *on("rp2040-wifi").values()))
