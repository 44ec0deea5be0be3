"""Random homes that make sense, every feature of a circuit among them: fans of one to six steps, feedback, regulators, other contacts, remotes, sensors. Invented."""

from random import Random

from pattress.design import Design, build
from pattress.job import read
from pattress.stock.boards import load_boards
from pattress.stock.parts import load_parts

KINDS = ("resistive heater", "tungsten lamp", "LED driver", "fluorescent ballast", "motor", "electronic supply", "solenoid")
BOARDS = ("rp2040-wifi", "esp32-38", "esp32-c3", "rp2350-wifi")


def home(seed: object, **fixed: str) -> str:
    """Return the text of a job file."""
    chance = Random(str(seed))
    pick = chance.choice
    system = fixed.get("system", pick(("230 V 50 Hz", "230 V 50 Hz", "120 V 60 Hz")))
    lines = ['[job]', 'title = "Invented home"', '[supply]', f'system = "{system}"', f'earthing = "{pick(("TN-S", "TN-C-S", "TT"))}"', 'fault_current = "1 kA"',
             '[site]', f'enclosure = {{ width = "300 mm", height = "300 mm", depth = "120 mm", material = "{fixed.get("material", pick(("plastic", "painted steel")))}" }}']
    feeds = [f"f{number}" for number in range(chance.randint(1, 3))]
    for feed in feeds:
        lines += [f"[feed.{feed}]", f'device = {{ kind = "miniature circuit-breaker", curve = "{pick("BC")}", rating = "{pick((10, 16))} A" }}',
                  'cable = { section = "2.5 mm2", length = "12 m" }']
    sensed = lambda: pick(('feedback = "mains"', ""))
    loads = [f"l{number}" for number in range(chance.randint(1, 6))]
    for load in loads:
        lines += [f"[load.{load}]", f'name = "Load {load}"', f'kind = "{pick(KINDS)}"', f'power = "{pick((9, 60, 300))} W"', f'feed = "{pick(feeds)}"',
                  'run = { section = "1.5 mm2", length = "7 m" }', sensed()]
    fans = [f"fan{number}" for number in range(chance.randint(0, 2))]
    for fan in fans:
        steps = chance.randint(1, 5)
        lines += [f"[fan.{fan}]", f'name = "Fan {fan}"', 'motor = "permanent split capacitor"', f'power = "{pick((50, 75))} W"', 'poles = 14',
                  'speed = "350 rpm"' if system.endswith("50 Hz") else 'speed = "420 rpm"', f'run_capacitor = "{pick(("2.5 uF", "unknown"))}"',
                  f"steps = {steps}", f'feed = "{pick(feeds)}"', 'run = { section = "1.5 mm2", length = "6 m" }', sensed()]
        if chance.random() < 0.6:
            lines += [f"[regulator.r_{fan}]", f'name = "Regulator {fan}"', f'fan = "{fan}"', f"positions = {steps}", f'off = "{pick(("no contact", "own contact"))}"']
    for number in range(chance.randint(0, 4)):
        lines += [f"[switch.s{number}]", f'name = "Switch {number}"', f'kind = "{pick(("latching", "retractive"))}"', f'does = "toggle {pick(loads)}"']
    for number in range(chance.randint(0, 2)):
        lines += [f"[input.s{number}]", f'name = "Contact {number}"', f'kind = "{pick(("door", "float", "other"))}"', f'cable = "{pick((3, 40))} m"']
    if chance.random() < 0.5:
        lines += ["[remote.r]", 'name = "Remote"', "[remote.r.button]", f'power = {{ code = "nec 0x04:0x08", does = "toggle {loads[0]}" }}', "[receiver]", 'cable = "3 m"']
    if chance.random() < 0.5:
        lines += ["[sensor.room]", 'name = "Room"', f'kind = "{pick(("11 class", "22 class"))}"', 'cable = "2 m"']
    lines += ["[board]", f'type = "{fixed.get("board", pick(BOARDS))}"', f"status_lamp = {pick(('true', 'false'))}", f"power_fail = {pick(('true', 'false'))}"]
    return "\n".join(line for line in lines if line) + "\n"


def designs(count: int, seed: str = "homes", **fixed: str) -> list[Design]:
    """Return the designs of that many random homes."""
    parts, boards = load_parts(), load_boards()
    return [build(read(home(f"{seed} {number}", **fixed), "home.toml")[0], parts, boards) for number in range(count)]
