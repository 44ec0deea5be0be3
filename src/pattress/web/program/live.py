"""Try it: the room simulated, operated by a person against the real control program.

A run belongs to an address that only the browser that began it knows; the server keeps the
latest few, each with a bounded number of stimuli.
"""

from collections import OrderedDict
from dataclasses import dataclass, field
from secrets import token_urlsafe
from threading import Lock

from pattress.design import Design
from pattress.errors import UseError
from pattress.rehearsal.day import clock, standing
from pattress.rehearsal.live_run import Control, Lamp, LiveRun, Scene
from pattress.web.program.live_view import drawn, live_view_of
from pattress.web.sheet import Asked, Go, NoSuchSheet, Sheet, Stay

MOST_RUNS = 16
MOST_STIMULI = 2000           # in one run
SETTLES_MS = 300             # that pass after each action, so that a contact settles and a relay moves
TAP_MS = 120                 # a retractive switch is held for, when it is pressed and let go; and let go between two presses
TOLD = 60                    # happenings on the sheet
WAITS = ((300, "0.3 s"), (2000, "2 s"), (10_000, "10 s"), (60_000, "1 min"), (3_600_000, "1 h"), (86_400_000, "1 day"))
UNTIL, GONE = "until", "This run is not kept any more. Begin another one."


@dataclass(slots=True)
class Session:
    """A live run and what it was begun with."""

    run: LiveRun
    design: Design
    version: str
    stimuli: int = 0
    lock: Lock = field(default_factory=Lock)


class Sessions:
    """The runs that are kept, the least used ones dropped first. Any thread may call."""

    def __init__(self) -> None:
        self._kept: OrderedDict[str, Session] = OrderedDict()
        self._lock = Lock()

    def begin(self, design: Design, version: str) -> str:
        """Begin a run with the power on and return its name."""
        run = LiveRun(design.plan)
        run.do("wait 2000")                   # the board has started
        name = token_urlsafe(9)
        with self._lock:
            self._kept[name] = Session(run, design, version)
            while len(self._kept) > MOST_RUNS:
                self._kept.popitem(last=False)
        return name

    def find(self, name: str) -> Session:
        """Return a run by its name; raises NoSuchSheet when it is not kept."""
        with self._lock:
            if name not in self._kept:
                raise NoSuchSheet(GONE)
            self._kept.move_to_end(name)
            return self._kept[name]


SESSIONS = Sessions()


@dataclass(frozen=True, slots=True)
class Knob:
    """One thing that a person can do: the line that does it, and its word."""

    line: str
    word: str
    pressed: bool = False         # stands so already


@dataclass(frozen=True, slots=True)
class Row:
    """A control or a channel with what can be done to it."""

    anchor: str
    name: str
    state: str
    knobs: tuple[Knob, ...]


@dataclass(frozen=True, slots=True)
class LiveSheet:
    """The run as it stands; empty before it was begun."""

    begun: bool
    stale: bool                   # the job has changed since the run began
    svg: str
    clock: str
    standing: tuple[str, ...]     # power, program, network, in words
    controls: tuple[Row, ...]
    buttons: tuple[Row, ...]
    asks: tuple[Row, ...]         # over the network
    supplies: tuple[Knob, ...]
    waits: tuple[Knob, ...]
    wakes: str                    # when the program does something by itself, "" when it will not
    happenings: tuple[tuple[str, str], ...]     # what kind, words; latest first


def view(asked: Asked) -> LiveSheet:
    """Return the run in the address as it stands; raises NoSuchSheet."""
    if "run" not in asked.place:
        return LiveSheet(False, False, "", "", (), (), (), (), (), (), "", ())
    session = SESSIONS.find(asked.place["run"])
    with session.lock:
        scene = session.run.scene()
    return sheet_of(session.design, scene, stale=session.version != asked.version.digest)


def sheet_of(design: Design, scene: Scene, *, stale: bool = False) -> LiveSheet:
    """Return a scene as the sheet prints it."""
    return LiveSheet(
        begun=True, stale=stale, svg=drawn(design, live_view_of(design, scene.lamps, scene.controls)), clock=clock(scene.at),
        standing=_standing(scene),
        controls=tuple(_control(design, one) for one in scene.controls if one.kind != "button"),
        buttons=tuple(Row("", one.name, "", (Knob(f"button {one.key}", "Send"), Knob(f"button {one.key} 1000", "Hold 1 s")))
                      for one in scene.controls if one.kind == "button"),
        asks=tuple(_ask(lamp) for lamp in scene.lamps),
        supplies=(Knob("cut power", "Cut the power") if scene.has_power else Knob("restore power", "Power back"),
                  Knob("drop network", "Drop Wi-Fi") if scene.has_network else Knob("find network", "Wi-Fi back")),
        waits=tuple(Knob(f"wait {length}", words) for length, words in WAITS),
        wakes="" if scene.wakes_at is None else clock(scene.wakes_at),
        happenings=tuple((one.what, str(one)) for one in reversed(scene.happenings[-TOLD:])),
    )


