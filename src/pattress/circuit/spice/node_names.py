"""Nets as nodes of a deck, and back.

SPICE takes "a" and "A" for one letter and gives some names a meaning ("gnd"), so a net's name is spelt with small letters,
digits and underscores, behind `net_`. The net 0 V is node 0, to which a simulator refers all voltages.
"""

import re

from pattress.circuit.parts import GROUND

PREFIX = "net_"
SPELT = {".": "__", "_": "_u", " ": "_s", "+": "_p", "-": "_m"}
READ = {spelt: character for character, spelt in SPELT.items()}


def node_of(net: str) -> str:
    """Return the node of a net: "line.pendant" is "net_line__pendant", "L fused" is "net__cl_sfused", 0 V is "0"."""
    return "0" if net == GROUND else PREFIX + "".join(_spelt(character) for character in net)


def net_of(node: str) -> str:
    """Return the net of a node. Raises ValueError for what `node_of` never gives."""
    if node == "0":
        return GROUND
    net = re.sub(r"__|_[uspm]|_c[a-z]|_h[0-9a-f]+_", _read, node.removeprefix(PREFIX))
    if node_of(net) != node:
        raise ValueError(f"node must be one that a net was spelt as, found {node!r}")
    return net


def _spelt(character: str) -> str:
    if re.fullmatch("[a-z0-9]", character):
        return character
    if re.fullmatch("[A-Z]", character):
        return f"_c{character.lower()}"
    return SPELT.get(character) or f"_h{ord(character):x}_"


def _read(match: re.Match[str]) -> str:
    spelt = match[0]
    if spelt in READ:
        return READ[spelt]
    return spelt[2].upper() if spelt.startswith("_c") else chr(int(spelt[2:-1], 16))
