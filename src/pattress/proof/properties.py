"""What is claimed of the control program: each property has a name and one plain sentence.

Three kinds. ALWAYS: holds in every state and during every transition. IN THE END: holds once
nobody touches anything any more. CAN: something that must be possible, so that a program that
does nothing at all proves nothing.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from pattress.controller.core.conditions import HOLDS, LOCKS


class Kind(StrEnum):
    """What sort of claim a property makes."""

    ALWAYS = "always"
    IN_THE_END = "in the end"
    CAN = "can"


@dataclass(frozen=True, slots=True)
class Claim:
    """A property before it was checked: its name, its kind, the sentence."""

    id: str
    kind: Kind
    sentence: str


def _claims(kind: Kind, **sentences: str) -> list[Claim]:
    return [Claim(name.replace("_", "-"), kind, sentence) for name, sentence in sentences.items()]


CLAIMS = {
    claim.id: claim
    for claim in [
        *_claims(
            Kind.ALWAYS,
            no_error="The program never stops with an error.",
            starts_open="At power-up every relay is open.",
            pattern="The closed relays of a channel are always those of one of its levels.",
            sets_never_meet="Two different sets of relays of a channel never follow each other without all open between.",
            dead_time="After its relays opened, none of a channel closes before the dead time has passed, and none waits longer.",
            minimum_off="A channel that was switched off stays off for its minimum off time, and no longer.",
            start_kick="A fan that stands still gets its start kick, for its time, on the levels that need it; a running one never.",
            off_at_once="A channel that is wanted off is off at the end of the same step.",
            wish_applied="A channel that is wanted on is on at that level, unless a named wait is running.",
            wish_kept="The level wanted of a channel changes only on a request, or when a time of its rules runs out.",
            switch_acts="One operation of a wall switch acts, whatever happened before and with no network.",
            switch_settles="A wall switch is believed when its contact has kept still for the settling time: bounce counts once.",
            presses_told_apart="A press counts as held, as the second of two, or as short, exactly when it should; each acts as one of these, once.",
            regulator_obeyed="A position of a wall regulator that has settled is obeyed.",
            regulator_settles="A wall regulator is believed when its contacts have kept still; none or two closed are no position.",
            button_acts="A press of a remote button acts, once however long it is held.",
            network_acts="A request of the network is carried out, if the plan has it.",
            cause="The cause kept with a channel is the source of the last request.",
            unknown_refused="Unknown commands, codes, switches and kinds of event change nothing and are refused; known ones are not.",
            restore="A power cut at any point restores each channel by its policy from one snapshot, never a mixture.",
            learnt="At power-up switches and regulators are learnt as they stand, not acted upon.",
            turn="After a power cut a channel stays dark until its turn, unless somebody asks for it.",
            one_at_a_time="After a power cut channels with different turns never close in the same moment.",
            brown_out="Mains that comes and goes, however quickly, closes no relay before its waits have passed, writes no snapshot and changes no wanted level.",
            snapshot_whole="A snapshot is one moment of all channels.",
            snapshot_fresh="A snapshot that would restore another level than the wanted one is always due to be replaced.",
            snapshot_due="A snapshot is due its delay after the first change, and only after a change.",
            told_truly="The state reported to the network is that of the relays, never a kick or the pause of a change.",
            feedback_settles="A contact is believed stuck exactly when its feedback has disagreed for the settling time; one that agrees within it never is.",
            stuck_kept="A contact that is believed stuck stays so until its line is sensed otherwise, and no longer.",
            stuck_barred="No set of relays closes while the line of its channel is live with all of them open: two sets never meet in a contact that sticks.",
            limit_kept="Under a limit a channel that is on has its time running, from the moment it came on; only off and on again makes it longer.",
            stay_kept="A stay runs from the moment its channel came on, and only an asking for on begins it anew, where the rule says so.",
            warned="A warning opens what is on for its moment, once in each stay and so long before its end, and it closes again unless it is off by then.",
            runs_out="A channel whose limit or stay runs out is off at the end of the same step, whatever else is asked in it.",
            wall_only="The network changes nothing of what is put on at the wall only, except to off.",
            never_together="Of what is never on together one is on at most, and another comes on only once the time between has passed.",
            met_in_time="A condition of the rules counts as met exactly when what it looks at has been so for long enough, and no longer once it has been otherwise for long enough.",
            read_fresh="A reading counts as known until it is stale, and as past its begin until it is past its end.",
            input_settles="An input is believed when its contact has kept still for its settling time.",
            kept_off="A channel that a rule keeps off is off, whoever asks.",
            held="A rule puts its channel on once when it begins and off once when it ends; what a lock shut begins again.",
            rule_acts="What a rule asks for when it begins or ends is done, unless a rule of a higher rank or a hand in the same moment asks otherwise.",
            undisturbed="Channels do not disturb each other: what a part does never depends on the rest of the state.",
            wakes="The time of the next change by itself, and whether news is waiting, are reported correctly.",
        ),
        *_claims(
            Kind.IN_THE_END,
            becomes_quiet="When nobody touches anything, everything becomes quiet in a bounded number of steps.",
            stuck_told="Whenever a channel is not in the middle of a change, the report of a stuck contact is what is believed, or news is waiting.",
            told_in_the_end="Whenever a channel is not in the middle of a change, the last report equals the state of its relays, or news is waiting.",
        ),
        *_claims(
            Kind.CAN,
            can_reach="Every level of every channel can be reached by its controls, and by the network where there is one.",
            can_kick="Every start kick can happen.",
            can_operate="Every switch, regulator position and remote button can move a relay.",
            can_hold="A remote button can be known as still held.",
            can_tell="Every level of every channel can be reported.",
            can_stick="Every contact with feedback can be believed stuck closed, and stuck open.",
            can_free="A contact that was believed stuck can be believed to work again.",
            can_close_again="A set that was barred can close once the line is dead.",
            can_run_out="Every limit and every stay can run out.",
            can_warn="Every warning can be given.",
            can_renew="Every stay that an asking renews can be renewed.",
            can_be_met="Every condition of the rules can begin, and can be over.",
            can_be_stale="Every reading can be stale.",
            can_settle="Every input can be believed.",
            can_begin="Every rule that puts something on can do so.",
            can_end="Every rule that puts something on can put it off again.",
            can_shut="Every rule that keeps something off can switch it off, and refuse it.",
            can_keep_apart="What is never on together can be refused while another is on, and can wait after it.",
            can_save="Every level of every channel can be saved, and is restored where the policy says so.",
        ),
    ]
}


def pointless(table: Mapping[str, Any]) -> set[str]:
    """Return the ids of claims about things that a plan's table does not have; they would hold for nothing."""
    channels = table["channels"]
    sensed = {row["channel"] for row in table.get("feedback", ())}
    rules = table.get("rules", ())
    conditions = table.get("conditions", ())
    kinds = {row["kind"] for row in conditions}
    absent = {
        "feedback-settles stuck-kept stuck-told can-stick can-free": not sensed,
        "stuck-barred can-close-again": not any(len(channels[channel]["masks"]) > 2 for channel in sensed),
        "limit-kept": not any(row["limit_ms"] for row in rules),
        "stay-kept": not any(row["stay_ms"] for row in rules),
        "runs-out can-run-out": not any(row["limit_ms"] or row["stay_ms"] for row in rules),
        "warned can-warn": not any(row.get("warn_ms") for row in rules),
        "can-renew": not any(row["renews"] for row in rules),
        "wall-only": not any(row["wall_only"] for row in rules),
        "never-together can-keep-apart": not table.get("apart"),
        "met-in-time can-be-met rule-acts": not conditions,
        "read-fresh can-be-stale": not (conditions and table.get("readings")),
        "input-settles can-settle": not (conditions and table.get("inputs")),
        "kept-off can-shut": LOCKS not in kinds,
        "held can-begin can-end": HOLDS not in kinds,
        "switch-acts switch-settles": not table["switches"],
        "presses-told-apart": not table.get("presses"),
        "regulator-obeyed regulator-settles": not table["regulators"],
        "button-acts can-hold": not table["buttons"],
        "can-operate": not (table["switches"] or table["regulators"] or table["buttons"]),
        "sets-never-meet": all(len(channel["masks"]) <= 2 for channel in channels),
        "dead-time": not any(channel["dead_ms"] for channel in channels),
        "minimum-off": not any(channel["minimum_off_ms"] for channel in channels),
        "start-kick can-kick": not any(channel["kick_top"] for channel in channels),
        "turn": not any(channel["restore_delay_ms"] for channel in channels),
        "one-at-a-time": len({channel["restore_delay_ms"] for channel in channels if channel["restore"]}) < 2,
    }
    return {claim for claims, is_absent in absent.items() if is_absent for claim in claims.split()}


@dataclass(frozen=True, slots=True)
class Failure:
    """A property broken in one transition, and how."""

    id: str
    detail: str
