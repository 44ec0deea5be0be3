"""The sheet of proof and rehearsal, and the sheet on which a story is stepped through."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from pattress.controller.core.cells import CAUSES, NOWHERE
from pattress.controller.core.plan import top_of
from pattress.design import Design
from pattress.finding import Verdict
from pattress.web.background_jobs import BackgroundJobShown, background_job_shown, background_jobs_of
from pattress.web.program.live_view import LiveView, drawn, live_view_of
from pattress.web.program.rehearsed import REHEARSAL, Days, rehearse_job
from pattress.web.program.stepped import Stepped, event_asked, events_around, ways_on
from pattress.web.sheet import Asked, Go, NoSuchSheet, Sheet, Stay

if TYPE_CHECKING:
    from pattress.proof import Proof, Property, Story

PROOF = "proof"
MOST_DAYS = 60
CAPTION = "Only what the story tells of is drawn, as it stands after the step. Steps have an order, not a duration."
Tell = Callable[..., None]


@dataclass(frozen=True, slots=True)
class Claim:
    """One property as printed; `story` is the address of the way to break it, "" for none."""

    id: str
    sentence: str
    verdict: str
    detail: str
    story: str


@dataclass(frozen=True, slots=True)
class ProvingSheet:
    """Proof and rehearsal as they stand."""

    proof: BackgroundJobShown
    verdict: str                  # of the whole, "" before there is one
    summary: str
    claims: tuple[Claim, ...]
    rehearsal: BackgroundJobShown
    days: Days | None
    wishes: int
    most_days: int


def prove_job(tell: Tell, plan: Mapping[str, Any], wishes: Mapping[str, Any], has_network: bool) -> "Proof":
    """Prove a plan; a work."""
    from pattress.proof import prove

    def progress(words: str) -> None:
        count, _, name = words.partition(" ")
        done, _, of = count.partition("/")
        if of.isdecimal():
            tell(name, int(done) - 1, int(of))
        else:
            tell(words)

    return prove(plan, progress=progress, wishes=wishes, has_network=has_network)


def proof_of(asked: Asked) -> "tuple[Property, ...] | None":
    """Return the claims of the proof of the job as it is, None where it is not proven or has changed since."""
    work = background_jobs_of(asked.draft).of(PROOF)
    return work.outcome.properties if work and work.outcome and work.version.digest == asked.version.digest else None


def view(asked: Asked) -> ProvingSheet:
    """Return proof and rehearsal as they stand."""
    background_jobs = background_jobs_of(asked.draft)
    proof, rehearsal = background_jobs.of(PROOF), background_jobs.of(REHEARSAL)
    proven = proof.outcome if proof else None
    claims = _worst_first(proven.properties) if proven else ()
    return ProvingSheet(
        background_job_shown(proof, PROOF, asked.version), _verdict(proven) if proven else "", proven.summary if proven else "", tuple(map(_claim, claims)),
        background_job_shown(rehearsal, REHEARSAL, asked.version), rehearsal.outcome if rehearsal else None, len(asked.design.job.wish), MOST_DAYS,
    )


def view_story(asked: Asked) -> Stepped:
    """Return a story at the step in the address, the last when none is named; raises NoSuchSheet."""
    work = background_jobs_of(asked.draft).of(PROOF)
    properties = work.outcome.properties if work and work.outcome else ()
    prop = next((prop for prop in properties if prop.id == asked.place["property"]), None)
    if work is None or prop is None or prop.story is None:
        raise NoSuchSheet("There is no such story. Prove the job again; perhaps all holds now.")
    last, design = len(prop.story.steps), work.version.design
    at = event_asked(asked.place.get("step"), last, otherwise=last)
    moment = _moment(prop.story, at, design)
    address = _address(prop)
    return Stepped(
        title="How it breaks", sentence=prop.sentence, id=prop.id, stale=work.version.digest != asked.version.digest, caption=CAPTION,
        svg=drawn(design, moment), standing=moment.words, found=(prop.detail,) if at == last else (),
        events=events_around(address, at, [(one.words, one.outcome, ()) for one in prop.story.steps]),
        ways=ways_on(address, at, last, lambda number: False),
    )


def begin_proof(asked: Asked) -> Go:
    """Begin to prove the job as it is now."""
    design = asked.design
    begun = background_jobs_of(asked.draft).begin(PROOF, asked.version, asked.news, prove_job, design.plan, design.wishes,
                                         design.job.network.wifi)
    return Go("/proof", "The proof has begun." if begun else "A proof is running already.")


def begin_rehearsal(asked: Asked) -> Go | Stay:
    """Begin to rehearse the job as it is now."""
    days = asked.form.get("days", "1").strip()
    if not (days.isascii() and days.isdecimal() and len(days) < 4 and int(days) <= MOST_DAYS):
        return Stay(None, f"Days must be a whole number from 0 to {MOST_DAYS}, found {days[:20]!r}.")
    begun = background_jobs_of(asked.draft).begin(REHEARSAL, asked.version, asked.news, rehearse_job, asked.design.plan, int(days))
    return Go("/proof", "The rehearsal has begun." if begun else "A rehearsal is running already.")


def stop(asked: Asked) -> Go:
    """Stop a work that runs."""
    kind = asked.form.get("kind", "")
    stopped = kind in (PROOF, REHEARSAL) and background_jobs_of(asked.draft).stop(kind)
    return Go("/proof", f"The {kind} is stopped." if stopped else "Nothing was running.")


def _verdict(proof: "Proof") -> str:
    return "fails" if proof.failed else "holds" if proof.holds else "unknown"


def _worst_first(claims: "Iterable[Property]") -> "list[Property]":
    return sorted(claims, key=lambda one: -Verdict(one.verdict).severity)


def broken(claims: "Iterable[Property]") -> tuple[Claim, ...]:
    """Return the claims that do not hold, as printed, the worst first."""
    return tuple(_claim(one) for one in _worst_first(claims) if not one.holds)


def _claim(prop: "Property") -> Claim:
    return Claim(prop.id, prop.sentence, prop.verdict, prop.detail, f"{_address(prop)}/1" if prop.story else "")


def _address(prop: "Property") -> str:
    return f"/proof/story/{quote(prop.id)}"


def _moment(story: "Story", at: int, design: Design) -> LiveView:
    """Return what stands after a step, of the things that the story tells of.

    A contact stands where the last step that names it has put it: the exploration hides what it does not look at.
    """
    from pattress.proof import standings
    from pattress.rehearsal.live_run import Control, Lamp
    from pattress.rehearsal.storyline import lanes

    plan, stood = design.plan, standings(story, design.plan)[:at]
    told = {lane.name for lane in lanes(story, plan)}
    words = " ".join(step.words for step in story.steps)
    lamps = [Lamp(row["key"], row["name"], stood[-1].levels[place], top_of(row), stood[-1].wanted[place], CAUSES[0], (), None)
             for place, row in enumerate(plan["channels"]) if row["name"] in told]

    def last(name: str, positions: Iterable[int], first: int) -> int:
        named = [position for step, position in zip(story.steps, positions) if name in step.words]
        return named[-1] if named else first

    controls = [Control(row["key"], row["name"], "latching" if row["latching"] else "retractive",
                        last(row["name"], [one.contacts[place] for one in stood], 0), 2)
                for place, row in enumerate(plan["switches"]) if row["name"] in words]
    controls += [Control(row["key"], row["name"], "regulator", last(row["name"], [one.positions[place] for one in stood], NOWHERE), len(row["levels"]))
                 for place, row in enumerate(plan["regulators"]) if row["name"] in words]
    return live_view_of(design, lamps, controls)


ACTIONS = {"prove": begin_proof, "rehearse": begin_rehearsal, "stop": stop}
SHEETS = (
    Sheet("/proof", "Proof", "proving.html", view, ACTIONS),
    Sheet("/proof/story/{property}", "", "stepped.html", view_story),
    Sheet("/proof/story/{property}/{step}", "", "stepped.html", view_story),
)
