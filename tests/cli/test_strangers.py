"""What a stranger's file, a link, another job or a kill could do at the command line, and does not."""

import json
import os
import signal
import subprocess
import sys
from hashlib import sha256
from pathlib import Path
from time import monotonic, sleep

import pytest
from click.testing import CliRunner

from pattress.bundle import secrets, write_bundle
from pattress.bundle.errors import BundleError
from pattress.bundle.writing import _clear
from pattress.cli import main
from pattress.cli.results import results_folder
from pattress.cli.warned import warnings
from pattress.design import design_of
from pattress.errors import UseError
from pattress.repeat.folder import write_folder
from pattress.repeat.points import points_of
from pattress.repeat.publishing import Publication, points_text, stripped
from pattress.repeat.writing import job_text

from ..repeat.publishers import SEWING_ROOM, document_of
from ..stock.test_parts import OWN

LANDING = SEWING_ROOM.parents[1] / "landing" / "job.toml"


def call(*words, typed=None):
    return CliRunner().invoke(main, [str(word) for word in words], input=typed)


@pytest.fixture
def home(tmp_path):
    """Return a job file of its own."""
    job = tmp_path / "home.toml"
    job.write_text(SEWING_ROOM.read_text("utf-8"), "utf-8")
    return job


@pytest.fixture
def folder(tmp_path):
    """Return a published folder, without its drawings."""
    document = stripped(document_of("sewing-room"))
    job = job_text(document)
    points = points_text(points_of(document), {"job.toml": sha256(job.encode()).hexdigest()})
    write_folder(tmp_path / "folder", Publication({"job.toml": job, "points.toml": points}, (), (), ""))
    return tmp_path / "folder"


def with_costs(folder, written):
    points = folder / "points.toml"
    text = points.read_text("utf-8")
    assert "unknown_costs = []" in text
    points.write_text(text.replace("unknown_costs = []", f"unknown_costs = [{written}]", 1), "utf-8")


@pytest.mark.parametrize("written", ['"none\\nsupply.earthing = \\"TN-C\\""', '"none\\u001b[1A"', '"none\\u202e"', "7", '"\\u3164"'])
def test_costs_of_a_published_folder_that_are_no_line_of_words_refuse_it(folder, written):
    with_costs(folder, written)
    listed = call("adopt", folder, "--list")
    assert (listed.exit_code, listed.stdout, listed.stderr) == (
        2, "", f"{folder / 'points.toml'} is no list of points as `pattress bundle --publish` writes it\n")


def test_the_answers_file_that_is_printed_has_no_live_line(folder):
    with_costs(folder, '"contacts.pendant: holds -> unknown"')
    listed = call("adopt", folder, "--list")
    assert listed.exit_code == 0 and "#   unknown: contacts.pendant: holds -> unknown\n" in listed.stdout
    assert {line[:1] for line in listed.stdout.splitlines()} == {"#", ""}


def test_publishing_deletes_nothing_that_a_foreign_list_only_names(tmp_path):
    folder = tmp_path / "mine"
    folder.mkdir()
    (folder / "notes.txt").write_text("a person's own", "utf-8")
    (folder / "points.toml").write_text('format = 1\npoint = []\n[files]\n"notes.txt" = "0"\n', "utf-8")
    with pytest.raises(UseError, match=f"^{folder} holds notes.txt, which no publication put there as it is\n  allowed: a new folder, or one that --publish wrote$"):
        write_folder(folder, Publication({"job.toml": ""}, (), (), ""))
    assert (folder / "notes.txt").read_text("utf-8") == "a person's own"


def test_publishing_writes_and_deletes_nothing_through_a_linked_folder(folder, tmp_path):
    (tmp_path / "private").mkdir()
    (tmp_path / "private" / "wall-0.svg").write_text("kept", "utf-8")
    (folder / "drawings").symlink_to(tmp_path / "private")
    with pytest.raises(UseError, match="holds drawings, which no publication put there as it is"):
        write_folder(folder, Publication({"drawings/wall-0.svg": "x"}, (), (), ""))
    assert (tmp_path / "private" / "wall-0.svg").read_text("utf-8") == "kept" and (folder / "job.toml").is_file()


