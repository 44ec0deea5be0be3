"""Files that lie packed in the bundle: given out whole by the board's own unpacking, in little memory."""

import random

import pytest

from pattress import interpreter
from pattress.bundle.writing import packed as pack
from pattress.controller.digest import CORE
from pattress.controller.network import packed

TOLD = """
import gc, sys
sys.path.insert(0, {source!r})
import packed
from hashlib import sha256
for name in ("long", "plain", "empty"):
    total, most = sha256(), 0
    for part in packed.parts(name):
        total.update(part)
        most = max(most, len(part))
    print(name, total.digest() == sha256(open(name + ".as it was", "rb").read()).digest(), most, packed.length(name))
for name in ("cut", "missing"):
    try:
        packed.length(name)
    except OSError as error:
        print(name, error)
"""


def test_what_is_given_out_is_what_was_packed(tmp_path):
    content = " ".join(random.Random(5).choices(["channel", "level", "href", "mqtt", "öl"], k=4000)).encode()
    for name, was in {"long": content, "empty": b"", "plain": content[:1000]}.items():
        (tmp_path / f"{name}.as it was").write_bytes(was)
        (tmp_path / (name if name == "plain" else f"{name}.z")).write_bytes(was if name == "plain" else pack(was))
    (tmp_path / "cut.z").write_bytes(pack(content)[:700])
    said = interpreter.run(TOLD.format(source=str(CORE.parent / "network")), folder=tmp_path)
    assert said[0] == f"long True 256 {len(content)}" and said[1] == "plain True 256 1000" and said[2] == "empty True 0 0"
    assert said[3] == "cut a packed file is cut off" and said[4].startswith("missing ")


def test_on_the_workbench_a_file_that_is_not_packed_is_given_out_too(tmp_path):
    (tmp_path / "plain").write_bytes(b"x" * 600)
    assert [len(part) for part in packed.parts(str(tmp_path / "plain"))] == [256, 256, 88]
    with pytest.raises(OSError):
        packed.length(str(tmp_path / "missing"))
