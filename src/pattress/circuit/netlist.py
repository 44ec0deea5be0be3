"""The netlist as a table, and net names that fit a record of a bare-board test."""

import re
from collections.abc import Mapping

from pattress.circuit.model import Circuit
from pattress.spreadsheet import as_csv

HEAD = ("net", "kind", "feed", "component", "pin", "value")
LONGEST = 14                 # letters of a net name in IPC-D-356A (from memory)


def netlist_csv(circuit: Circuit) -> str:
    """Return the netlist as CSV: one row for each pin, net by net."""
    return as_csv(HEAD, ((net.name, net.kind, net.feed, component.designator, pin.number, component.value)
                         for net in circuit.nets for component, pin in circuit.by_net[net.name]))


def record_names(circuit: Circuit) -> Mapping[str, str]:
    """Return a name for each net that fits IPC-D-356A: capitals, digits and underscores, at most `LONGEST`, none twice."""
    found: dict[str, str] = {}
    for net in circuit.nets:
        plain = re.sub(r"[^A-Z0-9]+", "_", net.name.upper().replace("+", "P")).strip("_")
        name, number = plain[:LONGEST], 1
        while name in found.values():
            number += 1
            name = f"{plain[:LONGEST - 1 - len(str(number))]}_{number}"
        found[net.name] = name
    return found