def test_a_file_of_a_published_folder_that_is_a_link_is_not_what_was_published(folder, tmp_path):
    (folder / "job.toml").rename(tmp_path / "elsewhere.toml")
    (folder / "job.toml").symlink_to(tmp_path / "elsewhere.toml")
    assert "job.toml differs" in call("adopt", folder, "--list").stderr


def test_results_go_through_no_linked_folder(home, tmp_path):
    (tmp_path / "private").mkdir()
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "decks").symlink_to(tmp_path / "private")
    found = call("circuit", home, "--out", tmp_path / "out")
    assert found.exit_code == 2 and f"{tmp_path / 'out' / 'decks'} is a link to another folder" in found.stderr
    assert list((tmp_path / "private").iterdir()) == []


def test_a_changed_job_is_written_where_the_link_leads(tmp_path):
    (tmp_path / "real").mkdir()
    real, link = tmp_path / "real" / "home.toml", tmp_path / "home.toml"
    text = SEWING_ROOM.read_text("utf-8")
    real.write_text(text.replace('power = "54 W"', 'power = "5 kW"', 1) if 'power = "54 W"' in text else text, "utf-8")
    link.symlink_to(real)
    failing = next(row["id"] for row in json.loads(call("check", link, "--json").stdout)["findings"] if row["verdict"] == "fails" or row["verdict"] == "unknown" and row["safety"] and not row["on_site"])
    done = call("accept", link, failing, "--reason", "tried on the bench first", "--by", "Ada Vale")
    assert done.exit_code == 0, done.output
    assert link.is_symlink() and f'[accept."{failing}"]' in real.read_text("utf-8")


