"""A bundle put on a board, and what a board tells: printed. The work is `bench`'s."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pattress.cli import line
from pattress.cli.plain import plain
from pattress.cli.results import results_folder
from pattress.cli.terminal import A_CHECK_FAILS, ALL_HOLDS, print_json, progress_line, say
from pattress.design import Design, design_of
from pattress.errors import UseError
from pattress.plural import counted
from pattress.stock.own import Own

if TYPE_CHECKING:
    from pattress.bench.putting import Putting
    from pattress.bundle.secrets import Secrets


def put(job: Path, own: Own, out: Path | None, *, port: str | None, wifi: bool, dry: bool, as_json: bool) -> int:
    """Put the bundle of a job on the board at a port, restart it, and print what it reports."""
    from pattress.bench import report
    from pattress.bench.link import Link, ports, refuse_absent
    from pattress.bench.putting import put as put_on

    if port is None:
        raise UseError("put was given neither --port nor --address\n  nearest: " + (", ".join(ports()) or "no serial port is there"))
    design = design_of(job, own)
    refused = line.refusals_of(design)
    if refused:
        return line.say_refused(refused, as_json)
    authority, secrets = _authority(job, design), _secrets(job, design, ask=wifi)      # kept only when a board answers
    if design.job.network.wifi and secrets.wifi_name is None:
        say("no Wi-Fi is known here: --wifi asks for it; what was set at a wall switch stays", err=True)
    refuse_absent(port)
    folder, progress = results_folder(job, out) / "bundle", progress_line(as_json)
    line.bundled(design, folder)
    with Link(port) as link:
        sequence = _next_sequence(secrets)
        if not dry:
            _keep(job, replace(secrets, sequence=sequence))
        done = put_on(link, folder, chip=design.board.chip, settings=_settings(design, secrets), authority=authority,
                      sequence=sequence, dry=dry, progress=progress)
    found = report.asked(port) if done.is_done else None
    if as_json:
        print_json(_facts(done) | {"report": plain(found)})
        return ALL_HOLDS
    say(_told(done, dry))
    if found is not None:
        say(report.told(found))
        say(f"\n{_on_trial()}" if found.is_on_trial else "")
        line.print_cautions()
    return ALL_HOLDS


def send(job: Path, own: Own, out: Path | None, *, address: str, given: dict[str, Any], as_json: bool) -> int:
    """Send the bundle of a job, signed, to a controller on the network, which restarts by itself."""
    from pattress.bench.carrying import carry
    from pattress.bundle import secrets as store

    for option, value in given.items():
        if value:
            raise UseError(f"{option} was given with --address\n  allowed: {option} with --port, over USB")
    design = design_of(job, own)
    refused = line.refusals_of(design)
    if refused:
        return line.say_refused(refused, as_json)
    secrets = store.load(job)
    key, folder = secrets.needed("signing_key"), results_folder(job, out) / "bundle"
    manifest = line.bundled(design, folder)
    sequence = _next_sequence(secrets)
    _keep(job, replace(secrets, sequence=sequence))
    slot = carry(address, folder, key=key, sequence=sequence, progress=progress_line(as_json))
    if as_json:
        print_json({"address": address, "bundle": manifest.digest, "slot": slot, "sequence": sequence})
        return ALL_HOLDS
    say(f"bundle {manifest.digest}, slot {slot}: taken by {address}\n"
        f"It restarts when nothing stirs there; every relay opens for that moment.\n{_on_trial(joins=True)}")
    line.print_cautions()
    return ALL_HOLDS


def tell(port: str, *, as_json: bool) -> int:
    """Print what the program on the board at a port tells of itself; it runs on."""
    from pattress.bench import report

    found = report.asked(port, wait=report.TRY_S)
    if as_json:
        print_json(plain(found))
    else:
        say(report.told(found))
    return A_CHECK_FAILS if found.state["fell_back"] or found.is_minimal else ALL_HOLDS


def _on_trial(*, joins: bool = False) -> str:
    """Say what a new program must do to stay; `joins`: it came over the network."""
    from pattress.controller.loop import HEALTHY_S, JOINED_S

    network = f", and join the network again within {JOINED_S // 60} min" if joins else ""
    return f"On trial: it must run for {HEALTHY_S} s without a restart{network}, or the former program comes back by itself."


def _secrets(job: Path, design: Design, *, ask: bool) -> "Secrets":
    """Return the secrets of a job, made where they can be, and asked for when the person wishes; they are not kept yet."""
    from pattress.bundle import secrets as store

    found = store.completed(store.load(job), job)
    if not ask:
        return found
    if not design.job.network.wifi:
        raise UseError(f"{job} says network.wifi = false\n  allowed: --wifi for a job whose controller joins the home's Wi-Fi")
    return _asked(found, has_broker=design.job.network.broker != "none")


def _keep(job: Path, secrets: "Secrets") -> None:
    """Keep the secrets of a job beside it, and say so where they are others than before."""
    from pattress.bundle import secrets as store

    if replace(store.load(job), sequence=0) != replace(secrets, sequence=0):
        say(f"kept in {store.place(job)}, for its owner only", err=True)
    store.store(job, secrets)
    exposed = store.exposure(job)
    if exposed:
        say(exposed, err=True)


def _asked(secrets: "Secrets", *, has_broker: bool) -> "Secrets":
    """Ask for what opens the home's network; nothing that is typed is shown."""
    from pattress.controller.network.setup import fault_of

    while True:
        name = _prompt("Name of the home's Wi-Fi")
        key = _prompt("Its key")
        fault = fault_of(name, key)
        if not fault:
            break
        say(fault, err=True)
    secrets = replace(secrets, wifi_name=name, wifi_password=key)
    if has_broker:
        user = _prompt("User at the broker, empty for none")
        password = _prompt("Password at the broker") if user else ""
        secrets = replace(secrets, broker_user=user or None, broker_password=password or None)
    return secrets


