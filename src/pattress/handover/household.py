"""The page for the people who live there, in plain words; and labels for the box and the switches, without secrets."""

from collections.abc import Mapping

from pattress.design import Design
from pattress.design.defaults import default_ms
from pattress.handover.by_itself import by_itself
from pattress.handover.findings_page import Table
from pattress.handover.sheet import Section
from pattress.handover.wiring import channels, device_of, named_devices, used_feeds
from pattress.job.action import EVERYTHING, Action
from pattress.job.levels import levels_of
from pattress.job.model import PRESSED, UNKNOWN, Fan, Job, Load, Mode, Regulator, Switch
from pattress.quantity import show
from pattress.refusal import word_list
from pattress.sizing.controls import controls_of
from pattress.spoken.clashes import heard

VERBS = {"on": "on", "off": "off", "toggle": "on or off, in turn", "up": "one step faster", "down": "one step slower"}
AFTER = {"off": "stays off", "on": "comes on", "as it was": "comes back as it was"}
MOST_TOLD = 5                 # names that may be misheard, so that the sheet stays one page
MOVES = ("motor", "compressor", "resistive heater")       # kinds of load that hurt when they start by themselves
HOUSE_RULES = (
    "Before anybody changes a lamp or opens anything: switch off at the distribution board, the box with the fuses or breakers of the home, and let "
    "a person who knows prove that it is off.",
    "Do not open the box of the controller. Do not cover it, paint over it or hang anything on it.",
    "A smell, a hum that was not there, heat, flicker, or a device that trips twice: switch off at the distribution board and call.",
)


def effect_words(verb: str, step: int | None) -> str:
    """Return what an action does, in plain words."""
    return ("off" if not step else f"step {step}") if verb == "set" else VERBS[verb]


def what_it_sets(regulator: Regulator, job: Job) -> str:
    """Return what turning a regulator does, in plain words: "Ceiling fan: off, and steps 1 to 4"."""
    fan = job.fan[regulator.fan]
    levels = levels_of(job, regulator)
    steps = [level for level in levels if level]
    every = len(steps) > 2 and steps == list(range(1, fan.steps + 1))
    told = f"1 to {fan.steps}" if every else word_list(map(str, steps))
    return f"{fan.name}: {'off, and ' if 0 in levels else ''}step{'s' if len(steps) > 1 else ''} {told}"


def household(design: Design) -> tuple[Section, ...]:
    """Return the one page for the household."""
    job, things = design.job, channels(design)
    named = job.named()
    rows = [(switch.name, "wall switch", what_presses_do(switch, named)) for switch in job.switch.values()]
    rows += [(regulator.name, "wall regulator", what_it_sets(regulator, job)) for regulator in job.regulator.values()]
    rows += [(f"{remote.name}: {key}", "remote" if button.code != UNKNOWN else "remote, not learnt yet", what_it_does(button.does, named))
             for remote in job.remote.values() for key, button in remote.button.items()]
    alone = by_itself(design)
    after = tuple((channel.name, ", ".join(channel.spoken) or "-", AFTER[channel.restore], *((alone.get(key, "-"),) if alone else ())) for key, channel in things.items())
    head = ("Name", "Said as", "When power comes back", *(("By itself",) if alone else ()))
    network = ("Without internet or Wi-Fi everything at the wall and every learnt remote button works as before; only the phone and voice do not."
               if job.network.wifi else "The controller uses no network.")
    return (
        Section("What does what", _pressed(job), (Table("", ("What you touch", "Kind", "What it does"), tuple(rows)),)),
        Section("Names, and after a power cut", (network, *_out_of_reach(job, things), *_misheard(job)), (Table("", head, after),)),
        Section("What not to do", HOUSE_RULES),
        Section("Whom to call", (), (Table("", ("Who", "Name and telephone"), (("Electrician", ""), ("Who built it", ""))),)),
    )


def _pressed(job: Job) -> tuple[str, ...]:
    """Return in plain words which switches are held or pressed twice, and which of them therefore answer late; nothing where none is."""
    held, again = (f"{default_ms('press', key) / 1000:g} s" for key in ("held", "again"))
    told = {how: [switch.name for switch in job.switch.values() if how in switch.presses] for how in ("held", "twice")}
    return (
        *((f"Held means for {held} or longer: {word_list(told['held'])}.",) if told["held"] else ()),
        *((f"Twice means again within {again}: {word_list(told['twice'])}. A single press acts {again} later there, when no second one has come.",) if told["twice"] else ()))


