"""The parts a job is proven in. Each is closed: what happens in it depends on its own cells only.

That is an argument about the core, so it is not taken on trust: every transition of every part
is run again with all other cells filled at random, and must come out the same.
"""

from .channel import ChannelPart
from .publishing import PublishingPart
from .regulator import RegulatorPart
from .remote import RemotePart
from .saving import SavingPart
from .strangers import StrangersPart
from .switch import SwitchPart


def parts_of(subject):
    """Return the parts of a job, cheap ones first."""
    return [
        StrangersPart(subject),
        *(SwitchPart(subject, switch) for switch in subject.switches),
        *([RemotePart(subject)] if subject.buttons else []),
        *(RegulatorPart(subject, regulator) for regulator in subject.regulators),
        *(ChannelPart(subject, channel) for channel in subject.channels),
        *(SavingPart(subject, channel) for channel in subject.channels),
        *(PublishingPart(subject, channel) for channel in subject.channels),
    ]