def _prompt(words: str) -> str:
    return click.prompt(words, hide_input=True, default="", show_default=False, err=True)


def _settings(design: Design, secrets: "Secrets") -> bytes | None:
    """Return what the board keeps of the network; None leaves its radio off."""
    from pattress.bundle.settings import name_of, network_settings

    network = design.job.network
    if not network.wifi:
        return None
    return network_settings(name=name_of(design.job.job.title, network.name), broker=network.broker, secrets=secrets,
                            time_server=network.time_server, over_tls=network.broker_authority is not None,
                            with_setup=network.setup_switch is not None)


def _authority(job: Path, design: Design) -> bytes | None:
    """Return the certificate by which the board knows the broker; None where it is not asked for one."""
    from pattress.bundle.settings import authority_of

    named = design.job.network.broker_authority
    return None if named is None or not design.job.network.wifi else authority_of(job, named)


def _next_sequence(secrets: "Secrets") -> int:
    """Return a number that no bundle of this job had: once a board has it, an older one is refused."""
    from time import time

    return max(secrets.sequence + 1, int(time()))


def _facts(done: "Putting") -> dict[str, Any]:
    return {"board": done.board["machine"], "interpreter": ".".join(map(str, done.board["version"])), "bundle": done.bundle,
            "slot": done.slot, "files": [plain(step) for step in done.steps], "sent_bytes": done.sent, "check": list(done.check),
            "advice": list(done.advice), "done": done.is_done}


def _told(done: "Putting", dry: bool) -> str:
    ways = {how: [step for step in done.steps if step.how == how] for how in ("send", "copy", "keep")}
    lines = [f"board: {done.board['machine']}, {done.board['interpreter']} {'.'.join(map(str, done.board['version']))}"]
    if dry:
        lines += [f"would send {step.path}, {counted(step.size, 'byte')}" for step in ways["send"]]
        lines += [f"would copy {step.path} from {step.source}" for step in ways["copy"]]
    words = f"{counted(len(ways['send']), 'file')} sent, {counted(done.sent, 'byte')}; {len(ways['copy'])} copied on the board; {len(ways['keep'])} there already"
    lines.append(f"nothing was changed: {words}" if dry else words)
    if done.slot is None:
        lines.append("the board runs this bundle already")
    return "\n".join([*lines, *done.check, *done.advice])
