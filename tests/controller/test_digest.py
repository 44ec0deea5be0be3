"""The digest: equal for the same program and plan, different for any other."""

import shutil
from hashlib import sha256

import pytest

from pattress.controller.digest import CORE, canonical, core_files, digest, source_digest

TABLE = {"save_ms": 2000, "held_ms": 200, "channels": [{"name": "Küche", "masks": [0, 1]}]}


def test_every_source_file_of_the_core_counts_in_a_fixed_order():
    names = [path.name for path in core_files()]
    assert names == sorted(path.name for path in CORE.iterdir() if path.suffix == ".py")
    assert "program.py" in names


def test_the_order_of_keys_does_not_matter_and_the_text_is_exact():
    turned = dict(reversed(TABLE.items()))
    expected = '{"channels":[{"masks":[0,1],"name":"Küche"}],"held_ms":200,"save_ms":2000}'
    assert canonical(TABLE) == canonical(turned) == expected.encode()


def test_a_fraction_is_refused_by_name():
    with pytest.raises(ValueError, match=r"^plan\.channels\[0\]\.masks\[1\] must be a whole number, found 1\.5$"):
        canonical({"channels": [{"masks": [0, 1.5]}]})


def test_the_digest_can_be_computed_by_hand(tmp_path):
    (tmp_path / "a.py").write_bytes(b"x = 1\n")
    by_hand = sha256(b'a.py\x006\x00x = 1\nplan.json\x008\x00{"a":10}').hexdigest()
    assert digest({"a": 10}, core_files(tmp_path)) == by_hand


def test_folder_does_not_matter_but_every_byte_and_every_file_does(tmp_path):
    shutil.copytree(CORE, tmp_path / "copy", ignore=shutil.ignore_patterns("__pycache__"))
    copied = core_files(tmp_path / "copy")
    assert digest(TABLE, copied) == digest(TABLE)
    assert source_digest(copied) == source_digest()
    for path in copied:
        before = path.read_bytes()
        path.write_bytes(before + b" ")
        assert digest(TABLE, copied) != digest(TABLE)
        assert source_digest(copied) != source_digest()
        path.write_bytes(before)
    assert digest(TABLE, copied[1:]) != digest(TABLE)
    assert digest(TABLE | {"save_ms": 2001}) != digest(TABLE)
