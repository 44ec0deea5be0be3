"""What must hold of the rules of one channel: told a second time, from the relays and who asked.

Whether the true time of a limit is kept follows from its cell: from the moment the relays close it runs
by the time that passes and by nothing else, and in the step in which it runs out they open.
"""

from __future__ import annotations

from array import array
from typing import TYPE_CHECKING

from pattress.controller.core.cells import BY_NETWORK, LIMIT, RULE, STAY, WANTED, WARN

from ..properties import Failure
from ..wishes import Wished

if TYPE_CHECKING:
    from pattress.proof.subject import Subject


def times_over(subject: Subject, channel: int, old: array[int], wished: Wished | None, elapsed: int) -> set[str]:
    """Return which times of a channel run out within a transition: "limit", "stay". `wished` is what was asked in it."""
    at = subject.rule_at.get(channel)
    if at is None:
        return set()
    over = {"limit"} if 0 < old[at + LIMIT] <= elapsed else set()
    if 0 < old[at + STAY] <= elapsed and not is_renewed(subject, channel, wished):
        over.add("stay")
    return over


def is_renewed(subject: Subject, channel: int, wished: Wished | None) -> bool:
    """Return whether what was asked begins the stay of a channel anew."""
    return bool(subject.rules[channel]["renews"] and wished and wished[0])


class RuleMonitor:
    """The times of one channel, judged in every transition of the channel."""

    def __init__(self, subject: Subject, channel: int) -> None:
        self.subject, self.channel, self.at = subject, channel, subject.rule_at[channel]
        self.name, self.row = subject.channel_name(channel), subject.rules[channel]
        self.seen: set[object] = set()
        self.expected: dict[object, tuple[str, str]] = {
            ("over", words): ("can-run-out", f"{self.name}, its {words}") for words in ("limit", "stay") if self.row[f"{words}_ms"]}
        if self.row.get("warn_ms"):
            self.expected["warned"] = ("can-warn", self.name)
        if self.row["renews"]:
            self.expected["renewed"] = ("can-renew", self.name)

    def judge_begin(self, raw: array[int]) -> Failure | None:
        """Return the Failure of a moment of power-up, or None: no time runs before anything is on."""
        if any(raw[self.at:self.at + RULE]):
            return Failure("limit-kept" if raw[self.at + LIMIT] else "stay-kept", f"{self.name}: a time of its rules runs before it is on")
        return None

    def judge(self, old: array[int], raw: array[int], wished: Wished | None, elapsed: int, before: int, after: int) -> Failure | None:
        """Return the Failure of the times of a transition, or None. `wished` is what was asked in it, a time that ran out left aside."""
        wanted = raw[self.subject.channel_at[self.channel] + WANTED]
        over = times_over(self.subject, self.channel, old, wished, elapsed)
        if over and (after or wanted):
            return Failure("runs-out", f"{self.name}: its {' and its '.join(sorted(over))} is over, and it is not off")
        renewed = is_renewed(self.subject, self.channel, wished)
        failure = (self._judge_time("limit", LIMIT, old, raw, elapsed, wanted, after, False)
                   or self._judge_time("stay", STAY, old, raw, elapsed, wanted, after, renewed)
                   or self._judge_warning(old, raw, elapsed, wanted, renewed))
        if failure is None:
            if before and self.dips(old, raw, elapsed):
                self.seen.add("warned")
            self.seen |= {("over", words) for words in over if before}
            if wished and renewed and before and after and (self.subject.has_network or wished[2] != BY_NETWORK):
                self.seen.add("renewed")
        return failure

    def dips(self, old: array[int], raw: array[int], elapsed: int) -> bool:
        """Return whether the warning of a transition opens what is on, which stays wanted."""
        return 0 < old[self.at + WARN] <= elapsed and bool(raw[self.subject.channel_at[self.channel] + WANTED])

    def _judge_warning(self, old: array[int], raw: array[int], elapsed: int, wanted: int, renewed: bool) -> Failure | None:
        """Return the Failure of the warning, or None: it comes so long before the end of the stay as the rule says, once in each."""
        warn, begins = self.row.get("warn_ms", 0), raw[self.at + STAY] == self.row["stay_ms"] and (renewed or not old[self.at + STAY])
        left, should = raw[self.at + WARN], 0 if not (wanted and warn) else self.row["stay_ms"] - warn if begins else max(0, old[self.at + WARN] - elapsed)
        if left == should:
            return None
        return Failure("warned", f"{self.name}: {left} ms until it is warned of, {should} ms would be right ({old[self.at + WARN]} ms before, {elapsed} ms passed)")

    def _judge_time(self, words: str, place: int, old: array[int], raw: array[int], elapsed: int, wanted: int,
                    after: int, renewed: bool) -> Failure | None:
        """Return the Failure of one time, or None: closed it runs, by what passed; it begins whole, and only where none ran."""
        whole, was, left = self.row[f"{words}_ms"], old[self.at + place], raw[self.at + place]
        runs_on = max(0, was - elapsed) if was and not renewed else None
        should = 0 if not wanted or not whole else runs_on if runs_on is not None else whole if after else 0
        if left == should:
            return None
        return Failure(f"{words}-kept", f"{self.name}: {left} ms of its {words} still to pass, {should} ms would be right "
                                        f"({was} ms before, {elapsed} ms passed)")
