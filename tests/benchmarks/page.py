"""How long an edit on the page takes until it is on the screen, reckoned anew, in Chromium."""

import shutil
import statistics
import time
from pathlib import Path
from tempfile import TemporaryDirectory

from playwright.sync_api import sync_playwright

from tests.web.served_page import Serving

ROOT = Path(__file__).parents[2]
JOBS = {"sewing-room": "pendant", "landing": "hall", "garden-workshop": "battens"}       # job, and the load whose power is edited
ROUNDS = 9


UNTIL = """([act, look]) => new Promise(done => {
    const seen = () => document.querySelector(look)?.innerText, before = seen(), start = performance.now();
    const again = () => seen() !== before && seen() !== undefined
        ? requestAnimationFrame(() => done((performance.now() - start) / 1000)) : requestAnimationFrame(again);
    new Function(act)();
    again();
})"""


def power_edits(tab, root: str, thing: str, watts: range) -> list[float]:
    """Return how long each of some edits of a thing's power took [s], from leaving the field to the new figure on the screen."""
    kind, _, key = thing.partition("/")
    figure = f"#finding-contacts\\.{key} .figures" if kind == "load" else f'#room a[href^="/thing/{thing}"]'
    tab.goto(f"{root}/thing/{thing}")
    taken = []
    for power in watts:
        tab.fill(f'[name="{thing}/power"]', f"{power} W")
        taken.append(tab.evaluate(UNTIL, ["document.activeElement.blur()", figure]))
        time.sleep(0.2)
    return taken


def pin_edits(tab, root: str, key: str, free: list[int]) -> list[float]:
    """Return how long each of some drags of a load's wire took [s], from the drop to the word on what it did."""
    tab.goto(f"{root}/pins")
    taken = []
    for number in range(ROUNDS):
        act = f"""const form = document.getElementById("dragged"); form.elements.wire.value = "relay.{key}";
            form.elements.gpio.value = "{free[number % len(free)]}"; form.requestSubmit();"""
        taken.append(tab.evaluate(UNTIL, [act, "#said"]))
        time.sleep(0.2)
    return taken


def told(name: str, taken: list[float]) -> None:
    """Print the median and the longest."""
    print(f"  {name:<50} median {1000 * statistics.median(taken):4.0f} ms   longest {1000 * max(taken):4.0f} ms")


def main() -> None:
    """Print how long edits of a load, a fan and a pin take on each example."""
    print(f"An edit, from leaving the field or dropping the wire to what came of it on the screen, {ROUNDS} of each")
    with sync_playwright() as playwright, TemporaryDirectory() as folder:
        chromium = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox", "--disable-gpu"])
        for name, key in JOBS.items():
            file = Path(shutil.copy(ROOT / "examples" / name / "job.toml", Path(folder) / f"{name}.toml"))
            with Serving(file) as page:
                tab = chromium.new_page()
                tab.goto(page.access.address)
                design = page.draft.now.design
                about = f"{name}, {len(design.plan['channels'])} channels"
                told(f"{about}: power of a load", power_edits(tab, page.root, f"load/{key}", range(20, 20 + ROUNDS)))
                for fan in tuple(design.job.fan)[:1]:
                    told(f"{about}: power of a fan", power_edits(tab, page.root, f"fan/{fan}", range(81, 81 + ROUNDS)))
                if hasattr(design.pins, "by_name"):
                    taken = design.pins.by_name().values()
                    free = [pin.gpio for pin in design.board.pins if pin.edge and pin.output and not pin.reserved and pin.gpio not in taken]
                    told(f"{about}: pin of a wire", pin_edits(tab, page.root, key, free[:2]))
                tab.close()
        chromium.close()


if __name__ == "__main__":
    main()
