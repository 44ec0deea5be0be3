"""`pattress put` and `report` at a simulated board: what a person sees, and that no secret is anywhere but where it belongs.

The network, its key and the broker's password are invented.
"""

import hmac
import json
import shutil
import stat
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from threading import Thread

import pytest
from click.testing import CliRunner

from pattress.bench.link import Link
from pattress.bundle import secrets as store
from pattress.cli import main

from ..bench.board_on_pty import BoardOnPty, restarted_after
from ..controller.network import certificates

ROOT = Path(__file__).parents[2]
WIFI, KEY, USER, PASSWORD = "Home (invented)", "invented wifi key", "invented-user", "invented broker password"


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    """Return a runner of commands, a job beside its secrets, and the board it was put on with --wifi."""
    folder = tmp_path_factory.mktemp("desk")
    job = folder / "home.toml"
    text = (ROOT / "examples" / "sewing-room" / "job.toml").read_text("utf-8")
    assert text.count("[network]\n") == 1
    job.write_text(text.replace("[network]\n", '[network]\nname = "bench-7"\nbroker_authority = "home-ca.pem"\n'), "utf-8")
    shutil.copyfile(certificates.make(folder)["ca"], folder / "home-ca.pem")
    with BoardOnPty(folder) as board:
        def run(*words, typed=None):
            return CliRunner().invoke(main, [str(word) for word in words], input=typed)

        first = run("put", job, "--port", board.port, "--out", folder / "out", "--wifi", typed=f"short\nx\n{WIFI}\n{KEY}\n{USER}\n{PASSWORD}\n")
        run.job, run.out, run.board, run.first, run.told = job, folder / "out", board, first, board.said
        run.authority = (folder / "ca_der-localhost").read_bytes()
        yield run


def test_what_a_person_sees_of_a_board_that_got_everything(desk):
    assert desk.first.exit_code == 0, desk.first.output
    said = desk.first.stdout
    assert said.startswith("board: Simulated board with RP2040, micropython 1.")
    for words in (" copied on the board; ", "files as in the manifest: ", "not checked: pins, relays, wiring", ", slot a: on trial\n", "start: watchdog",
                  "On trial: it must run for 60 s without a restart, or the former program comes back by itself."):
        assert words in said
    assert "The key must be 8 to 63 letters, found 1." in desk.first.stderr
    assert f"kept in {store.place(desk.job)}, for its owner only" in desk.first.stderr


def test_the_board_got_the_secrets_and_the_store_keeps_them_for_its_owner(desk):
    kept = store.load(desk.job)
    assert (kept.wifi_name, kept.wifi_password, kept.broker_user, kept.broker_password) == (WIFI, KEY, USER, PASSWORD)
    assert stat.S_IMODE(store.place(desk.job).stat().st_mode) == 0o600
    with Link(desk.board.port) as link:
        settings = json.loads(link.run("print(open('/network.json').read())"))
        sequence = link.run("print(open('/sequence.0').read())")
        authority = link.run(f"import binascii; print(binascii.hexlify(open({settings['broker']['authority']!r}, 'rb').read()).decode())")
    assert settings["wifi"] == {"ssid": WIFI, "key": KEY} and (settings["name"], settings["time_server"]) == ("bench-7", "router")
    assert settings["broker"] == {"host": "192.168.1.10", "port": 8883, "user": USER, "password": PASSWORD, "authority": "/authority.der"}
    assert bytes.fromhex(authority.split()[0]) == desk.authority
    assert settings["passphrase"] == kept.record and settings["signing_key"] == kept.signing_key
    assert kept.passphrase not in json.dumps(settings)
    assert int(sequence.split()[0]) == kept.sequence


def test_no_secret_is_in_anything_that_is_printed_written_or_told(desk):
    kept = store.load(desk.job)
    dry = desk("put", desk.job, "--port", desk.board.port, "--out", desk.out, "--dry-run", "--json")
    asked, plain = desk("report", "--port", desk.board.port, "--json"), desk("report", "--port", desk.board.port)
    handed = desk("handover", desk.job, "--out", desk.out, "--json")
    assert handed.exit_code in (0, 1) and json.loads(handed.stdout)["files"]
    places = {str(path): path.read_bytes() for path in desk.out.rglob("*") if path.is_file()}
    places |= {"job": desk.job.read_bytes(), "first": (desk.first.output + desk.first.stderr).encode(), "the board's console": desk.told}
    places |= {name: (result.output + result.stderr).encode() for name, result in (("dry", dry), ("report", asked), ("plain", plain), ("pack", handed))}
    hidden = {name: getattr(kept, name).encode() for name in ("signing_key", "wifi_name", "wifi_password", "broker_user", "broker_password", "record")}
    hidden |= {"passphrase": kept.passphrase.encode(), "key of the record": kept.record.split(":")[2].encode()}
    assert len(places) > 40
    assert [(name, place) for place, content in places.items() for name, secret in hidden.items() if secret in content] == []
    assert WIFI.encode() in store.place(desk.job).read_bytes()      # the search can find


def test_a_dry_run_says_so_and_leaves_the_program(desk):
    with restarted_after(desk.board):
        found = desk("put", desk.job, "--port", desk.board.port, "--out", desk.out, "--dry-run")
    assert found.exit_code == 0 and "nothing was changed: 0 files sent, 0 bytes" in found.stdout.replace("1 files sent", "0 files sent")


def test_the_report_as_json_has_state_counts_and_events(desk):
    told = desk("report", "--port", desk.board.port, "--json")
    assert told.exit_code == 0, told.stderr
    found = json.loads(told.stdout)
    assert found["state"]["slot"] in "ab" and found["counts"]["start"] == "watchdog"
    assert {"longest loop turn [us]", "least free heap [B]", "moves", "starts", "watchdog resets"} <= set(found["counts"])
    assert found["events"][-1]["kind"] == "started"


