"""What is fitted where no question of its own chooses it: the status lamp's resistor."""

import pytest

from pattress.sizing.fitting import lamp_resistor
from pattress.stock.boards import load_boards


# (3.3 V - 2.0 V) / 4 mA = 325 ohm, the next of E24 is 330: a pin of the RP2040 gives 4 mA as it is set. Elsewhere 5 mA: 260 ohm, 270.
@pytest.mark.parametrize("board, ohms", [("rp2040-wifi", 330.0), ("rp2350-wifi", 330.0), ("esp32-38", 270.0), ("esp32-c3", 270.0)])
def test_the_lamp_takes_no_more_than_its_pin_gives(board, ohms):
    assert lamp_resistor(load_boards()[board]) == ohms


def test_no_lamp_of_any_board_takes_more_than_its_pin_gives():
    for board in load_boards().values():
        most = board.figure("pin_current")
        assert most is None or (3.3 - 2.0) / lamp_resistor(board) <= most
