"""Trying choices: the design of a candidate, and what one question says of a neighbour of it.

A candidate is one option of every choice, by place. Every answer is kept under what can move it
(its scope), so that no combination is reckoned twice.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

from pattress.design import STAGES, Design
from pattress.design.choices import Choice, chosen_job
from pattress.design.scopes import scope
from pattress.design.stages import needed_for, run
from pattress.finding import Finding, Verdict

Picks = tuple[int, ...]

UNTOUCHED = ("fan_part", "fan_designs", "fan_drives")      # results that no choice can move: what a fan is, is given
TRIED_STAGES = tuple(stage for stage in STAGES if stage.name not in UNTOUCHED)


@dataclass(frozen=True, slots=True)
class Answer:
    """What a finding said of one combination; `settles` are the measurements that an unknown one asks for."""

    verdict: Verdict
    margin: float
    settles: frozenset[str]


ABSENT = Answer(Verdict.HOLDS, 0.0, frozenset())


@dataclass
class Trials:
    """The designs and answers tried so far, starting from the design as it is."""

    base: Design
    choices: tuple[Choice, ...]
    progress: Callable[[str], None] | None = None
    designs: dict[Picks, Design] = field(default_factory=dict)
    _scopes: dict[str, Picks] = field(default_factory=dict)
    _answers: dict[tuple[str, Picks], Answer] = field(default_factory=dict)
    _stages: dict[str, str] = field(default_factory=dict)
    _asked: set[tuple[str, Picks]] = field(default_factory=set)

    def __post_init__(self) -> None:
        self._keep((0,) * len(self.choices), self.base)

    def design(self, picks: Picks) -> Design:
        """Return the design of a candidate."""
        if picks not in self.designs:
            self._keep(picks, Design(MappingProxyType(run(TRIED_STAGES, self._given(picks), self.base.results))))
        return self.designs[picks]

    def scope(self, finding: str) -> Picks:
        """Return the places of the choices that can move a finding."""
        if finding not in self._scopes:
            self._scopes[finding] = scope(finding, self.choices, self.base.job)
        return self._scopes[finding]

    def answer(self, finding: str, picks: Picks) -> Answer:
        """Return what a finding that was seen before says of a candidate, asking only its own question."""
        where = (finding, self._part(finding, picks))
        if where not in self._answers:
            stage = self._stages[finding]
            picks = self._alike(finding, picks)
            if (stage, picks) not in self._asked:
                self._asked.add((stage, picks))
                self._note(picks, stage, run(needed_for(TRIED_STAGES, stage), self._given(picks))[stage])
            self._answers.setdefault(where, ABSENT)
        return self._answers[where]

    def _given(self, picks: Picks) -> dict[str, Any]:
        """Return what the stages start from: the changed job, and all that no choice moves."""
        kept = {name: self.base.results[name] for name in ("parts", "boards", *UNTOUCHED) if name in self.base.results}
        return kept | {"job": chosen_job(self.base.job, self.choices, picks)}

    def _alike(self, finding: str, picks: Picks) -> Picks:
        """Return the candidate with the same change made to all choices of one kind: one asking answers for all."""
        own = self.scope(finding)
        value = {self.choices[place].kind: self.choices[place].options[picks[place]].value for place in own if picks[place]}
        if len({self.choices[place].kind for place in own}) < len(own):
            return picks
        alike = list(picks)
        for place, choice in enumerate(self.choices):
            if place not in own and choice.kind in value:
                alike[place] = next((number for number, option in enumerate(choice.options)
                                     if option.value == value[choice.kind]), picks[place])
        return tuple(alike)

    def _part(self, finding: str, picks: Picks) -> Picks:
        return tuple(picks[place] for place in self.scope(finding))

    def _keep(self, picks: Picks, design: Design) -> None:
        self.designs[picks] = design
        for stage in STAGES:
            if stage.answers:
                self._note(picks, stage.name, design.results[stage.name])

    def _note(self, picks: Picks, stage: str, findings: tuple[Finding, ...]) -> None:
        for finding in findings:
            self._stages[finding.id] = stage
            self._answers.setdefault((finding.id, self._part(finding.id, picks)), answer_of(finding))


def answer_of(finding: Finding) -> Answer:
    """Return what the search keeps of a finding."""
    unknown = finding.verdict is Verdict.UNKNOWN
    settles = frozenset(assumption.key for assumption in finding.assumptions) or frozenset((finding.id,))
    return Answer(finding.verdict, finding.margin or 0.0, settles if unknown else frozenset())
