"""`pattress remote`: infra-red captures to codes and back, learning a button, collisions."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from pattress.atomic_write import write_atomically
from pattress.cli import text
from pattress.cli.plain import plain
from pattress.cli.terminal import A_CHECK_FAILS, ALL_HOLDS, print_json, say
from pattress.errors import UseError
from pattress.plural import counted

if TYPE_CHECKING:
    from pattress.infrared.collisions import Collision, Proposal, Remote
    from pattress.infrared.decoding import Decoded
    from pattress.infrared.learning import Learned


def decode(file: Path, draw: Path | None, *, as_json: bool) -> int:
    """Print every frame found in a file of captures."""
    from pattress.infrared.captures import read_captures
    from pattress.infrared.decoding import decode as frames_in

    captures = read_captures(file)
    found = [(capture, frames_in(capture.durations)) for capture in captures]
    if draw is not None:
        _draw(draw, captures[0].durations, found[0][1])
    if as_json:
        print_json([
            {"line": capture.line, "frames": [plain(frame) | {"code": str(frame.code), "trusted": frame.trusted, "doubt": frame.doubt} for frame in frames]}
            for capture, frames in found
        ])
    else:
        rows = [
            (str(capture.line), str(frame.code), "held" if frame.repeat else "press", "-" if frame.toggle is None else str(frame.toggle),
             f"{frame.confidence}", "" if frame.trusted else "too weak")
            for capture, frames in found for frame in frames
        ]
        say(text.table(("line", "code", "key", "toggle", "confidence", ""), rows) if rows else "no frame of any protocol")
        for words in dict.fromkeys(f"line {capture.line}, {frame.code} is {frame.doubt}" for capture, frames in found for frame in frames if frame.doubt):
            say(words)
        silent = sum(not frames for _, frames in found)
        if silent:
            say(f"{silent} of {counted(len(found), 'capture')} {'holds' if silent == 1 else 'hold'} no frame")
    return ALL_HOLDS if any(frames for _, frames in found) else A_CHECK_FAILS


def learn(file: Path, job: Path | None, button: str | None, draw: Path | None, *, as_json: bool) -> int:
    """Print what several presses of one button say; write the code into the job file when asked and the presses agree."""
    from pattress.infrared.captures import read_captures
    from pattress.infrared.learning import learn as learn_from

    if (job is None) != (button is None):
        raise UseError("--into and --button go together: --into JOB --button REMOTE.BUTTON")
    learned = learn_from([capture.durations for capture in read_captures(file)])
    if draw is not None:
        from pattress.infrared.capture_drawing import histogram

        write_atomically(draw, histogram(learned).svg())
    if as_json:
        print_json(plain(learned) | {"code": str(learned.code) if learned.code else None, "lacking": learned.lacking})
    else:
        say(_learned(learned))
    if job is None or button is None:
        return A_CHECK_FAILS if learned.code is None else ALL_HOLDS
    if learned.lacking:
        if not as_json:
            say(f"not written: {learned.lacking}")
        return A_CHECK_FAILS
    _write_code(job, button, learned)
    if not as_json:
        say(f"written: {job}, remote.{button}")
    return ALL_HOLDS


def send(code: str, *, held: int, toggle: int, as_json: bool) -> int:
    """Print what a remote sends for a code, in the form the kernel's tools read."""
    from pattress.infrared.encoding import signal
    from pattress.job.code import parse_code
    from pattress.refusal import Refusal

    try:
        sent = signal(parse_code(code), held=held, toggle=toggle)
    except Refusal as refusal:
        raise UseError(f"code is {refusal.found}\n  allowed: {refusal.allowed}") from None
    if as_json:
        print_json(plain(sent))
    else:
        say(f"carrier {sent.carrier}")
        for place, duration in enumerate(sent.durations):
            say(f"{'space' if place % 2 else 'pulse'} {duration}")
    return ALL_HOLDS


