"""Random jobs for layout tests: names of every length, all kinds of load, feed and symbol, none of it sensible."""

import random

from pattress.design import build
from pattress.job import read

LETTERS = ("abcdefghij", "WMQ@%&", "áßñçøž", "灯台電気", "MixedUpper ", "x-y_z ")
LOADS = ("resistive heater", "tungsten lamp", "LED driver", "fluorescent ballast", "motor", "compressor", "electronic supply", "solenoid")
DEVICES = ("miniature circuit-breaker", "combined breaker and residual-current device", "fuse")
BOX = '{ width = "%s mm", height = "%s mm", depth = "90 mm" }'


def name(chance):
    """Return a name of 1 to 60 letters, sometimes one endless word."""
    letters = "".join(chance.choice(chance.choice(LETTERS)) for _ in range(chance.choice((1, 5, 12, 12, 30, 60))))
    return letters.strip() or "x"


def place(chance, walls, size=(0.0, 0.0)):
    """Return a place on one of the walls, crowded as often as not; or none."""
    walls = {wall: sides for wall, sides in walls.items() if sides[0] >= size[0] and sides[1] >= size[1]}
    if not walls or chance.random() < 0.15:
        return []
    wall, (wide, high) = chance.choice(list(walls.items()))
    along = chance.choice((0.0, wide, chance.uniform(0, wide), chance.uniform(0, wide), round(wide * chance.random(), 1)))
    height = chance.choice((0.0, high, chance.uniform(0, high), min(1.1, high), min(1.1, high), min(1.13, high)))
    along, height = max(size[0] / 2, min(along, wide - size[0] / 2)), max(size[1] / 2, min(height, high - size[1] / 2))
    shown = '"ceiling"' if chance.random() < 0.2 else f'"{height:.4f} m"'
    return [f'at = {{ wall = "{wall}", along = "{along:.4f} m", height = {shown} }}']


def words(chance):
    """Return the text of a job file."""
    quoted = lambda text: '"' + text.replace("\\", "").replace('"', "") + '"'
    system = chance.choice(("230 V 50 Hz", "120 V 60 Hz", "240 V 60 Hz", "100 V 50 Hz"))
    lines = ["[job]", f"title = {quoted(name(chance))}", "[supply]", f'system = "{system}"',
             f'earthing = "{chance.choice(("TN-S", "TN-C-S", "TT", "unknown"))}"',
             f'fault_current = "{chance.choice(("unknown", "1.2 kA", "900 A"))}"']
    feeds = [f"feed_{number}" for number in range(chance.randint(1, 5))]
    for feed in feeds:
        kind = chance.choice(DEVICES)
        curve = "gG" if kind == "fuse" else chance.choice(("B", "C", "D", "unknown"))
        residual = chance.choice(('"none"', '"unknown"', '{ rating = "30 mA", type = "A" }')) if not kind.startswith("combined") else '{ rating = "300 mA", type = "AC" }'
        lines += [f"[feed.{feed}]", f'device = {{ kind = "{kind}", curve = "{curve}", rating = "{chance.choice((6, 16, 32))} A" }}',
                  f"residual_current_device = {residual}", f'other_current = "{chance.choice((0, 1.5))} A"',
                  f'cable = {{ section = "{chance.choice((1.5, 2.5, 6))} mm2", length = "{chance.uniform(0.1, 400):.4f} m" }}']
    walls = {f"wall_{number}": (round(chance.uniform(0.4, 12), 2), round(chance.uniform(0.4, 6), 2)) for number in range(chance.randint(0, 3))}
    for wall, (wide, high) in walls.items():
        lines += [f"[wall.{wall}]", f"name = {quoted(name(chance))}", f"room = {quoted(name(chance))}", f'width = "{wide} m"', f'height = "{high} m"']
    box, size = chance.choice((('"unknown"', (0.0, 0.0)), (BOX % (240, 190), (0.24, 0.19)), (BOX % (900, 1600), (0.9, 1.6))))
    lines += ["[site]", f"enclosure = {box}", *place(chance, walls, size)]
    loads = [f"load_{number}" for number in range(chance.randint(1, 9))]
    for load in loads:
        lines += [f"[load.{load}]", f"name = {quoted((load[-1] + name(chance))[:60])}", f'kind = "{chance.choice(LOADS)}"', f'power = "{chance.choice((3, 40, 1234.5))} W"',
                  f"count = {chance.choice((1, 1, 17))}", f'feed = "{chance.choice(feeds)}"',
                  f'run = {{ section = "{chance.choice((1, 1.5, 4))} mm2", length = "{chance.uniform(0.1, 90):.2f} m" }}', *place(chance, walls)]
    for number in range(chance.randint(0, 7)):
        lines += [f"[switch.s{number}]", f"name = {quoted((str(number) + name(chance))[:60])}", f'kind = "{chance.choice(("latching", "retractive"))}"',
                  f'does = "toggle {chance.choice(loads)}"', *place(chance, walls)]
    for number in range(chance.choice((0, 0, 1, 4))):
        lines += [f"[input.c{number}]", f"name = {quoted((str(number) + name(chance))[:60])}", f'kind = "{chance.choice(("door", "presence", "leak", "other"))}"', *place(chance, walls)]
    if chance.random() < 0.5:
        lines += ["[remote.r]", f"name = {quoted(name(chance))}", '[remote.r.button]', f'a = {{ code = "nec 0x04:0x08", does = "off {loads[0]}" }}', "[receiver]", *place(chance, walls)]
    for number in range(chance.randint(0, 2)):
        lines += [f"[sensor.t{number}]", f"name = {quoted(name(chance))}", 'kind = "22 class"', *place(chance, walls)]
    return "\n".join([*lines, "[board]", 'type = "esp32-s3"', f"status_lamp = {chance.choice(('true', 'false'))}"])


def designs(number, like, seed=1):
    """Return so many random designs from the stock of an example."""
    chance = random.Random(seed)
    return [build(read(words(chance), "random.toml")[0], like.results["parts"], like.results["boards"]) for _ in range(number)]