def test_a_job_whose_wifi_nobody_said_is_told_so(desk, tmp_path):
    (tmp_path / "other.toml").write_text(desk.job.read_text("utf-8"), "utf-8")
    shutil.copyfile(desk.job.with_name("home-ca.pem"), tmp_path / "home-ca.pem")
    found = desk("put", tmp_path / "other.toml", "--port", "/dev/no-such-port", "--out", tmp_path / "out")
    assert found.stderr.startswith("no Wi-Fi is known here: --wifi asks for it; what was set at a wall switch stays\n")


def test_without_a_port_or_with_a_wrong_one_it_says_what_there_is(desk):
    found = desk("put", desk.job)
    assert found.exit_code == 2 and found.stderr.startswith("put was given neither --port nor --address\n  nearest: ")
    found = desk("put", desk.job, "--port", "/dev/no-such-port", "--out", desk.out)
    assert found.exit_code == 2 and "no interpreter answers at /dev/no-such-port: there is no such port\n  nearest: " in found.stderr


def test_over_the_network_it_needs_a_controller_there_and_no_port(desk):
    found = desk("put", desk.job, "--address", "127.0.0.1:1", "--wifi")
    assert found.exit_code == 2 and found.stderr == "--wifi was given with --address\n  allowed: --wifi with --port, over USB\n"
    found = desk("put", desk.job, "--address", "127.0.0.1:1", "--out", desk.out)
    assert found.exit_code == 2 and "the controller at 127.0.0.1:1 cannot be reached: " in found.stderr


class Taker(BaseHTTPRequestHandler):
    """Stands in for a controller's page service: keeps what is sent to /program, and takes it, or says with `status` that it does not."""

    protocol_version = "HTTP/1.1"       # then the library answers 100 to what is expected
    status = 200

    def handle_expect_100(self):
        return super().handle_expect_100() if self.status == 200 else self.send_error(self.status)

    def do_POST(self):
        if self.status != 200:
            return
        self.server.taken = (self.path, self.headers["Announcement"], self.rfile.read(int(self.headers["Content-Length"])))
        self.send_response(200)
        self.send_header("Connection", "close")
        self.end_headers()
        self.wfile.write(b"b 1")

    def log_message(self, *given):
        pass


def test_over_the_network_the_bundle_goes_signed_and_without_a_secret(desk):
    before = store.load(desk.job)
    with HTTPServer(("127.0.0.1", 0), Taker) as server:
        taking = Thread(target=server.handle_request)
        taking.start()
        found = desk("put", desk.job, "--address", f"127.0.0.1:{server.server_port}", "--out", desk.out)
        taking.join()
    assert found.exit_code == 0 and ", slot b: taken by 127.0.0.1:" in found.stdout
    path, announced, sent = server.taken
    said, _, signed = announced.rpartition(" ")
    assert path == "/program" and signed == hmac.new(bytes.fromhex(before.signing_key), said.encode(), "sha256").hexdigest()
    assert int(said.split()[2]) == store.load(desk.job).sequence > before.sequence
    for secret in (before.signing_key, before.passphrase, before.record, WIFI, KEY, USER, PASSWORD):
        assert secret.encode() not in announced.encode() + sent


@pytest.mark.parametrize("status, says", [
    (401, "it takes no program over the network: it has no key, or is no controller of this kind"),
    (417, "its program is older and takes a new one over USB only"), (503, "all its connections are in use, try again in a moment")])
def test_a_controller_that_does_not_let_it_go_on_is_told_in_words(desk, status, says):
    with HTTPServer(("127.0.0.1", 0), type("Refuser", (Taker,), {"status": status})) as server:
        taking = Thread(target=server.handle_request)
        taking.start()
        found = desk("put", desk.job, "--address", f"127.0.0.1:{server.server_port}", "--out", desk.out)
        taking.join()
    assert found.exit_code == 2
    assert found.stderr.endswith(f"the controller at 127.0.0.1:{server.server_port} refuses: {says}; the former program runs on\n")


def test_wifi_is_not_asked_for_a_job_without_a_radio(desk, tmp_path):
    job = tmp_path / "home.toml"
    text = (ROOT / "examples" / "sewing-room" / "job.toml").read_text("utf-8")
    job.write_text(text.replace('[network]\nbroker = "192.168.1.10"', '[network]\nwifi = false\nbroker = "none"'), "utf-8")
    found = desk("put", job, "--port", "/dev/no-such-port", "--out", tmp_path / "out", "--wifi")
    assert found.exit_code == 2 and f"{job} says network.wifi = false\n  allowed: " in found.stderr


def test_an_authority_that_is_missing_or_none_is_named_before_anything_is_asked(desk, tmp_path):
    job = tmp_path / "other.toml"
    job.write_text(desk.job.read_text("utf-8"), "utf-8")
    found = desk("put", job, "--port", "/dev/no-such-port", "--out", tmp_path / "out")
    assert found.exit_code == 2 and found.stderr.endswith(
        f"{job}: network.broker_authority is 'home-ca.pem', and {tmp_path / 'home-ca.pem'}: it is not there\n  allowed: the path of a certificate\n")
    (tmp_path / "home-ca.pem").write_text("no certificate", "utf-8")
    found = desk("put", job, "--port", "/dev/no-such-port", "--out", tmp_path / "out")
    assert found.exit_code == 2 and found.stderr.endswith(
        f"{tmp_path / 'home-ca.pem'} holds no certificate of an authority\n  allowed: one, in PEM or DER\n")
    assert not store.place(job).exists()
