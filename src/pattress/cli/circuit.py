"""`pattress circuit`: every part, pin and wire of a job, one part or one net of it, and the netlist as a file."""

from collections.abc import Iterator
from pathlib import Path
from textwrap import wrap

from pattress.atomic_write import write_inside
from pattress.circuit.designators import SCHEME
from pattress.circuit.model import Block, Circuit, Component, mark_of
from pattress.circuit.netlist import netlist_csv, record_names
from pattress.cli.plain import plain
from pattress.cli.terminal import A_CHECK_FAILS, ALL_HOLDS, print_json, say
from pattress.cli.text import WIDTH
from pattress.design import design_of
from pattress.errors import UseError
from pattress.finding import Verdict
from pattress.plural import counted
from pattress.refusal import advice, as_found, nearest
from pattress.stock.own import Own
from pattress.stock.parts import Parts


def show(job: Path, wanted: str | None, own: Own, out: Path | None, *, as_json: bool) -> int:
    """Print a circuit, or what of it is wanted: a designator or a net. Raises UseError where there is none of that name."""
    design = design_of(job, own)
    circuit = design.circuit
    failing = [finding for finding in design.findings if finding.id.startswith("circuit_") and finding.verdict is not Verdict.HOLDS]
    written = _written(out, circuit, design.results["parts"]) if out else []
    if as_json:
        print_json({"nets": plain(circuit.nets), "blocks": plain(circuit.blocks), "record_names": dict(record_names(circuit)),
                    "failing": plain(failing), "files": [str(file) for file in written]})
        return A_CHECK_FAILS if failing else ALL_HOLDS
    say("\n".join(_whole(circuit) if wanted is None else _about(circuit, wanted)))
    for finding in failing:
        say(f"\n{finding.verdict}  {finding.question} [{finding.id}]\n       {finding.detail}")
    for file in written:
        say(f"\nWritten: {file}")
    return A_CHECK_FAILS if failing else ALL_HOLDS


def _written(out: Path, circuit: Circuit, parts: Parts) -> list[Path]:
    """Write the netlist and a simulator's deck for each block, and return where."""
    from pattress.circuit.spice.deck import deck

    files = {"netlist.csv": netlist_csv(circuit)} | {
        f"decks/{block.name.replace(' ', '-')}.cir": deck(circuit, (block.name,), parts) for block in circuit.blocks if block.components}
    return [write_inside(out, name, content) for name, content in files.items()]


def _whole(circuit: Circuit) -> Iterator[str]:
    yield f"{counted(len(circuit.components), 'component')}, {counted(len(circuit.nets), 'net')}."
    yield from _row("", SCHEME)
    for block in circuit.blocks:
        if block.components:
            yield f"\n{block.name}"
            yield from _parts(block)


def _parts(block: Block) -> Iterator[str]:
    for component in block.components:
        if len(component.pins) == 1:
            yield from _row(f"  {component.designator:<7}", component.pins[0].net)
            continue
        pins = ", ".join(f"{pin.number} {pin.net}" for pin in component.pins)
        yield from _row(f"  {component.designator:<7}{_words(component)}", "")
        yield from _row(" " * 9, pins)


def _row(head: str, words: str) -> list[str]:
    """Return a head and words behind it, in lines of a terminal's width."""
    return wrap(words, WIDTH, initial_indent=head, subsequent_indent=" " * len(head)) or [head]


def _words(component: Component) -> str:
    name = f", {component.name}" if component.name and component.name != component.value else ""
    return f"{component.value or component.kind}{name}"


def _about(circuit: Circuit, wanted: str) -> Iterator[str]:
    component = circuit.by_designator.get(wanted)
    if component:
        block = next(block for block in circuit.blocks if component in block.components)
        yield f"{wanted}: {component.kind}, {_words(component)}{f' ({component.rating})' if component.rating else ''}; {component.place}, block {block.name}"
        for pin in component.pins:
            others = ", ".join(mark_of(one, other) for one, other in circuit.by_net[pin.net] if one is not component)
            yield from _row(f"  {pin.number:<4} {pin.net:<20} ", others)
        if block.answers:
            yield f"  checks: {', '.join(block.answers)}"
        return
    net = circuit.net_by_name.get(wanted)
    if net is None:
        near = nearest(wanted, (*circuit.by_designator, *circuit.net_by_name))
        raise UseError(f"there is no part and no net {as_found(wanted)} in this circuit{advice('a designator such as K1, or a net such as +5 V', near)}")
    yield f"{net.name}: {net.kind}{f' of feed {net.feed}' if net.feed else ''}, at most {net.voltage:.3g} V and {net.current:.3g} A"
    for component, pin in circuit.by_net[wanted]:
        yield f"  {mark_of(component, pin):<9} {_words(component)}"
