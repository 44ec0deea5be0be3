"""A bundle lives on this machine beside the demo's own broker: what is told of a switch, and that nothing is left over."""

import json
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import psutil
import pytest

from pattress.bench import smoke_run
from pattress.bundle import write_bundle
from pattress.cli import smoke_run as shown
from pattress.design import design_of

JOB = Path("examples/sewing-room/job.toml")
SETTLE_MS, LATE_MS = 20, 1000       # debounce of a contact in this job; what a busy machine may add


@pytest.fixture(scope="module")
def design():
    return design_of(JOB)


@pytest.fixture(scope="module")
def bundle(design, tmp_path_factory):
    folder = tmp_path_factory.mktemp("alive") / "bundle"
    write_bundle(folder, design.plan, design.facts, findings=(), accepted={})
    return folder


@pytest.fixture(scope="module")
def life(bundle, design):
    return smoke_run.live(bundle, design.plan, design.facts)


def one(messages, topic):
    found = [message for message in messages if message.topic == topic]
    assert len(found) == 1, messages
    return json.loads(found[0].payload), found[0].is_retained


def test_it_tells_how_it_started(life):
    assert one(life.started, "availability")[0] == {"available": True, "title": "Sewing room", "start": "power", "second": 0, "time": None}
    state, is_retained = one(life.started, "channel/pendant")
    assert (state["level"], state["cause"], is_retained) == (0, "restore", False)


def test_a_thrown_switch_moves_its_relay_and_is_told_as_state_and_as_event(life):
    assert (life.switch, life.channel) == ("By the door, left", "pendant")
    assert SETTLE_MS - 2 <= life.relay_ms <= SETTLE_MS + LATE_MS
    state, _ = one(life.thrown, "channel/pendant")
    assert (state["level"], state["cause"]) == (1, "switch")
    event, _ = one(life.thrown, "events")
    assert (event["kind"], event["channel"], event["level"], event["cause"]) == ("moved", "pendant", 1, "switch")


def test_the_broker_keeps_the_states_for_who_comes_later_and_no_event(life, design):
    assert {message.is_retained for message in life.kept} == {True}
    topics = [message.topic for message in life.kept]
    assert {"availability", *(f"channel/{channel['key']}" for channel in design.plan["channels"])} <= set(topics)
    assert "events" not in topics and len(topics) == len(set(topics))
    assert one(life.kept, "channel/pendant")[0]["level"] == 1


def test_a_power_cut_is_told_by_the_last_will(life):
    assert one(life.cut, "availability") == ({"available": False}, False)


def test_what_is_shown_names_broker_switch_state_and_last_will(life):
    lines = list(shown._lines(replace(life, port=41000, relay_ms=21.6)))
    assert lines[:2] == [
        "The bundle lived here under the board's interpreter, its pins simulated, beside a broker at 127.0.0.1:41000.",
        "Heard on pattress/sewing-room/:"]
    assert "  when the contact of 'By the door, left' closed; its relay moved after 22 ms" in lines
    assert sum(line.startswith("    channel/pendant ") for line in lines) == 3
    assert lines[-1] == '    availability             {"available":false}'


def test_a_contact_that_moves_no_relay_is_told(bundle, design, monkeypatch):
    monkeypatch.setattr(smoke_run, "PATIENCE", 4.0)
    other = design.facts["pins"] | {"switch.door": design.facts["pins"]["infrared"]}
    with pytest.raises(smoke_run.SmokeRunError, match=r"^no relay moved when the contact on GPIO\d+ closed within 4 s$"):
        smoke_run.live(bundle, design.plan, design.facts | {"pins": other})


def test_a_bundle_that_does_not_start_is_told_in_the_table(design, tmp_path, monkeypatch):
    monkeypatch.setattr(smoke_run, "PATIENCE", 2.0)
    (tmp_path / "root").mkdir()
    (tmp_path / "root" / "start.mpy").write_bytes(b"no program")
    trial = shown.tried(design, tmp_path, lambda part: None)
    assert (trial.verdict, trial.has_failed) == ("failed", True)
    assert trial.detail == "no message on pattress/sewing-room/channel/ceiling within 2 s; heard []"


def test_without_the_brokers_package_it_says_what_to_install(design, tmp_path, monkeypatch):
    monkeypatch.setattr(shown, "find_spec", lambda name: None)
    trial = shown.tried(design, tmp_path, lambda part: None)
    assert (trial.verdict, trial.detail, trial.has_failed) == ("not tried", "needs a broker: pip install 'pattress[demo]'", False)


def test_an_interrupt_leaves_no_process_behind(bundle):
    """Ctrl-C while it lives: the process ends by it, and so does the interpreter below."""
    program = (f"from pathlib import Path; from pattress.design import design_of; from pattress.bench.smoke_run import live\n"
               f"design = design_of(Path({str(JOB)!r})); print('begun', flush=True)\nlive(Path({str(bundle)!r}), design.plan, design.facts)")
    process = subprocess.Popen([sys.executable, "-c", program], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        assert process.stdout.readline() == "begun\n"
        below = psutil.Process(process.pid)
        children = []
        while not children:
            assert process.poll() is None
            children = below.children(recursive=True)
        process.send_signal(2)
        _, said = process.communicate(timeout=20)
    finally:
        process.kill()
    assert said.rstrip().endswith("KeyboardInterrupt")
    _, alive_still = psutil.wait_procs(children, timeout=5)
    assert alive_still == []


def test_it_costs_nothing_to_who_does_not_ask():
    ended = subprocess.run([sys.executable, "-c", "import sys, pattress.cli.line, pattress.bench.smoke_run; print('amqtt' in sys.modules)"],
                           capture_output=True, text=True, check=True)
    assert ended.stdout == "False\n"
