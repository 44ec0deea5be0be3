"""A remote of no known protocol, from captures to relays: learnt, bundled, and pressed before a simulated board."""

import random

from pattress.bundle import write_bundle
from pattress.controller.core.cells import TOGGLE
from pattress.infrared.learning import learn
from pattress.job.code import parse_code
from tests.infrared import disturbance
from tests.infrared.invented_remotes import REMOTES, as_heard

from .test_on_board import MS, PENDANT, SECOND, OnBoard, wired


def edges_of(pin, at, durations):
    """Return the edges of a capture [us] that begins at `at`, mark first: carrier pulls the line low."""
    edges = []
    for place, duration in enumerate(durations):
        edges.append((at, pin, place & 1))
        at += duration
    return edges + [(at, pin, 1)]


def test_a_remote_of_no_known_protocol_works_from_its_captures_to_its_relays_and_noise_moves_none(room, tmp_path):
    """Learnt from three presses each, written as the job file has it, bundled; then one press each at the wall, and noise."""
    source = random.Random("unknown")
    presses = {kind: press(0x2B5E6) for kind, press in REMOTES.items()}
    rows = []
    for (kind, press), button, load in zip(presses.items(), room["buttons"], (1, 2, 4), strict=False):
        learned = learn([as_heard(press, source) for _ in range(3)])
        assert learned.lacking == ""
        code = parse_code(str(learned.code))
        rows.append(button | dict(protocol=code.protocol, address=code.address, command=code.command, acts=[[load, TOGGLE, 0]]))
    write_bundle(tmp_path / "room", room | {"buttons": rows}, wired(room), findings=(), accepted={})
    (tmp_path / "flash").mkdir()
    board = OnBoard(tmp_path / "room", tmp_path / "flash")
    pin = board.pins["infrared"]
    noise, at = [], 400 * MS
    for _ in range(6):                  # other buttons of the same remotes, each twice, and captures of nothing
        heard = as_heard(source.choice(list(REMOTES.values()))(source.getrandbits(16)), source)
        for capture in (heard, heard, disturbance.noise(source, count=source.randint(20, 90))):
            noise += edges_of(pin, at, capture)
            at += sum(capture) + source.randint(20, 80) * MS
    board.live(*noise, seconds=at / SECOND + 0.3)
    assert [board.relay(load) for load in (1, 2, 4)] == [[], [], []]
    script = [edge for number, press in enumerate(presses.values()) for edge in edges_of(pin, (400 + 400 * number) * MS, as_heard(press, source))]
    board.live(*script, seconds=1.6)
    for number, load in enumerate((1, 2, 4)):
        (at, level), (end, opened) = board.relay(load)
        assert level == 1 and 0 < at - (400 + 400 * number) * MS < 150 * MS and opened == 0 and end >= 1.6 * SECOND
    assert board.relay(PENDANT) == []
