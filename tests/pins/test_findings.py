"""Findings about the pins, on their exact words."""

from pattress.finding import Figure, Verdict
from pattress.pins.assign import assign
from pattress.pins.demands import CONTACT, LAMP, RELAY, WARNING, Demand
from pattress.pins.findings import findings
from pattress.stock.boards import load_boards

BOARDS = load_boards()
WANTED = [*(Demand(f"relay.{name}", RELAY, "relays") for name in ("lamp", "heater", "fan")),
          *(Demand(f"switch.{name}", CONTACT, "switches", 2.2e3) for name in ("door", "bed", "hall")), Demand("status", LAMP, "status")]


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


def test_a_soldered_switch_is_held_up_by_the_resistor_that_is_fitted_where_the_pin_has_no_pull_up():
    found = SOLDERED["pins.switch.door"]
    assert (found.verdict, found.safety, found.change) == (Verdict.HOLDS, False, ())
    assert found.detail == "GPIO34 (D34) is held up by 2.2 kohm to 3.3 V."


def test_a_power_fail_wire_has_no_resistor_of_its_own_and_needs_one_where_the_pin_has_no_pull_up():
    wanted = [*WANTED, Demand("power_fail", WARNING, "power_fail")]
    result = assign(wanted, BOARDS["esp32"], {"power_fail": 34})
    found = {finding.id: finding for finding in findings(result, BOARDS["esp32"])}["pins.power_fail"]
    assert (found.verdict, found.safety) == (Verdict.TIGHT, False)
    assert found.detail == "GPIO34 (D34) has no pull-up of its own."
    assert found.change[0] == "fit a pull-up resistor of 10 kohm to 3.3 V at GPIO34 (D34)"
    assert next(one for one in assign(wanted, BOARDS["esp32"]).pins if one.demand.name == "power_fail").pin.pull_up


# One impossible soldered wire hid every other verdict: here two, of five soldered, cannot stay, for two reasons.
IMPOSSIBLE = {"relay.lamp": 34, "relay.heater": 14, "status": 20, "switch.door": 12, "switch.bed": 25}


def test_what_cannot_be_soldered_so_hides_no_other_verdict():
    found = on("esp32", IMPOSSIBLE)
    assert list(found) == ["pins.board", "pins.relay.lamp", "pins.relay.heater", "pins.relay.fan", "pins.switch.door", "pins.switch.bed", "pins.status"]
    assert {key: str(finding.verdict) for key, finding in found.items()} == {
        "pins.board": "fails", "pins.relay.lamp": "fails", "pins.relay.heater": "fails", "pins.relay.fan": "holds",
        "pins.switch.door": "fails", "pins.switch.bed": "holds", "pins.status": "fails"}
    lamp, status = found["pins.relay.lamp"], found["pins.status"]
    assert lamp.question == "May relay.lamp stay on GPIO34 (D34), where it is soldered?"
    assert (lamp.detail, lamp.value, lamp.limit, lamp.margin, lamp.safety) == ("GPIO34 (D34) is an input only.", None, None, None, False)
    assert status.detail == "GPIO20 does not exist on this board."
    assert found["pins.relay.heater"].safety            # it pulses at reset: told although another wire is impossible
    assert found["pins.relay.fan"].detail.endswith(" So it is once every soldered wire that cannot stay has moved.")


def test_every_impossible_wire_is_told_in_the_finding_on_the_board_and_the_cure_moves_them_all():
    board = on("esp32", IMPOSSIBLE)["pins.board"]
    assert "relay.lamp, a relay output, soldered to GPIO34" in board.detail and "status, a status lamp, soldered to GPIO20" in board.detail
    assert (board.value, board.limit) == (Figure(2, ""), Figure(0, ""))
    assert len(board.change) == 1 and board.change[0].startswith("move the soldered wire of ")
    assert "relay.lamp to " in board.change[0] and "of status to " in board.change[0]
    # The pin named beside each wire is the one it has in the assignment that is left, where nothing speaks against it.
    for key in ("pins.relay.lamp", "pins.status"):
        moved = on("esp32", IMPOSSIBLE)[key].change
        assert len(moved) == 1 and moved[0].startswith("move the wire to GPIO") and moved[0].endswith(": then all wires suit the rules best")


