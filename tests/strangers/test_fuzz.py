"""A hundred thousand damaged and poisoned files of each kind in `make soak`, a seeded sample with every test.

Whatever a stranger hands over: no traceback, no wait beyond ten seconds, nothing written or deleted beside the file, and nothing
that acts on a terminal is printed.
"""

import os
import re
import signal
from hashlib import sha256
from pathlib import Path
from random import Random
from time import monotonic

import pytest
from click.testing import CliRunner

from pattress.cli import main
from pattress.cli.terminal import say
from pattress.design.prices import load_prices
from pattress.errors import PattressError, UseError
from pattress.incoming import FileRefusal, text_of
from pattress.rehearsal.retelling import Told, read_story
from pattress.rehearsal.storyline import storyline
from pattress.repeat.adopting import adopted
from pattress.stock.parts import load_parts

from .hostile import hostile

LONGEST_S = 10
SAMPLE, SOAK = {"points": 60, "parts": 120, "prices": 120, "captures": 80, "answers": 25, "story": 60}, 100_000
RAW = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ud800-\udfff\U000e0000-\U000e007f]")


class Waits(BaseException):
    """Something took longer than anything may."""


def alarmed(number, frame):
    raise Waits


def ran(*words):
    result = CliRunner().invoke(main, [str(one) for one in words])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    assert result.exit_code in (0, 1, 2)
    if result.exit_code == 2:
        raise UseError(result.output)
    return result.output


@pytest.fixture
def readers(design, document, seeds):
    """Return what takes each kind of file up, as its command does, as far as it costs little."""
    def points(file, random):
        content = file.read_bytes()
        folder = file.parent / "folder"
        job = hostile(seeds["job"], random) if random.random() < 0.3 else seeds["job"].encode()
        digest = sha256(job).hexdigest().encode()
        (folder / "job.toml").write_bytes(job)
        (folder / "points.toml").write_bytes(re.sub(rb'"job.toml" = "[0-9a-f]{64}"', b'"job.toml" = "' + digest + b'"', content))
        return ran("adopt", folder, "--list", *(["--json"] if random.random() < 0.2 else []))

    def parts(file, random):
        return say("\n".join(f"{part.designation}: {[part.input(name) for name in part.figures]}" for part in load_parts(file)))

    def prices(file, random):
        found = load_prices(file)
        return say(f"{found.currency} {list(found.parts.items())} {len(found.of)}")

    def captures(file, random):
        return ran("remote", random.choice(("decode", "learn")), file)

    def answers(file, random):
        return say(str(adopted(document, text_of(file, "an answers file"), "answers.toml")[1]))

    def story(file, random):
        told = read_story(file).under(Told(None, design.plan, design.wishes, True))
        return say(storyline(told.story, told.table))

    return {"points": points, "parts": parts, "prices": prices, "captures": captures, "answers": answers, "story": story}


def lying_in(folder):
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


@pytest.fixture
def fed(readers, seeds, tmp_path, capsys, monkeypatch):
    """Return what feeds so many files of a kind, drawn from a seed, and holds what must be true of each."""
    outside = tmp_path / "outside"
    (outside / "inside" / "folder").mkdir(parents=True)
    (outside / "kept.txt").write_text("a person's own")
    monkeypatch.chdir(outside)
    before = signal.signal(signal.SIGALRM, alarmed)

    def feed(kind, count, seed):
        random, file, slowest, taken = Random(f"{kind} {seed}"), outside / "inside" / f"{kind}.file", 0.0, 0
        for number in range(count):
            content = hostile(seeds["points" if kind == "points" else kind], random)
            file.write_bytes(content)
            begun = monotonic()
            signal.setitimer(signal.ITIMER_REAL, LONGEST_S)
            try:
                said = readers[kind](file, random) or ""
                taken += 1
            except (PattressError, FileRefusal) as error:
                say(str(error))
                said = ""
            except BaseException as error:
                kept = Path(os.environ.get("STRANGERS_KEPT", tmp_path)) / f"{kind}-{seed}-{number}"
                kept.write_bytes(content)
                raise AssertionError(f"number {number} of {kind}, seed {seed}, kept as {kept}: {type(error).__name__}: {error}") from error
            finally:
                signal.setitimer(signal.ITIMER_REAL, 0)
            slowest = max(slowest, monotonic() - begun)
            raw = RAW.search(said + capsys.readouterr().out)
            assert raw is None, f"number {number} of {kind}, seed {seed}: {raw[0]!r} was printed"
        assert {name for name in lying_in(outside) if not name.startswith("inside/")} == {"kept.txt"} and (outside / "kept.txt").read_text() == "a person's own"
        return slowest, taken

    yield feed
    signal.signal(signal.SIGALRM, before)


@pytest.mark.parametrize("kind", SAMPLE)
def test_whatever_a_stranger_hands_over_is_taken_or_refused_in_words(fed, kind):
    slowest, taken = fed(kind, SAMPLE[kind], 1)
    assert slowest < LONGEST_S and 0 < taken < SAMPLE[kind]


@pytest.mark.soak
@pytest.mark.parametrize("kind", SAMPLE)
def test_a_hundred_thousand_files_of_each_kind(fed, kind):
    slowest, taken = fed(kind, SOAK, 2)
    print(f"{kind}: slowest {slowest:.2f} s, {taken} of {SOAK} taken")
    assert slowest < LONGEST_S and taken
