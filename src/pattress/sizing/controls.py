"""What can switch a load or a fan on: its controls.

Answers: can a wall switch, a regulator, a button of a remote or the network switch it on? A power cut switches
nothing on at will, so a restore policy is no control. A button whose code is unknown sends nothing that the controller
knows, so it counts as none until it is learnt. The network is no control of what a rule says is put on at the wall only.
Left out: which steps of a fan its controls reach, which the proof says.
"""

from dataclasses import dataclass

from pattress.finding import COMMON_PRACTICE, Assumption, Finding, Input, Sense, Verdict
from pattress.job.action import Action
from pattress.job.by_rule import rules_on
from pattress.job.model import UNKNOWN, Job

ONLY_THE_NETWORK = "Only the network can: a phone, a hub or a voice"


@dataclass(frozen=True, slots=True)
class Control:
    """A switch, a regulator or a button of a remote: what people call it, and its key in the job file."""

    name: str
    key: str


@dataclass(frozen=True, slots=True)
class Controls:
    """What can switch one load or fan on.

    `local` are switches, regulators and learnt buttons, `unlearnt` the buttons that are not learnt yet; `network`
    says whether the network can, `wall_only` whether a rule forbids it to.
    """

    local: tuple[Control, ...]
    unlearnt: tuple[Control, ...]
    network: bool
    wall_only: bool = False

    @property
    def is_network_only(self) -> bool:
        """Return whether nothing but the network can switch it on."""
        return self.network and not self.local

    @property
    def is_none(self) -> bool:
        """Return whether nothing at all can switch it on."""
        return not (self.network or self.local)


def controls_of(job: Job, key: str) -> Controls:
    """Return what can switch the load or fan of that key on."""
    local = [Control(switch.name, f"switch.{one}") for one, switch in job.switch.items() if any(switches_on(does, key) for does in switch.presses.values())]
    local += [Control(regulator.name, f"regulator.{one}") for one, regulator in job.regulator.items() if regulator.fan == key]
    learnt: list[Control] = []
    unlearnt: list[Control] = []
    for one, remote in job.remote.items():
        for name, button in remote.button.items():
            if switches_on(button.does, key):
                (unlearnt if button.code == UNKNOWN else learnt).append(Control(f"{remote.name}: {name}", f"remote.{one}.button.{name}"))
    wall_only = any(rule.kind in ("wall", "kept") for _, rule in rules_on(job, key))
    return Controls((*local, *learnt), tuple(unlearnt), job.network.wifi and not wall_only, wall_only)


def switches_on(actions: tuple[Action, ...], key: str) -> bool:
    """Return whether one of these actions can switch the load or fan of that key on; "down" and "off everything" never do."""
    return any(key in action.things for action in actions
               if action.verb in ("on", "toggle", "up") or (action.verb == "set" and action.step))


def findings(job: Job) -> tuple[Finding, ...]:
    """Return for each load and fan whether anything can switch it on."""
    return tuple(_answer(job, section, key) for section in ("load", "fan") for key in getattr(job, section))


def _answer(job: Job, section: str, key: str) -> Finding:
    name, found = getattr(job, section)[key].name, controls_of(job, key)
    assumptions = tuple(
        Assumption(f"{one.key}.code", "a button that sends nothing", "its code is not known yet", "learn it from three presses: pattress remote learn")
        for one in found.unlearnt if not found.local)
    return Finding(
        id=f"control.{key}", question=f"Can a control or the network switch {name} on?", subject=f"{section}.{key}",
        verdict=_verdict(found), value=None, limit=None, sense=Sense.AT_LEAST, formula="one control at least, and one that works without the network",
        inputs=(*(Input("control", one.name, one.key) for one in found.local), *((Input("control", "the network", "network.wifi"),) if found.network else ())),
        sources=(COMMON_PRACTICE,), assumptions=assumptions, change=_changes(found, section, key), detail=_detail(found),
        covers_not="which steps of a fan they reach: the proof says (can-reach)", safety=False,
    )


def _verdict(found: Controls) -> Verdict:
    if found.is_none:
        return Verdict.UNKNOWN if found.unlearnt else Verdict.FAILS
    return Verdict.TIGHT if found.is_network_only else Verdict.HOLDS


def _detail(found: Controls) -> str:
    waiting = f" Not learnt yet: {'; '.join(one.name for one in found.unlearnt)}." if found.unlearnt else ""
    if found.local:
        return f"{'; '.join([*(one.name for one in found.local), *(['the network'] if found.network else [])])}.{waiting}"
    if found.network:
        return f"{ONLY_THE_NETWORK}. Without it, nothing switches this on.{waiting}"
    return f"No switch, no regulator and no {'learnt ' if waiting else ''}remote button switches this on, and {'a rule says that it is put on at the wall only' if found.wall_only else 'there is no network'}.{waiting}"


def _changes(found: Controls, section: str, key: str) -> tuple[str, ...]:
    if found.local:
        return ()
    learn = ("learn the code of its button",) if found.unlearnt else ()
    regulator = (f'a regulator with fan = "{key}"',) if section == "fan" else ()
    network = () if found.network or found.wall_only else ("wifi = true under [network]",)
    return (*learn, f'a switch or a remote button with does = "toggle {key}"', *regulator, *network)
