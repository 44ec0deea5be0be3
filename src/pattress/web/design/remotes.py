"""The infra-red sheet: captures pasted or uploaded, drawn to scale with their bits, decoded, and given to a button."""

from dataclasses import dataclass

from pattress.design import Design
from pattress.drawing import Medium
from pattress.errors import UseError
from pattress.infrared.capture_drawing import timing_diagram
from pattress.infrared.captures import Capture, CaptureError, parse_captures
from pattress.infrared.decoding import Decoded, decode
from pattress.infrared.learning import learn
from pattress.job.code import parse_code
from pattress.plural import counted
from pattress.refusal import Refusal, advice, nearest, word_list
from pattress.web.sheet import Asked, Go, Sheet, Stay

MOST = 20_000                # durations that are looked at on the page
DRAWN, LONGEST_DRAWN = 6, 600     # captures that are drawn, and durations of each
WIDTH = 360                  # of a diagram, to be read on a telephone
NEITHER = "Paste a capture, or choose a file with one."


@dataclass(frozen=True, slots=True)
class Frame:
    """One frame that was found."""

    code: str
    key: str
    toggle: str
    sureness: str
    doubt: str                    # why it is too weak to act on, and what to do; "" when it is not


@dataclass(frozen=True, slots=True)
class Heard:
    """One capture: where it stands in the text, what was found in it, and its diagram ("" when it is not drawn)."""

    title: str
    frames: tuple[Frame, ...]
    svg: str


@dataclass(frozen=True, slots=True)
class Button:
    """A button of a remote of the job."""

    value: str
    name: str


@dataclass(frozen=True, slots=True)
class InfraredSheet:
    """What was pasted and what it says."""

    text: str
    heard: tuple[Heard, ...]
    summary: str
    advice: tuple[str, ...]
    codes: tuple[str, ...]        # what may be given to a button, likeliest first
    buttons: tuple[Button, ...]


def view(asked: Asked) -> InfraredSheet:
    """Return the sheet with nothing read."""
    return InfraredSheet(asked.form.get("captures", ""), (), "", (), (), _buttons(asked.design))


def read(asked: Asked) -> Stay:
    """Read what was pasted or uploaded. Nothing is written anywhere."""
    upload = asked.uploads.get("file")
    if upload is not None and upload.content:
        where = upload.name[:80] or "the file"
        try:
            text = upload.content.decode("utf-8")
        except UnicodeDecodeError:
            raise CaptureError(where, "no text", "a text file of captures") from None
    else:
        where, text = "pasted", asked.form.get("captures", "")
        if not text.strip():
            raise UseError(NEITHER)
    return Stay(heard(asked.design, text, where), "", 200)


def heard(design: Design, text: str, where: str) -> InfraredSheet:
    """Return what a text of captures says. Raises CaptureError with the line."""
    captures = parse_captures(text, where=where)
    if sum(len(capture.durations) for capture in captures) > MOST:
        raise CaptureError(where, f"more than {MOST} durations", "a few presses; for more use `pattress remote decode`")
    learned = learn([capture.durations for capture in captures])
    found = [decode(capture.durations) for capture in captures]
    summary = "no code" if learned.code is None else (
        f"{learned.code}: {learned.agreeing} of {counted(learned.presses, 'press', 'presses')} {'agrees' if learned.agreeing == 1 else 'agree'}, sureness {learned.sureness} of 100; "
        f"clock {100 * (learned.clock - 1):+.1f} % of nominal, marks {learned.stretch:+d} us")
    shown = tuple(_heard(number, capture, frames) for number, (capture, frames) in enumerate(zip(captures, found, strict=True), 1))
    words = learned.advice if learned.ready else (*learned.advice, f"Not to be given to a button yet: {learned.lacking}.")
    return InfraredSheet(text, shown, summary, words, tuple(map(str, learned.ready)), _buttons(design))


def assign(asked: Asked) -> Go:
    """Write a code to a button of the job file. Raises UseError or JobError."""
    wanted, found = asked.form.get("button", ""), asked.form.get("code", "")
    names = {button.value for button in _buttons(asked.design)}
    if wanted not in names:
        raise UseError(f"This job has no button {wanted[:80]!r}{advice(word_list(sorted(names)) or 'none', nearest(wanted, names))}")
    try:
        code = str(parse_code(found))
    except Refusal as refusal:
        raise UseError(f"code is {refusal.found}{advice(refusal.allowed, refusal.nearest)}") from None
    remote, _, button = wanted.partition(".")
    asked.draft.write([(("remote", remote, "button", button, "code"), code)])
    return Go("/infrared", f"{code} is now the code of {wanted}.")


def _heard(number: int, capture: Capture, frames: list[Decoded]) -> Heard:
    title = f"Press {number}, line {capture.line}"
    drawn = number <= DRAWN and len(capture.durations) <= LONGEST_DRAWN
    svg = timing_diagram(capture.durations, frames, title=title, width=WIDTH).svg(Medium.PAGE) if drawn else ""
    return Heard(title, tuple(_frame(frame) for frame in frames), svg)


def _frame(frame: Decoded) -> Frame:
    return Frame(str(frame.code), "held" if frame.repeat else "press", "" if frame.toggle is None else str(frame.toggle),
                 f"{frame.confidence} of 100", frame.doubt)


def _buttons(design: Design) -> tuple[Button, ...]:
    return tuple(Button(f"{key}.{name}", f"{remote.name}: {name}, now {button.code}")
                 for key, remote in design.job.remote.items() for name, button in remote.button.items())


SHEETS = (Sheet("/infrared", "Infra-red", "infrared.html", view, {"read": read, "assign": assign}),)
