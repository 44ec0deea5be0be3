"""An invented job to bend: one feed of lights, one pendant, changed by each test as it needs."""

from pattress.fan.drive import FanDrive
from pattress.job import read
from pattress.quantity import parse
from pattress.sizing.choice import choose_parts
from pattress.stock.boards import load_boards
from pattress.stock.parts import load_parts

BASE = """
[job]
title = "Invented for a test"

[supply]
system = "{system}"
earthing = "{earthing}"
fault_current = "{fault}"
loop_impedance = "{loop}"
earth_electrode = "{electrode}"

[site]
ambient = "{ambient}"
altitude = "{altitude}"
{site}

[feed.lights]
device = {{ kind = "{device}", curve = "{curve}", rating = "{rating}", breaking_capacity = "{breaking}" }}
residual_current_device = {residual}
cable = {{ section = "{feed_section}", length = "{feed_length}", method = "{method}", grouped = {grouped} }}
other_current = "{other}"

{loads}

[board]
type = "{board}"

{rest}
"""

USUAL = dict(
    system="230 V 50 Hz", earthing="TN-S", electrode="unknown", fault="1000 A", ambient="30 degC", altitude="0 m", site="", curve="B", rating="10 A",
    breaking="6 kA", residual='{ rating = "30 mA", type = "A" }', feed_section="1.5 mm2", feed_length="10 m", method="B2",
    grouped=1, other="0 A", board="rp2040-wifi", rest="",
)


def load_text(key="pendant", *, kind="LED driver", power="9 W", feed="lights", section="1.5 mm2", length="5 m", **fields):
    """Return a load of a job file."""
    more = "\n".join(
        f"{name} = {value}" if isinstance(value, (int, float)) or str(value).startswith("{") else f'{name} = "{value}"'
        for name, value in fields.items()
    )
    return (f'[load.{key}]\nname = "{key.title()}"\nkind = "{kind}"\npower = "{power}"\nfeed = "{feed}"\n'
            f'run = {{ section = "{section}", length = "{length}" }}\n{more}\n')


def fan_text(key="ceiling", *, motor="permanent split capacitor", power="75 W", steps=4, **fields):
    """Return a fan of a job file."""
    more = "\n".join(f'{name} = {value if not isinstance(value, str) else repr(value)}' for name, value in fields.items())
    return (f'[fan.{key}]\nname = "{key.title()}"\nmotor = "{motor}"\npower = "{power}"\nsteps = {steps}\nfeed = "lights"\n'
            f'run = {{ section = "1.5 mm2", length = "5 m" }}\n{more}\n')


def loop_of(*, fault, system, **_):
    """Return the loop impedance that lets the fault current flow, in words; of one measurement where the mains never changes."""
    return "unknown" if fault == "unknown" else f"{float(system.split()[0]) / parse(fault, 'A'):.6f} ohm"


def make_job(*things, **changed):
    """Return the invented job with these loads and changes."""
    device = "fuse" if changed.get("curve") == "gG" else "miniature circuit-breaker"
    usual = USUAL | {"device": device, "loop": loop_of(**USUAL | changed)}
    return read(BASE.format(**usual | changed, loads="\n".join(things or (load_text(),))), "invented.toml")[0]


PARTS = load_parts()
BOARDS = load_boards()


# Relays by number of steps: one for each of two or three capacitors, the last one straight through.
MASKS = {1: (0, 1), 2: (0, 1, 2), 3: (0, 1, 2, 4), 4: (0, 1, 2, 3, 4), 5: (0, 1, 2, 3, 4, 8), 6: (0, 1, 2, 3, 4, 5, 8)}


def drives(job):
    """Return an invented drive for every fan of a job; how to find a good one is the fan room's question."""
    return {
        key: FanDrive(key, (1.2e-6, 2.7e-6, 4.7e-6)[: max(MASKS[fan.steps]).bit_length() - 1], MASKS[fan.steps],
                      dead=0.7 if fan.steps > 1 else 0.0, kick_level=0, kick_top=0, kick=0.0)
        for key, fan in job.fan.items()
    }


def choose(job, parts=PARTS):
    """Return the parts chosen for a job."""
    return choose_parts(job, parts, BOARDS[job.board.type], drives(job))


def by_id(findings):
    """Return findings by their id."""
    return {finding.id: finding for finding in findings}