def compare(job: Path, keymaps: tuple[Path, ...], *, as_json: bool) -> int:
    """Print which buttons of other remotes trigger those of a job, and addresses that would avoid it."""
    from pattress.infrared.collisions import Remote, collisions, free_addresses
    from pattress.infrared.scancode import KeymapError, read_keymap

    ours, read, skipped = _remotes(job), [], []
    for path in keymaps:
        try:
            read.append(read_keymap(path))
        except KeymapError as error:
            skipped.append(error)
    if skipped and not read:
        raise UseError("\n".join(map(str, skipped)))
    others = tuple(Remote(keymap.name, keymap.buttons) for keymap in read)
    if not ours:
        raise UseError(f"{job} has no remote button whose code is known\n  try: pattress remote learn")
    rows: list[Collision] = []
    free: dict[str, tuple[Proposal, ...]] = {}
    for number, one in enumerate(ours):
        rest = (*ours[:number], *ours[number + 1:], *others)
        rows += collisions(one, rest)
        if any(collision.button in dict(one.buttons) for collision in rows):
            free[one.name] = free_addresses(one, rest, count=1)[:3]
    if as_json:
        print_json({"collisions": [plain(row) | {"words": str(row)} for row in rows],
                    "free": {name: [str(one) for one in some] for name, some in free.items()},
                    "skipped": [str(error) for error in skipped],
                    "left_out": {keymap.name: list(keymap.left_out) for keymap in read if keymap.left_out}})
    else:
        say("\n".join(str(row) for row in rows) or f"no button of the remotes {'that could be read' if skipped else 'given'} triggers another")
        for name, some in free.items():
            say(f"free for {name}: " + "; ".join(str(one) for one in some))
        for refused in skipped:
            say(f"skipped {refused}")
        for keymap in read:
            if keymap.left_out:
                say(f"left out of {keymap.name}: {counted(len(keymap.left_out), 'button')} of protocols not decoded here")
        say("Remotes that are not given were not looked at.")
    return A_CHECK_FAILS if any(row.certain for row in rows) else ALL_HOLDS


def buttons(keymap: Path, *, as_json: bool) -> int:
    """Print the buttons of a keymap file, each with its code as the job file writes it."""
    from pattress.infrared.scancode import read_keymap

    found = read_keymap(keymap)
    if as_json:
        print_json({"name": found.name, "buttons": {key: str(code) for key, code in found.buttons}, "left_out": list(found.left_out)})
    else:
        say(text.table(("button", "code"), [(key, str(code)) for key, code in found.buttons]))
        for phrase in found.left_out:
            say(f"left out: {phrase}")
    return ALL_HOLDS


def _remotes(job: Path) -> "tuple[Remote, ...]":
    from pattress.infrared.collisions import Remote
    from pattress.job import load
    from pattress.job.code import Code

    remotes = []
    for remote in load(job).remote.values():
        buttons = tuple((key, button.code) for key, button in remote.button.items() if isinstance(button.code, Code))
        if buttons:
            remotes.append(Remote(remote.name, buttons))
    return tuple(remotes)


def _learned(learned: "Learned") -> str:
    lines = [f"{learned.code or 'no code'}: {learned.agreeing} of {counted(learned.presses, 'press', 'presses')} {'agrees' if learned.agreeing == 1 else 'agree'}, sureness {learned.sureness} of 100"]
    lines += [f"also heard in {count}: {code}" for code, count in learned.others]
    lines.append(f"clock {100 * (learned.clock - 1):+.1f} % of nominal, marks {learned.stretch:+d} us"
                 + ("" if learned.jitter is None else f", {learned.jitter} us r.m.s. of jitter"))
    return "\n".join([*lines, *learned.advice])


def _write_code(job: Path, button: str, learned: "Learned") -> None:
    """Write a learned code to a button of a job file, keeping its comments and order."""
    from pattress.design.rewriting import write_changes
    from pattress.job import load
    from pattress.refusal import nearest

    found = load(job)
    buttons = {f"{key}.{name}": (key, name) for key, remote in found.remote.items() for name in remote.button}
    if button not in buttons:
        likely = nearest(button, buttons)
        raise UseError(f"{job} has no button {button!r}\n  allowed: {', '.join(buttons) or 'none'}" + (f"\n  nearest: {likely}" if likely else ""))
    key, name = buttons[button]
    remote = found.remote[key]
    changed = remote.button[name].model_copy(update={"code": learned.code})
    meant = found.model_copy(update={"remote": found.remote | {key: remote.model_copy(update={"button": remote.button | {name: changed}})}})
    write_changes(job, [(("remote", key, "button", name, "code"), str(learned.code))], meant)


def _draw(file: Path, durations: Sequence[int], frames: "Sequence[Decoded]") -> None:
    from pattress.infrared.capture_drawing import timing_diagram

    write_atomically(file, timing_diagram(durations, frames).svg())
