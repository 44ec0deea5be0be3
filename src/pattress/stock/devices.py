"""Protective devices: what they do not trip at, what they surely trip at, what they let through (`devices.toml`)."""

from dataclasses import dataclass
from functools import cache

from pattress.finding import Source
from pattress.quantity import parse
from pattress.stock.between import first_at_least, on_logs
from pattress.stock.shipped import table

OVERLOAD = 1.45          # of what a cable carries for ever, borne for the time a device takes: IEC 60364-4-43, 433.1


@dataclass(frozen=True, slots=True)
class Band:
    """Two currents as multiples of the rated one: `none` does not trip, `sure` does."""

    none: float
    sure: float
    source: Source


@cache
def instantaneous_band(curve: str) -> Band:
    """Return the magnetic band of a breaker: B 3 to 5, C 5 to 10, D 10 to 20 times rated current."""
    devices = table("devices")
    entry = devices["curve"][curve]
    return Band(entry["none"], entry["sure"], devices.source(entry["source"]))


def conventional_currents(*, curve: str, rating: float) -> Band:
    """Return the multiples that do not trip, and that trip, within the conventional time (1 h to 63 A)."""
    devices = table("devices")
    if curve != "gG":
        entry = devices["breaker"]
        return Band(entry["none"], entry["sure"], devices.source(entry["source"]))
    for entry in devices["fuse"]:
        if rating <= parse(entry["upto"], "A"):
            break
    return Band(entry["none"], entry["sure"], devices.source(entry["source"]))


def surely_protected(*, capacity: float, curve: str, rating: float) -> float:
    """Return the largest rated current [A] that protects a cable of `capacity` [A] against overload.

    In <= Iz and I2 <= 1.45 Iz. A breaker meets the second with the first; a gG fuse-link, which surely
    melts only at 1.6 to 2.1 times its rating, does not. BS 7671 takes it as met for gG to BS 88, too.

    Source: IEC 60364-4-43, 433.1 (from memory); read with its factors 1.31 below 16 A and 1.1 from 16 A
    in a help page, electricalom.com, "Design Current and Current Carrying Capacity".
    """
    return min(1.0, OVERLOAD / conventional_currents(curve=curve, rating=rating).sure) * capacity


def melts_at_once(rating: float) -> tuple[float, Source]:
    """Return the least current [A] that surely melts a gG fuse-link within 0.1 s, and its source; above 125 A by the last ratio."""
    devices, gates = table("devices"), _gates()
    largest = max(gates)
    current = first_at_least(gates, rating)
    return gates[largest] / largest * rating if current is None else current, devices.source(devices["melting_current"]["source"])


def _by_rating(name: str) -> dict[float, float]:
    return {parse(key, "A"): value for key, value in table("devices")[name].items() if key.endswith(" A")}


@cache
def _melting() -> dict[float, float]:
    return _by_rating("melting")


@cache
def _gates() -> dict[float, float]:
    return _by_rating("melting_current")


@cache
def _melting_most() -> dict[float, float]:
    return _by_rating("melting_most")


def least_melting_integral(rating: float) -> tuple[float, Source]:
    """Return the least pre-arcing integral of a gG fuse-link [A2 s] and its source."""
    return on_logs(_melting(), rating), table("devices").source("fuse")


def let_through(*, curve: str, rating: float, fault_current: float) -> tuple[float, Source] | None:
    """Return the most energy a class 3 breaker or a gG fuse-link lets through [A2 s] and its source.

    None where the standard gives no figure: curve D, breakers above 32 A or 10 kA, fuse-links above 63 A.
    """
    devices = table("devices")
    if curve == "gG":
        integral = first_at_least(_melting_most(), rating)
        return None if integral is None else (devices["melting_most"]["arcing"] * integral, devices.source("fuse"))
    for entry in devices["energy"]:
        if entry["curve"] == curve and rating <= parse(entry["upto"], "A"):
            by_fault = {parse(key, "A"): value for key, value in entry["fault"].items()}
            energy = first_at_least(by_fault, fault_current)
            return None if energy is None else (energy, devices.source(entry["source"]))
    return None


@cache
def ratings() -> tuple[float, ...]:
    """Return the rated currents that devices are made in [A]."""
    return tuple(parse(value, "A") for value in table("devices")["ratings"]["values"])
