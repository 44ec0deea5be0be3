"""How long an edit on the page takes until it is on the screen, reckoned anew, in Chromium."""

import shutil
import statistics
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

from playwright.sync_api import sync_playwright

ROOT = Path(__file__).parents[2]
JOBS = {"sewing-room": "pendant", "landing": "hall", "garden-workshop": "battens"}       # job, and the load whose power is edited
ROUNDS = 9


def seconds(tab, root: str, key: str, figure: str) -> list[float]:
    """Return how long each of some edits of a load's power took [s], from the key press to the new figure on the screen."""
    tab.goto(f"{root}/thing/load/{key}")
    taken = []
    for power in range(20, 20 + ROUNDS):
        tab.fill(f'[name="load/{key}/power"]', f"{power} W")
        taken.append(tab.evaluate("""([name, figure]) => new Promise(done => {
            const field = document.querySelector(`[name="${name}"]`), before = document.querySelector(figure).innerText, start = performance.now();
            const look = () => document.querySelector(figure)?.innerText !== before
                ? requestAnimationFrame(() => done((performance.now() - start) / 1000)) : requestAnimationFrame(look);
            field.blur();
            look();
        })""", [f"load/{key}/power", figure]))
        time.sleep(0.2)
    return taken


def main() -> None:
    """Print the median and the longest for each example."""
    sys.path.insert(0, str(ROOT / "tests" / "web"))
    from served_page import Serving

    print(f"An edit of one load's power, from leaving the field to the new figure on the screen, {ROUNDS} edits")
    with sync_playwright() as playwright, TemporaryDirectory() as folder:
        chromium = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox", "--disable-gpu"])
        for name, key in JOBS.items():
            file = Path(shutil.copy(ROOT / "examples" / name / "job.toml", Path(folder) / f"{name}.toml"))
            with Serving(file) as page:
                tab = chromium.new_page()
                tab.goto(page.gate.address)
                taken = seconds(tab, page.root, key, f"#finding-contacts\\.{key} .figures")
                relays = len(page.draft.now.design.plan["channels"])
                print(f"  {name:<16} {relays} channels   median {1000 * statistics.median(taken):4.0f} ms   longest {1000 * max(taken):4.0f} ms")
                tab.close()
        chromium.close()


if __name__ == "__main__":
    main()
