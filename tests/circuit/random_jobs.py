"""Random jobs for the circuit's drawings: loads and fans of every kind, feedback, switches, other contacts, regulators, sensors, receivers, boards and names."""

import random
from dataclasses import replace

from pattress.circuit.assembly import assemble
from pattress.design import STAGES
from pattress.design.stages import Stage, needed_for, run
from pattress.fan.design import fan_designs
from pattress.job import read

LOADS = ("resistive heater", "tungsten lamp", "LED driver", "fluorescent ballast", "motor", "compressor", "electronic supply", "solenoid")
DEVICES = ("miniature circuit-breaker", "combined breaker and residual-current device", "fuse")
BOARDS = ("rp2040-wifi", "esp32-s3", "esp32", "rp2350-wifi", "esp32-c3")
LETTERS = ("abcdefghij", "WMQ@%&", "áßñçøž", "灯台電気", "Mixed Upper ", "x-y_z ")


def name(chance):
    """Return a name of 1 to 60 letters, sometimes one endless word."""
    letters = "".join(chance.choice(chance.choice(LETTERS)) for _ in range(chance.choice((1, 6, 14, 30, 60))))
    return letters.strip() or "x"


def key(chance, kind, number):
    """Return a key: short, or so long that what is drawn must be shortened."""
    return chance.choice((f"{kind}{number}", f"{kind}_{number}", f"{kind}_behind_the_kitchen_{number}"))


def words(chance, *, driver=""):
    """Return the text of a job file."""
    quoted = lambda text: '"' + text.replace("\\", "").replace('"', "") + '"'
    lines = ["[job]", f"title = {quoted(name(chance))}", "[supply]", f'system = "{chance.choice(("230 V 50 Hz", "120 V 60 Hz"))}"',
             f'earthing = "{chance.choice(("TN-S", "TN-C-S", "TT", "unknown"))}"',
             "[site]", chance.choice(('enclosure = "unknown"', 'enclosure = { width = "240 mm", height = "190 mm", depth = "90 mm", material = "painted steel" }'))]
    feeds = [key(chance, "feed", number) for number in range(chance.randint(1, 6))]
    for feed in feeds:
        kind = chance.choice(DEVICES)
        curve = "gG" if kind == "fuse" else chance.choice(("B", "C", "unknown"))
        lines += [f"[feed.{feed}]", f'device = {{ kind = "{kind}", curve = "{curve}", rating = "{chance.choice((6, 16, 32))} A" }}',
                  f"residual_current_device = {'{ rating = %s, type = %s }' % (quoted('30 mA'), quoted('A')) if kind.startswith('combined') else quoted('none')}",
                  'cable = { section = "1.5 mm2", length = "12 m" }']
    feedback = lambda: f'feedback = "{chance.choice(("none", "none", "mains"))}"'
    run = lambda: 'run = { section = "1.5 mm2", length = "9 m" }'
    loads = [key(chance, "load", number) for number in range(chance.choice((1, 2, 5, 9, 13)))]
    for place, load in enumerate(loads):
        lines += [f"[load.{load}]", f"name = {quoted(f'L{place}' + name(chance)[:50])}", f'kind = "{chance.choice(LOADS)}"', f'power = "{chance.choice((3, 40, 1234.5))} W"',
                  f'feed = "{chance.choice(feeds)}"', run(), feedback()]
    fans = {key(chance, "fan", number): chance.choice((1, 2, 3, 4, 4, 5)) for number in range(chance.choice((0, 1, 1, 2, 4)))}
    for place, (fan, steps) in enumerate(fans.items()):
        known = chance.random() < 0.7
        lines += [f"[fan.{fan}]", f"name = {quoted(f'M{place}' + name(chance)[:50])}", 'motor = "permanent split capacitor"', 'power = "75 W"',
                  f'run_capacitor = "{"2.5 uF" if known else "unknown"}"', *(["poles = 14", 'speed = "380 rpm"'] if known else []),
                  f"steps = {steps}", f'feed = "{chance.choice(feeds)}"', run(), feedback()]
    for number in range(chance.choice((0, 1, 4, 20))):
        lines += [f"[switch.{key(chance, 'switch', number)}]", f"name = {quoted((str(number) + name(chance))[:60])}", 'kind = "latching"', f'does = "toggle {chance.choice(loads)}"']
    for number, (fan, steps) in enumerate(fans.items()):
        if chance.random() < 0.6:
            positions = chance.randint(1, steps)
            lines += [f"[regulator.{key(chance, 'wall', number)}]", f"name = {quoted((str(number) + name(chance))[:60])}", f'fan = "{fan}"', f"positions = {positions}",
                      f'off = "{chance.choice(("no contact", "own contact"))}"']
    for number in range(chance.choice((0, 0, 1, 3, 9))):
        lines += [f"[input.{key(chance, 'contact', number)}]", f"name = {quoted((str(number) + name(chance))[:60])}", f'kind = "{chance.choice(("window", "leak", "other"))}"']
    if chance.random() < 0.5:
        lines += ["[remote.r]", f"name = {quoted(name(chance))}", "[remote.r.button]", f'a = {{ code = "nec 0x04:0x08", does = "off {loads[0]}" }}']
    for number in range(chance.randint(0, 3)):
        lines += [f"[sensor.{key(chance, 'air', number)}]", f"name = {quoted(str(number) + name(chance)[:50])}", 'kind = "22 class"']
    lines += ["[board]", f'type = "{chance.choice(BOARDS)}"', f"status_lamp = {chance.choice(('true', 'false'))}", f"power_fail = {chance.choice(('true', 'false'))}"]
    return "\n".join(lines)


_KNOWN_FANS = {}


def _fan_designs(fan_part, parts):
    """Return the designs of a job's fans; fans that differ in their names alone are designed once."""
    found = {}
    for fan_key, fan in fan_part.fan.items():
        like = (fan_part.supply.system, fan.steps, fan.run_capacitor)
        if like not in _KNOWN_FANS:
            _KNOWN_FANS[like] = fan_designs(fan_part.model_copy(update={"fan": {fan_key: fan}}), parts)[fan_key]
        found[fan_key] = _KNOWN_FANS[like]
    return found


# What the circuit rests on; the pins are dealt out below, since which pin a wire gets does not matter to a drawing.
_STAGES = tuple(Stage("fan_designs", _fan_designs) if stage.name == "fan_designs" else stage
                for stage in needed_for(STAGES, "circuit") if stage.name not in ("pins", "fixed", "circuit"))


def circuit_of(text, parts, boards, chance, driver=None):
    """Return the circuit of a job file's text with one of the stock's drivers; now and then a wire gets no pin."""
    results = run(_STAGES, {"job": read(text, "random.toml")[0], "parts": parts, "boards": boards})
    fitted, board = results["fitted"], results["board"]
    if driver:
        diode = None if driver.word("arrangement") == "Darlington array" else fitted.driver.diode
        fitted = replace(fitted, driver=replace(fitted.driver, part=driver, diode=diode))
    pins = iter([pin for pin in board.pins if pin.edge])
    return assemble(results["job"], board, fitted, {wire.name: None if chance.random() < 0.05 else next(pins, None) for wire in results["wires"]})


def circuits(number, parts, boards, seed=1):
    """Yield so many random circuits from a stock, each with one of its drivers."""
    chance = random.Random(seed)
    for _ in range(number):
        yield circuit_of(words(chance), parts, boards, chance, chance.choice(list(parts.of("driver"))))
