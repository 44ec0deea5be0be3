"""Toy bundles: whole ones with a real start and a program that says its number and is healthy, or crashes."""

from pattress.bundle.compiler import compile_modules
from pattress.bundle.contents import CONTROLLER, ROOT_MAIN
from pattress.bundle.manifest import Manifest, file_digests

CORE = """
TIME = 0
class Plan:
    switches = regulators = 0
    def __init__(self, table):
        pass
def new_state(plan):
    return []
def begin(*given):
    pass
def relays(plan, state):
    return 0
def step(*given):
    return 0
def due_in(plan, state):
    return -1
"""
FULL = """
def run(site):
    print("program", {number}, site.slot)
    if not {healthy}:
        raise ValueError
    site.slots.healthy()
    raise KeyboardInterrupt
"""


def toy(folder, number, *, healthy=True, long=0, start=""):
    """Write a toy bundle. `long` makes one file longer, `start` is added to what starts the board."""
    (folder / "core").mkdir(parents=True)
    (folder / "core" / "__init__.py").write_text(CORE)
    source = folder.parent / f".{folder.name}.py"
    source.write_text(FULL.format(number=number, healthy=healthy))
    other = folder.parent / f".{folder.name}.start.py"
    other.write_text((CONTROLLER / "start.py").read_text("utf-8") + start)
    compile_modules({"full": source, "minimal": source, "root/start": other}, folder)
    source.unlink()
    other.unlink()
    (folder / "main.py").write_bytes((CONTROLLER / "main.py").read_bytes())
    (folder / "root" / "main.py").write_text(ROOT_MAIN)
    (folder / "board.json").write_text('{"relays":[3],"relay_level":1}')
    (folder / "plan.json").write_text('{"number":%d,"more":"%s"}' % (number, "x" * long))
    manifest = Manifest(files=file_digests(folder), program="", source="", compiler="", facts={}, accepted={})
    (folder / "manifest.json").write_bytes(manifest.text().encode())
    return folder
