"""Which source files a bundle carries, and where on the board each one lies.

`core` is the proven program. Beside it lie what drives the pins, hears the remote and talks to
the network; on the root of the flash what starts the board. Files for the workbench only
(digest, replay) stay here.
"""

from collections.abc import Collection, Iterable
from functools import lru_cache
from pathlib import Path

from pattress.bundle.folding import folded
from pattress.bundle.joining import joined
from pattress.bundle.sharing import HELD
from pattress.bundle.shortening import short_of
from pattress.controller.infrared.protocols import BIPHASE, HASH

CONTROLLER = Path(__file__).parents[1] / "controller"
PACKAGES = ("drivers", "infrared", "network", "network/http", "network/mqtt")
MODULES = ("announcement", "answering", "arriving", "beginning", "console", "filling", "full", "inputs", "loop", "main", "minimal", "parts", "readings", "report",
           "request_queue", "rom", "sequence")
AT_ROOT = ("start",)
RESOURCES = (".css", ".js")
READERS = ("main", "replay")       # ask the control program from outside
ONLY_FOR = {                        # what of the decoder reads some protocols only, and is loaded only for them
    "infrared/biphase": BIPHASE, "infrared/biphase_reading": BIPHASE, "infrared/fallback": (HASH,)}
ONLY_ON = {"drivers/infrared_machine": "rp2"}      # what only a port of the interpreter can run
FOR_SETUP = "network/setup"
ONLY_WITH = {         # what a plan without such a table never loads
    "core/rules": "rules", "core/apart": "apart", "core/presses": "presses", "core/conditions": "conditions", "readings": "readings", "inputs": "inputs"}
ROOT = "root"
ROOT_MAIN = "from start import run\n\nrun()\n"      # what the board's interpreter runs by itself


def modules(
    core: Iterable[Path], protocols: Iterable[int] | None = None, port: str | None = None, *, has_setup: bool = True, tables: Collection[str] | None = None,
) -> dict[str, Path]:
    """Return the source of every module to compile, by its name in the bundle, such as "core/cells".

    What no button of these infra-red `protocols` needs is left out, and what the interpreter's `port` cannot
    run; None leaves nothing out. `has_setup`: some switch of the job opens the set-up access point. Of what
    only a plan with certain tables loads, no more is carried than what the `tables` of a plan ask for; None leaves nothing out.
    """
    found = {f"core/{path.stem}": path for path in core}
    for package in PACKAGES:
        found |= {f"{package}/{path.stem}": path for path in sorted((CONTROLLER / package).glob("*.py"))}
    found |= {name: CONTROLLER / f"{name}.py" for name in MODULES}
    found |= {f"{ROOT}/{name}": CONTROLLER / f"{name}.py" for name in AT_ROOT}
    wanted = None if protocols is None else set(protocols)
    return {
        name: path for name, path in found.items()
        if (wanted is None or name not in ONLY_FOR or wanted & set(ONLY_FOR[name])) and (port is None or ONLY_ON.get(name, port) == port)
        and (has_setup or name != FOR_SETUP) and (tables is None or ONLY_WITH.get(name) in (None, *tables))}


def resources() -> dict[str, Path]:
    """Return what the packages carry beside their modules, such as the page's style, by its name in the bundle."""
    return {
        f"{package}/{path.name}": path
        for package in PACKAGES for path in sorted((CONTROLLER / package).iterdir()) if path.suffix in RESOURCES}


def names_on_board(core: Iterable[Path]) -> dict[str, str]:
    """Return the short name on the board of each name that has one: the same in every bundle, whichever modules it carries.

    What starts a bundle may be older or newer than the bundle; whatever it names keeps its name.
    """
    sources = {name: path.read_text("utf-8") for name, path in modules(core).items()}
    return dict(_short_names(tuple(sources.items()), *(tuple((CONTROLLER / f"{name}.py").read_text("utf-8") for name in names) for names in (READERS, AT_ROOT))))


@lru_cache(maxsize=2)       # a bundle after the other asks for the same
def _short_names(sources: tuple[tuple[str, str], ...], readers: tuple[str, ...], at_root: tuple[str, ...]) -> dict[str, str]:
    return short_of(joined(folded(dict(sources), readers)), readers + at_root, HELD)
