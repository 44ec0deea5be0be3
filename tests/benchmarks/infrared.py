"""How the infra-red decoder stands up to disturbance, beside irsimreceive (Debian package lirc) on the same captures.

Every capture is one press of a random code, disturbed as the column says. A wrong code is any trusted answer that
was not sent. irsimreceive knows the codes that can come (a closed set), so it cannot invent others.
"""

import random
import tempfile
import time
from collections import Counter
from pathlib import Path

import pattress.controller.infrared as board
from pattress.controller.infrared import protocols as p
from pattress.controller.infrared.decoder import Decoder
from pattress.infrared.decoding import decode
from pattress.infrared.encoding import ENCODED, signal
from pattress.interpreter import run
from pattress.job.code import Code, canonical
from tests.infrared import disturbance as make
from tests.infrared.batch import decode_many, pack
from tests.infrared.reference_programs import lircd_remote, read_by_irsimreceive

LEADERLESS = (p.RC5, p.RC5SZ, p.SHARP, p.DENON)


def everything(sent, source):
    """Marks stretched 80 to 120 us, a clock 5 to 8 % off, jitter of sigma 35 us, and a glitch."""
    sent = make.clocked(sent, error=source.choice((-1, 1)) * source.uniform(0.05, 0.08))
    sent = make.jittered(make.stretched(sent, stretch=source.randint(80, 120)), source, sigma=35)
    return make.glitched(sent, source, count=1)


DISTURBANCES = {
    "clean": lambda sent, source: list(sent),
    "sigma 30": lambda sent, source: make.jittered(sent, source, sigma=30),
    "sigma 60": lambda sent, source: make.jittered(sent, source, sigma=60),
    "uniform 100": lambda sent, source: make.jittered(sent, source, uniform=100),
    "stretch": lambda sent, source: make.stretched(sent, stretch=source.randint(20, 150)),
    "clock 8 %": lambda sent, source: make.clocked(sent, error=source.uniform(-0.08, 0.08)),
    "1 glitch": lambda sent, source: make.glitched(sent, source, count=1),
    "2 glitches": lambda sent, source: make.glitched(sent, source, count=2),
    "leading": lambda sent, source: make.with_leading_noise(sent, source, count=source.randint(1, 6)),
    "trailing": lambda sent, source: make.with_trailing_noise(sent, source, count=source.randint(1, 6)),
    "clipped": lambda sent, source: make.clipped(sent, source),
    "everything": everything,
}
# Told apart from the table above: what no decoder can fully repair
HARDER = {
    "lamps": lambda sent, source: make.under_lamps(sent, source),
    "wide glitch": lambda sent, source: make.glitched(sent, source, count=1, least=150, most=300),
    "no leader": lambda sent, source: make.beheaded(sent),
}


def some_code(protocol, source):
    """A code of the protocol, its whole code space alike (Samsung: custom code twice, as its remotes send)."""
    address = source.getrandbits(p.ADDRESS_BITS[protocol])
    if protocol == p.RC6MCE:
        address = 0x800F
    if protocol == p.SAMSUNG:
        address = (address & 0xFF) * 0x101
    code = canonical(Code(protocol, address, source.getrandbits(p.COMMAND_BITS[protocol])))
    return code if code.protocol == protocol else some_code(protocol, source)


def presses(disturb, source, *, each, protocols=ENCODED):
    """Return (code, capture) of `each` distinct codes per protocol, as far as it has so many."""
    found = []
    for protocol in protocols:
        codes = {some_code(protocol, source) for _ in range(each)}
        found += [(code, disturb(list(signal(code).durations), source)) for code in sorted(codes)]
    return found


def answers(captures, decoder):
    """Return Counter of (protocol, "sent"/"right"/"wrong") for (code, capture) pairs."""
    count = Counter()
    for code, capture in captures:
        trusted = {found.code for found in decode(capture, decoder=decoder) if found.trusted}
        count[code.protocol, "sent"] += 1
        if trusted - {code}:
            count[code.protocol, "wrong"] += 1
        elif trusted:
            count[code.protocol, "right"] += 1
    return count