def test_two_jobs_of_one_name_do_not_overwrite_each_other(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for name in ("one", "other"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "home.toml").write_text("", "utf-8")
    assert results_folder(Path("one/home.toml"), None) == Path("out/home") == results_folder(Path("one/home.toml"), None)
    assert (tmp_path / "out/home/results-of.txt").read_text("utf-8") == "../../one/home.toml\n"
    with pytest.raises(UseError) as refused:
        results_folder(Path("other/home.toml"), None)
    assert str(refused.value) == (f"out/home holds the results of another job, {tmp_path / 'one' / 'home.toml'}\n"
                                  "  allowed: --out with a folder of its own for other/home.toml; or take out/home away first")
    (tmp_path / "one" / "home.toml").unlink()           # moved or renamed: its results are the other's from now on
    assert results_folder(Path("other/home.toml"), None) == Path("out/home")
    assert (tmp_path / "out/home/results-of.txt").read_text("utf-8") == "../../other/home.toml\n"


def test_a_part_of_ones_own_in_the_place_of_the_stock_s_is_told(home, tmp_path):
    own = tmp_path / "own.toml"
    own.write_text(OWN.replace("EXR-10-05", "RT314005"), "utf-8")
    told = "a part of your own file stands for the stock's: RT314005"
    assert f"\nwarning: {told}\n" in call("check", home, "--parts", own).stdout
    assert told in json.loads(call("check", home, "--parts", own, "--json").stdout)["warnings"]
    assert "stands for" not in call("check", home).stdout


def test_a_broker_without_tls_or_user_is_warned_about(home):
    design = design_of(home)

    def warned():
        return warnings(home, design)

    plain = ("nothing between controller and broker 192.168.1.10 is encrypted: whoever is in the home's network reads it, and can act as the broker\n"
             '  change: a broker with TLS, and network.broker_authority = "the file of its authority\'s certificate"')
    unknown = ("the broker 192.168.1.10 may ask for no user and password; nothing is known of it here yet: without them whoever is in the home's network "
               f"switches every load\n  change: pattress put {home} --wifi asks for them")
    assert warned() == [plain, unknown]
    secrets.store(home, secrets.Secrets(wifi_name="Home (invented)", wifi_password="invented key"))
    assert warned() == [plain, unknown.replace("may ask for no user and password; nothing is known of it here yet", "gets no user and password from the controller")]
    secrets.store(home, secrets.Secrets(wifi_name="Home (invented)", broker_user="invented"))
    assert warned() == [plain]
    home.write_text(home.read_text("utf-8").replace("[network]\n", '[network]\nbroker_authority = "ca.pem"\n', 1), "utf-8")
    design = design_of(home)
    assert warned() == []
    secrets.place(home).chmod(0o644)
    assert warned() == [f"{secrets.place(home)} can be read by others\n  allowed: by its owner only\n  change: chmod 600 {secrets.place(home)}"]
    assert warnings(LANDING, design_of(LANDING)) == []


@pytest.mark.parametrize("given", [("--port", "/dev/no-such-port"), ()])
def test_put_without_a_board_keeps_no_secret(home, tmp_path, given):
    found = call("put", home, *given, "--out", tmp_path / "out")
    assert found.exit_code == 2 and not secrets.place(home).exists()


@pytest.mark.soak
def test_put_at_a_port_where_nothing_answers_keeps_no_secret(home, tmp_path):
    (tmp_path / "port").write_text("", "utf-8")
    found = call("put", home, "--port", tmp_path / "port", "--out", tmp_path / "out")
    assert found.exit_code == 2 and found.stderr.splitlines()[-2].startswith(f"no interpreter answers at {tmp_path / 'port'}: ")
    assert (tmp_path / "out" / "bundle" / "manifest.json").is_file() and not secrets.place(home).exists()


def test_put_over_the_network_makes_no_key_that_no_board_knows(home, tmp_path):
    found = call("put", home, "--address", "127.0.0.1:1", "--out", tmp_path / "out")
    assert found.exit_code == 2 and found.stderr.startswith("there is no signing key yet\n") and not secrets.place(home).exists()


KILLED = """
import sys
from pathlib import Path
from pattress.bundle import write_bundle
from pattress.design import design_of
design = design_of(Path(sys.argv[1]))
write_bundle(Path(sys.argv[2]), design.plan, design.facts, findings=design.findings, accepted=design.job.accept)
"""


def hidden(folder):
    return [path.name for path in folder.iterdir() if path.name.startswith(".")] if folder.is_dir() else []


def test_what_a_dead_process_left_beside_a_bundle_is_cleared_and_nothing_else(tmp_path):
    ended = subprocess.Popen([sys.executable, "-c", ""])
    ended.wait()
    for name in (f".bundle.new.{ended.pid}.abc", f".bundle.new.{os.getpid()}.abc", ".bundle.new.mine", ".other", ".bundle.before"):
        (tmp_path / name / "bundle").mkdir(parents=True)
    _clear(tmp_path / "bundle")
    assert sorted(hidden(tmp_path)) == [".bundle.before", f".bundle.new.{os.getpid()}.abc", ".bundle.new.mine", ".other"]


@pytest.mark.soak
def test_what_a_killed_bundle_left_is_cleared_the_next_time_and_what_one_at_work_makes_is_not(home, tmp_path):
    place = tmp_path / "out" / "bundle"
    process = subprocess.Popen([sys.executable, "-c", KILLED, home, place], env=os.environ)
    until = monotonic() + 60
    while not hidden(place.parent) and monotonic() < until and process.poll() is None:
        sleep(0.005)
    process.send_signal(signal.SIGKILL)
    process.wait()
    assert len(hidden(place.parent)) == 1
    at_work = place.parent / f".bundle.new.{os.getpid()}.x"
    at_work.mkdir()
    design = design_of(home)
    write_bundle(place, design.plan, design.facts, findings=design.findings, accepted=design.job.accept)
    assert hidden(place.parent) == [at_work.name] and (place / "manifest.json").is_file()


def test_a_bundle_is_not_written_in_the_place_of_a_link(home, tmp_path):
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "bundle").symlink_to(tmp_path / "elsewhere")
    design = design_of(home)
    with pytest.raises(BundleError, match=f"^{tmp_path / 'bundle'} is a link; choose another folder, or take the link away$"):
        write_bundle(tmp_path / "bundle", design.plan, design.facts, findings=design.findings, accepted=design.job.accept)
