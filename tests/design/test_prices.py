"""Prices of changes: shipped, a person's own, and what is refused."""

import pytest

from pattress.design.prices import load_prices
from pattress.pins.relaxations import PRICE_OF_RESOLDERING
from pattress.stock.record import StockError


def test_a_wire_costs_here_what_it_costs_among_the_pins():
    assert load_prices()["wire", "change"] == PRICE_OF_RESOLDERING


def test_own_prices_win_line_by_line(tmp_path):
    file = tmp_path / "prices.toml"
    file.write_text("[device]\nchange = 400\n")
    own, shipped = load_prices(file), load_prices()
    assert own["device", "change"] == 400
    assert {key: price for key, price in own.of.items() if key != ("device", "change")} == {
        key: price for key, price in shipped.of.items() if key != ("device", "change")}


@pytest.mark.parametrize("text, words", [
    ("[relais]\nchange = 1\n", "1: relais is not known here\n  allowed: relay, device, cable, run, board, wire, measurement\n  nearest: relay"),
    ("[relay]\nchanges = 1\n", "2: relay.changes is not known here\n  allowed: change, place\n  nearest: change"),
    ("[relay]\nchange = 1.5\n", "2: relay.change is 1.5\n  allowed: a whole number from 0 to 100000"),
    ("[relay]\nchange = -1\n", "2: relay.change is -1\n  allowed: a whole number from 0 to 100000"),
    ("relay = 3\n", "1: relay is 3\n  allowed: a table"),
])
def test_what_is_no_price_is_refused_with_its_line(tmp_path, text, words):
    file = tmp_path / "prices.toml"
    file.write_text(text)
    with pytest.raises(StockError) as refused:
        load_prices(file)
    assert str(refused.value) == f"{file}:{words}"


def test_a_missing_file_is_refused(tmp_path):
    with pytest.raises(StockError, match="No such file"):
        load_prices(tmp_path / "none.toml")