def _out_of_reach(job: Job, things: Mapping[str, Load | Fan]) -> tuple[str, ...]:
    """Return in plain words what only the network switches on, and what nothing does."""
    found = {key: controls_of(job, key) for key in things}
    online = [things[key].name for key, one in found.items() if one.is_network_only]
    never = [things[key].name for key, one in found.items() if one.is_none]
    told = [f"Only by phone or voice: {word_list(online)}. No switch here and no button switches {'it' if len(online) == 1 else 'them'} on."] if online else []
    return (*told, *((f"Nothing here switches on: {word_list(never)}.",) if never else ()))


def _misheard(job: Job) -> tuple[str, ...]:
    """Return which names may be misheard when they are said, the worst first; nothing where nobody listens."""
    found = heard(job)
    told = [f'"{clash.name.shown}" {clash.why}' + (f' "{clash.other.shown}"' if clash.other else "") for clash in found]
    more = f"; and {len(told) - MOST_TOLD} more" if len(told) > MOST_TOLD else ""
    return (f"Said aloud, a name may be taken for something else: {'; '.join(told[:MOST_TOLD])}{more}.",) if told else ()


def ratings_of_the_box(design: Design) -> tuple[tuple[str, str], ...]:
    """Return what the label of the controller's box says, without any secret."""
    job, feeds = design.job, used_feeds(design)
    return (("Controller", job.job.title), ("Supply", str(job.supply.system)),
            *((device_of(design, key), f"{job.feed[key].device.kind}, {job.feed[key].device.curve} {show(job.feed[key].device.rating, 'A')}") for key in feeds),
            ("Before opening", f"switch off and lock {'the feed' if len(feeds) == 1 else f'all {len(feeds)} feeds'}: {named_devices(design)}; prove dead"),
            ("Relays", "switch, but do not isolate"))


def labels(design: Design) -> tuple[Section, ...]:
    """Return the labels to print and stick, as the job has them: box, warnings, set-up, what each switch and regulator does, and which contact is which."""
    job = design.job
    switches = tuple((switch.name, what_presses_do(switch, job.named())) for switch in job.switch.values())
    regulators = tuple((regulator.name, " | ".join("off" if not level else str(level) for level in levels_of(job, regulator)), job.fan[regulator.fan].name)
                       for regulator in job.regulator.values())
    inputs = tuple((contact.name, contact.what) for contact in job.input.values())
    found = [
        ("Label for the box", Table("", ("What", "Rating"), ratings_of_the_box(design))),
        ("Warning labels", Table("", ("Where", "Words"), _warnings(design))),
        ("Label for set-up", Table("", ("What", "How"), _set_up(job))),
        ("Labels for the switches", Table("", ("Switch", "Does"), switches)),
        ("Labels for the other contacts", Table("", ("Contact", "Kind"), inputs)),
        ("Labels for the regulators", Table("", ("Regulator", "Positions, in turn", "Of"), regulators)),
    ]
    return tuple(Section(heading, (), (table,)) for heading, table in found if table.rows)


def _warnings(design: Design) -> tuple[tuple[str, str], ...]:
    """Return what must be read before a cover is opened."""
    feeds, job = used_feeds(design), design.job
    many = f"{len(feeds)} feeds: {named_devices(design)}. Each must be off." if len(feeds) > 1 else f"Fed by {named_devices(design)}."
    stays = "Capacitors: wait 5 s after switching off." if any(design.results["fitted"].branches.values()) else ""
    rows = [("On the lid of the box", " ".join(filter(None, ("Live parts inside. A relay that is open is no isolation.", many, stays))))]
    rows += [(f"At the distribution board, {device_of(design, key)}", f"Feeds the controller of {job.job.title}") for key in feeds]
    rows += [(f"At {thing.name}", "May switch on by itself: switch off at the distribution board before touching it.") for thing in channels(design).values()
             if isinstance(thing, Fan) or thing.kind in MOVES]
    return tuple(rows)


def _set_up(job: Job) -> tuple[tuple[str, str], ...]:
    """Return how the controller is reached, nothing for one whose radio is off."""
    if not job.network.wifi:
        return ()
    held = (("First Wi-Fi", f"hold {job.switch[job.network.setup_switch].name} while the power comes on"),) if job.network.setup_switch else ()
    return *held, ("Passphrase", "not printed here: pattress handover JOB --label writes a label that bears it")


def what_presses_do(switch: Switch, things: Mapping[str, Load | Fan | Mode]) -> str:
    """Return what a wall switch does to which channels, in plain words, by how it is pressed where it tells presses apart."""
    return "; ".join(f"{PRESSED[how]}{what_it_does(does, things)}" for how, does in switch.presses.items())


def what_it_does(actions: tuple[Action, ...], things: Mapping[str, Load | Fan | Mode]) -> str:
    """Return what a switch or button does to which channels, in plain words."""
    return "; ".join(
        f"{'everything' if action.things == (EVERYTHING,) else ', '.join(things[key].name for key in action.things)}: {effect_words(action.verb, action.step)}"
        for action in actions)