def rates(disturbances, *, each, seed=1):
    """Print decode rate per protocol and disturbance, the wrong codes, and irsimreceive's rate. Return all counts."""
    decoder, table, beside = Decoder(), {}, {}
    for name, disturb in disturbances.items():
        source = random.Random(f"{seed} {name}")
        protocols = [number for number in ENCODED if name != "no leader" or number not in LEADERLESS]
        captures = presses(disturb, source, each=each, protocols=protocols)
        table[name] = answers(captures, decoder)
        beside[name] = read_by_lirc(captures)
    print(f"{'per cent':9}" + "".join(f"{name:>12}" for name in table))
    for protocol in ENCODED:
        cells = []
        for count in table.values():
            sent = count[protocol, "sent"]
            cells.append(f"{100 * count[protocol, 'right'] / sent:12.1f}" if sent else f"{'-':>12}")
        print(f"{p.PROTOCOLS[protocol]:9}" + "".join(cells))
    total = {name: [sum(count[key] for key in count if key[1] == word) for word in ("right", "wrong", "sent")]
             for name, count in table.items()}
    print(f"{'all':9}" + "".join(f"{100 * right / sent:12.2f}" for right, _, sent in total.values()))
    print(f"{'wrong':9}" + "".join(f"{wrong:12d}" for _, wrong, _ in total.values()))
    print(f"{'lirc':9}" + "".join(f"{100 * beside[name] / sent:12.2f}" for name, (_, _, sent) in total.items()))
    right, wrong, sent = (sum(column) for column in zip(*total.values()))
    print(f"over all {sent} captures: {100 * right / sent:.2f} % decoded, {wrong} wrong codes; "
          f"irsimreceive {100 * sum(beside.values()) / sent:.2f} %")
    return total


def read_by_lirc(captures):
    """Return how many captures irsimreceive decodes to the key that was sent."""
    remotes, keys = {}, []
    for code, _ in captures:
        codes = remotes.setdefault(code.protocol, [])
        codes.append(code)
        keys.append((f"KEY_{len(codes) - 1}", p.PROTOCOLS[code.protocol].upper()))
    with tempfile.TemporaryDirectory() as folder:
        conf = "".join(lircd_remote(protocol, codes) for protocol, codes in remotes.items())
        heard = Counter(read_by_irsimreceive(folder, conf, [capture for _, capture in captures]))
    return sum(bool(heard[key]) for key in keys)


def false_accepts(*, captures, seed=2):
    """Print what the decoder makes of captures that hold no frame, per 10,000."""
    source, decoder, trusted, weak = random.Random(seed), Decoder(), Counter(), Counter()
    for _ in range(captures):
        for found in decode(make.noise(source, count=source.randint(3, 200)), decoder=decoder):
            (trusted if found.trusted else weak)[found.code.protocol] += 1
    per = 10_000 / captures
    checked = sum(count for number, count in trusted.items() if p.CHECK_BITS[number] >= 8)
    print(f"noise: {captures} captures. False accepts per 10,000: {checked * per:.2f} with a check field, "
          f"{(sum(trusted.values()) - checked) * per:.2f} without, {sum(weak.values()) * per:.2f} told as weak")
    return trusted, weak


def speeds(*, each):
    """Print clean captures per second: batch and stream on CPython, stream on MicroPython, against real time."""
    source = random.Random(3)
    captures = [capture for _, capture in presses(DISTURBANCES["clean"], source, each=each)]
    source.shuffle(captures)
    packed = pack(captures)
    decode_many(packed)
    began = time.process_time()
    decode_many(packed)
    batch = len(captures) / (time.process_time() - began)
    began = time.process_time()
    decode_many(pack(captures))
    whole = len(captures) / (time.process_time() - began)
    some = captures[:1000]
    decoder, began = Decoder(), time.process_time()
    for capture in some:
        decode(capture, decoder=decoder)
    stream = len(some) / (time.process_time() - began)
    print(f"speed, clean captures/s on one core, CPython: batch {batch:,.0f} (from lists {whole:,.0f}), stream {stream:,.0f}")
    noisy = [capture for _, capture in presses(everything, source, each=each)][:600]
    empty = [make.noise(source, count=100) for _ in range(300)]
    for name, set_ in (("clean", some), ("everything", noisy), ("noise", empty)):
        seconds = on_micropython(set_)
        print(f"MicroPython, {name}: {len(set_) / seconds:,.0f} captures/s, "
              f"{sum(map(sum, set_)) / 1e6 / seconds:,.0f} times faster than real time")


def on_micropython(captures):
    """Return the seconds MicroPython takes to stream the captures, reading the text not counted."""
    program = """
import sys, time
from infrared.decoder import Decoder
decoder = Decoder()
spent = 0
for line in sys.stdin:
    durations = [int(word) for word in line.split()]
    began = time.ticks_us()
    decoder.reset()
    for duration in durations:
        decoder.feed(duration)
    decoder.idle()
    spent += time.ticks_diff(time.ticks_us(), began)
print(spent)
"""
    lines = [" ".join(str(-value if place & 1 else value) for place, value in enumerate(capture)) for capture in captures]
    (answer,) = run(program, folder=Path(board.__file__).parents[1], lines=lines)
    return int(answer) / 1e6


def main(*, each=60, noise=10_000):
    """Print the whole benchmark."""
    print("Infra-red decoder: presses of every protocol, disturbed; lirc is irsimreceive on the same captures")
    rates(DISTURBANCES, each=each)
    print("\nWhat cannot be fully repaired (a wide glitch may hide a whole Sharp or Denon mark; without leader only 12 check bits count)")
    rates(HARDER, each=each)
    print()
    false_accepts(captures=noise)
    speeds(each=1000)


if __name__ == "__main__":
    main()