def begin(asked: Asked) -> Go:
    """Begin a run under the job as it is now."""
    return Go(f"/try/{SESSIONS.begin(asked.design, asked.version.digest)}", "A run has begun: the power is on, the control program runs.")


def act(asked: Asked) -> Go | Stay:
    """Do what the line says, let a moment pass, and tell what happened."""
    session = SESSIONS.find(asked.place.get("run", ""))
    line = asked.form.get("line", "")[:200]
    with session.lock:
        if session.stimuli >= MOST_STIMULI:
            return Stay(None, f"This run has had {MOST_STIMULI} actions, the most that are kept. Begin another one.", 409)
        before = session.run.scene()
        for one in _lines(line, before):
            session.run.do(one)
        session.stimuli += 1
        after = session.run.scene()
    return Go(f"/try/{asked.place['run']}", _news(before, after))


def _lines(line: str, scene: Scene) -> tuple[str, ...]:
    """Return the stimuli of a posted line: those of a person, "tap SWITCH", "twice SWITCH", or waiting until the program acts."""
    words = line.split()
    if words[:1] == ["tap"] and len(words) == 2:
        return *_tap(words[1]), f"wait {SETTLES_MS}"
    if words[:1] == ["twice"] and len(words) == 2:
        return *_tap(words[1]), f"wait {TAP_MS}", *_tap(words[1]), f"wait {SETTLES_MS}"
    if words == ["wait", UNTIL]:
        if scene.wakes_at is None:
            raise UseError("the program will do nothing by itself now")
        return (f"wait {max(scene.wakes_at - scene.at, 0) + SETTLES_MS}",)
    return (line,) if words[:1] == ["wait"] else (line, f"wait {SETTLES_MS}")


def _tap(switch: str) -> tuple[str, ...]:
    return f"press {switch}", f"wait {TAP_MS}", f"release {switch}"


def _news(before: Scene, after: Scene) -> str:
    """Return what happened between two scenes, in a line."""
    known = set(before.happenings)
    fresh = [one.words for one in after.happenings if one not in known and one.what in ("relay", "waits", "power", "network", "fault")]
    return "; ".join(fresh[-4:]) or "Nothing moved."


def _standing(scene: Scene) -> tuple[str, ...]:
    program = "the control program runs" if scene.is_running else "the board is starting" if scene.has_power else "the board is dark"
    network = "the network listens" if scene.is_linked else "Wi-Fi is there, the board is not linked yet" if scene.has_network else "no Wi-Fi"
    return "power on" if scene.has_power else "no power", program, network


def _control(design: Design, one: Control) -> Row:
    if one.kind == "regulator":
        levels = next(row["levels"] for row in design.plan["regulators"] if row["key"] == one.key)
        knobs = tuple(Knob(f"turn {one.key} {place}", standing(level, 2), place == one.position) for place, level in enumerate(levels))
        return Row(f"do-regulator-{one.key}", one.name, f"stands at {standing(levels[one.position], 2)}" if one.position >= 0 else "", knobs)
    if one.kind == "latching":
        return Row(f"do-switch-{one.key}", one.name, "closed" if one.position else "open", (Knob(f"throw {one.key}", "Throw"),))
    hold = Knob(f"release {one.key}", "Let go") if one.position else Knob(f"press {one.key}", "Hold down")
    twice = (Knob(f"twice {one.key}", "Press twice"),) if design.job.switch[one.key].twice else ()
    knobs = (hold,) if one.position else (Knob(f"tap {one.key}", "Press and let go"), *twice, hold)
    return Row(f"do-switch-{one.key}", one.name, "pressed" if one.position else "at rest", knobs)


def _ask(lamp: Lamp) -> Row:
    knobs = [Knob(f"ask {lamp.key} off", "off"), Knob(f"ask {lamp.key} on", "on"), Knob(f"ask {lamp.key} toggle", "toggle")]
    if lamp.top > 1:
        knobs += [Knob(f"ask {lamp.key} set {level}", f"step {level}") for level in range(1, lamp.top + 1)]
    told = "nothing told yet" if lamp.told is None else f"told: {standing(lamp.told, lamp.top)}"
    return Row("", lamp.name, told, tuple(knobs))


SHEETS = (
    Sheet("/try", "Try it", "live.html", view, {"begin": begin}),
    Sheet("/try/{run}", "", "live.html", view, {"begin": begin, "act": act}),
)
