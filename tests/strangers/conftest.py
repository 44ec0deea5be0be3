"""What a stranger hands over, once each as it should be: published folder, parts, prices, captures, answers, story."""

import json
from hashlib import sha256

import pytest

from pattress.design import design_of
from pattress.infrared.encoding import signal
from pattress.job.code import parse_code
from pattress.proof.exploration import Exploration
from pattress.proof.parts import parts_of
from pattress.proof.properties import Failure
from pattress.proof.story import tell
from pattress.proof.subject import Subject
from pattress.rehearsal.retelling import Told
from pattress.repeat.points import points_of
from pattress.repeat.publishing import points_text, stripped
from pattress.repeat.writing import job_text

from ..repeat.publishers import ANSWERS, SEWING_ROOM, document_of
from ..stock.test_parts import OWN


@pytest.fixture(scope="session")
def design():
    return design_of(SEWING_ROOM)


@pytest.fixture(scope="session")
def document():
    return stripped(document_of("sewing-room"))


@pytest.fixture(scope="session")
def seeds(design, document):
    """Return one good text of each kind of file."""
    return {
        "points": points_text(points_of(document), {"job.toml": sha256(job_text(document).encode()).hexdigest()}),
        "job": job_text(document),
        "parts": OWN + OWN.partition("[[part]]")[1] + OWN.partition("[[part]]")[2].replace("EXR-10-05", "RT314005"),
        "prices": 'currency = "EUR"\n[relay]\nchange = 3\n[part]\n"RT314005" = 2.5\n"Terminal" = 1\n',
        "captures": captures(),
        "answers": job_text(ANSWERS),
        "story": story(design),
    }


def captures():
    sent = signal(parse_code("nec 0x04:0x08"), held=1, toggle=0).durations
    return "\n".join(f"{'space' if place % 2 else 'pulse'} {duration}" for place, duration in enumerate(sent)) + "\n" + " ".join(map(str, sent)) + "\n"


def story(design):
    """Return a story's file: three moves into the first part of a job, as if a property broke there."""
    subject = Subject(design.plan)
    part = parts_of(subject)[0]
    exploration = Exploration(part).run()
    state = list(exploration.parents)[min(40, len(exploration.parents) - 1)]
    parent, move = exploration.parents[state]
    told = tell(exploration, Failure("answer.pendant", "the lamp stays dark"), parent, move, None, "a switch is answered")
    return json.dumps(json.loads(Told(told, design.plan, design.wishes, True).text()), indent=1)
