"""Prices of changes: shipped, a person's own, and what is refused."""

from decimal import Decimal

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
    ("[relais]\nchange = 1\n", "1: relais is not known here\n  allowed: relay, device, residual, cable, run, board, wire, measurement, part, currency\n  nearest: relay"),
    ("[relay]\nchanges = 1\n", "2: relay.changes is not known here\n  allowed: change, place\n  nearest: change"),
    ("[relay]\nchange = 1.5\n", "2: relay.change is 1.5\n  allowed: a whole number from 0 to 100000"),
    ("[relay]\nchange = -1\n", "2: relay.change is -1\n  allowed: a whole number from 0 to 100000"),
    ("currency = \"EUR\"\n[part]\nRT314005 = \"3.20\"\n", "3: part.RT314005 is '3.20'\n  allowed: a number from 0 to 100000"),
    ("[part]\nRT314005 = 3.20\n", "1: currency is ''\n  allowed: a word of at most 10 letters, such as \"EUR\", where there are prices of parts"),
    ("currency = 3\n", "1: currency is 3\n  allowed: a word of at most 10 letters, such as \"EUR\", where there are prices of parts"),
    ("part = 3\n", "1: part is 3\n  allowed: a table of prices by designation"),
    ("relay = 3\n", "1: relay is 3\n  allowed: a table"),
])
def test_what_is_no_price_is_refused_with_its_line(tmp_path, text, words):
    file = tmp_path / "prices.toml"
    file.write_text(text)
    with pytest.raises(StockError) as refused:
        load_prices(file)
    assert str(refused.value) == f"{file}:{words}"


def test_prices_of_parts_are_exact_money_in_a_currency(tmp_path):
    file = tmp_path / "prices.toml"
    file.write_text('currency = "EUR"\n[part]\nRT314005 = 3.20\n"resistor 10 kohm" = 0.1\n')
    own = load_prices(file)
    assert own.currency == "EUR" and own.parts == {"RT314005": Decimal("3.2"), "resistor 10 kohm": Decimal("0.1")}
    assert own.of == load_prices().of and load_prices().parts == {}


def test_a_missing_file_is_refused(tmp_path):
    with pytest.raises(StockError, match="it is not there"):
        load_prices(tmp_path / "none.toml")
