"""What each relay does that stays closed, printed."""

from pathlib import Path

from pattress.cli import text
from pattress.cli.terminal import ALL_HOLDS, print_json, say
from pattress.design import design_of
from pattress.designators import relay_designator
from pattress.stock.own import Own

NO_FEEDBACK = "Where nothing is said of detecting, the control program has no feedback from the contact: it neither notices this nor tells it. "
LISTED = "Other channels are not touched. Listed is what closes together, not what current flows; a fault of one relay at a time."


def show(job: Path, own: Own, *, as_json: bool) -> int:
    """Print what each relay of a job's plan does when it stays closed. It is told, not judged: any relay may stick."""
    from pattress.proof.stuck import stuck_relays

    found = stuck_relays(design_of(job, own).plan)
    if as_json:
        print_json({"feedback": any(one.told_after is not None for one in found), "relays": [
            {"channel": one.channel, "relay": one.relay, "mark": relay_designator(one.relay), "becomes": list(one.becomes), "closed": [list(row) for row in one.closed],
             "sets_meet": one.sets_meet, "told_after_ms": one.told_after} for one in found]})
        return ALL_HOLDS
    for one in found:
        head, *rest = str(one).replace(": ", ":\n", 1).splitlines()
        say(head)
        for words in rest[0].split("; "):
            say("\n".join(text.wrapped(words)))
    say("\n" + "\n".join(line.strip() for line in text.wrapped(
        LISTED if all(one.told_after is not None for one in found) else NO_FEEDBACK + LISTED)))
    return ALL_HOLDS
