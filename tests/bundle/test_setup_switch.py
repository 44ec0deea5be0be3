"""From the job file to the board: which switch opens the set-up access point, and what locks it."""

import json
import re
from pathlib import Path

from pattress.bundle.secrets import Secrets
from pattress.bundle.settings import network_settings
from pattress.bundle.wiring import board_table
from pattress.design import design_of

EXAMPLE = Path("examples/sewing-room/job.toml")


def test_the_switch_of_the_job_file_reaches_the_boards_table(tmp_path):
    job = tmp_path / "job.toml"
    job.write_text(re.sub(r"(?m)^\[network\]$", '[network]\nsetup_switch = "leaving"', EXAMPLE.read_text("utf-8")), "utf-8")
    design = design_of(job)
    place = board_table(design.plan, design.facts)["setup"]
    assert design.plan["switches"][place]["key"] == "leaving"
    without = design_of(EXAMPLE)
    assert "setup" not in board_table(without.plan, without.facts)


def test_the_passphrase_itself_is_given_to_the_board_only_where_it_must_lock_an_access_point():
    secrets = Secrets(passphrase="k7rm-2xqf-9b3t-wn6e", record="1:00:00")       # invented
    asked = dict(name="home", broker="none", secrets=secrets)
    assert json.loads(network_settings(**asked, with_setup=True))["setup"] == secrets.passphrase
    assert secrets.passphrase not in network_settings(**asked).decode()
