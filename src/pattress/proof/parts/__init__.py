"""The parts a job is proven in. Each is closed: what happens in it depends on its own cells only.

That is an argument about the core, so it is not taken on trust: every transition of every part
is run again with all other cells filled at random, and must come out the same.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from .channel import ChannelPart as ChannelPart
from .condition import ConditionPart
from .group import JOINER
from .group import PREFIX as PREFIX
from .group import GroupPart as GroupPart
from .publishing import PublishingPart
from .reading import ReadingPart
from .regulator import RegulatorPart
from .remote import RemotePart
from .saving import SavingPart
from .switch import InputPart, PressPart, SwitchPart
from .unknown_inputs import UnknownInputsPart

if TYPE_CHECKING:
    from pattress.proof.exploration import Part
    from pattress.proof.subject import Subject


def parts_of(subject: Subject, groups: tuple[Any, ...] = ()) -> list[Part]:
    """Return the parts of a job, cheap ones first. Channels in one of `groups` are not parts of their own but one part together."""
    grouped = {channel for group in groups for channel in group}
    return [
        UnknownInputsPart(subject),
        *(PressPart(subject, switch) if switch in subject.presses else SwitchPart(subject, switch) for switch in subject.switches),
        *([RemotePart(subject)] if subject.buttons else []),
        *(RegulatorPart(subject, regulator) for regulator in subject.regulators),
        *(InputPart(subject, number) for number in range(len(subject.inputs))),
        *(ReadingPart(subject, number) for number in range(len(subject.readings))),
        *(ConditionPart(subject, number) for number in range(len(subject.conditions))),
        *(ChannelPart(subject, channel) for channel in subject.channels if channel not in grouped),
        *(SavingPart(subject, channel) for channel in subject.channels),
        *(PublishingPart(subject, channel) for channel in subject.channels),
        *(GroupPart(subject, group) for group in groups),
    ]


def part_named(subject: Subject, name: str) -> Part | None:
    """Return the part of a job that has this name, one of several channels together too; None when there is none."""
    if name.startswith(PREFIX):
        channels = [channel for channel in subject.channels if subject.channel_name(channel) in name.removeprefix(PREFIX).split(JOINER)]
        return GroupPart(subject, channels) if len(channels) > 1 else None
    return next((part for part in parts_of(subject) if part.name == name), None)