def test_wires_that_share_a_pin_are_told_both():
    found = on("esp32", {"relay.lamp": 4, "status": 4, "switch.bed": 12})
    assert found["pins.relay.lamp"].detail == "GPIO4 (D4) holds status, too." and found["pins.status"].detail == "GPIO4 (D4) holds relay.lamp, too."
    assert found["pins.relay.lamp"].verdict is found["pins.status"].verdict is found["pins.switch.bed"].verdict is Verdict.FAILS


# What the board says of the wire to move and what is said at each of the two is one cure.
def test_of_two_wires_on_one_pin_one_is_left_and_the_other_moved():
    found = on("esp32", {"switch.door": 34, "switch.bed": 34})
    told = {key: found[f"pins.switch.{key}"].change[0] for key in ("door", "bed")}
    (stays,) = (key for key, words in told.items() if words == "leave it at GPIO34 (D34) and move the other wire that is soldered there")
    (moves,) = told.keys() - {stays}
    pin = told[moves].removeprefix("move the wire to ").partition(":")[0]
    assert pin != "GPIO34 (D34)" and found["pins.board"].change == (f"move the soldered wire of switch.{moves} to {pin}",)


def test_a_board_too_small_for_the_rest_is_told_beside_the_impossible_wire():
    wanted = [Demand(f"relay.{number}", RELAY, "relays") for number in range(12)]
    fixed = {"relay.0": 18, "relay.1": 5}
    found = {finding.id: finding for finding in findings(assign(wanted, BOARDS["esp32-c3"], fixed), BOARDS["esp32-c3"])}
    assert list(found) == ["pins.board", "pins.relay.0", "pins.relay.1"]
    assert "soldered to GPIO18" in found["pins.board"].detail and "and the rules leave 9" in found["pins.board"].detail
    assert (found["pins.relay.0"].verdict, found["pins.relay.1"].verdict) == (Verdict.FAILS, Verdict.HOLDS)


def test_pins_in_which_boards_of_the_kind_differ_are_unknown_until_the_job_says_which_it_is():
    def told(board, fixed):
        result = assign(WANTED, BOARDS[board], fixed)
        return {finding.id: finding for finding in findings(result, BOARDS[board], BOARDS.values())}

    asked = told("esp32", {"relay.fan": 17, "switch.hall": 16})["module.board"]
    assert (asked.verdict, asked.safety) == (Verdict.UNKNOWN, False)
    assert asked.detail == ("GPIO17 (TX2) of relay.fan: taken by the extra memory of modules that have it (WROVER). "
                            "GPIO16 (RX2) of switch.hall: taken by the extra memory of modules that have it (WROVER).")
    assert asked.change == (
        'say which board it is: [board] type = "esp32-30" (classic ESP32, 30-pin development board with a plain WROOM-32) or "esp32-38" '
        "(classic ESP32, 38-pin development board with a plain WROOM-32) or \"esp32-wrover\" "
        "(classic ESP32, 38-pin development board with a WROVER and its extra memory)", "move relay.fan, switch.hall to pins that every such board has")
    assert asked.assumptions[0].taken == "that GPIO17 (TX2), GPIO16 (RX2) are free" and asked.sources
    assert "module.board" not in told("esp32", {})               # not taken where others do
    assert "module.board" not in told("esp32-38", {"relay.fan": 17})
    wrover = told("esp32-wrover", {"relay.fan": 17})
    assert wrover["pins.relay.fan"].verdict is Verdict.FAILS and "extra memory" in wrover["pins.relay.fan"].detail
    assert told("esp32-s3", {"relay.fan": 36})["module.board"].verdict is Verdict.UNKNOWN
    assert told("esp32-s3-octal", {"relay.fan": 36})["pins.relay.fan"].verdict is Verdict.FAILS
    assert "module.board" not in told("esp32-s3-quad", {"relay.fan": 36})


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
