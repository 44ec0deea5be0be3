"""A copy of the core with one place changed, loaded as a package of its own."""

import shutil
import sys
from importlib.util import module_from_spec, spec_from_file_location
from itertools import count

from pattress.controller.digest import CORE

_numbers = count(1)


def mutant(folder, file, anchor, instead):
    """Return the core package with `anchor` in `file` replaced. Fails when the anchor is not there exactly once."""
    source = (CORE / file).read_text("utf-8")
    found = source.count(anchor)
    assert found == 1, f"{file}: the anchor must be there once, found {found} times: {anchor!r}"
    copy = copied(folder)
    (copy / file).write_text(source.replace(anchor, instead), "utf-8")
    return load(copy)


def copied(folder):
    """Copy the core's source into a new folder with a name of its own; return that."""
    copy = folder / f"core_mutant_{next(_numbers)}"
    shutil.copytree(CORE, copy, ignore=shutil.ignore_patterns("__pycache__"))
    return copy


def load(copy):
    """Import a folder as a package under its own name."""
    spec = spec_from_file_location(copy.name, copy / "__init__.py", submodule_search_locations=[str(copy)])
    package = module_from_spec(spec)
    sys.modules[copy.name] = package
    spec.loader.exec_module(package)
    return package


def forget(package):
    """Take a mutant and its modules out of the interpreter again."""
    for name in [name for name in sys.modules if name == package.__name__ or name.startswith(package.__name__ + ".")]:
        del sys.modules[name]
