"""The secrets of a job: made once, for their owner only, told to nobody. All of them are invented here."""

import os
import subprocess
from dataclasses import replace
from hashlib import pbkdf2_hmac

import pytest

from pattress.bundle import secrets
from pattress.bundle.errors import SecretsError
from pattress.bundle.passphrase import is_of
from pattress.bundle.secrets import Secrets


@pytest.fixture()
def job(tmp_path):
    return tmp_path / "home.toml"


def test_a_job_without_secrets_misses_them_all(job):
    assert secrets.load(job) == Secrets()
    assert Secrets().missing == (
        "passphrase", "record", "signing_key", "wifi_name", "wifi_password", "broker_user", "broker_password")


def test_passphrase_and_signing_key_are_made_once_and_lie_beside_the_job_for_its_owner_only(job):
    made = secrets.kept(job)
    assert secrets.place(job) == job.with_name("home.secrets.toml")
    assert os.stat(secrets.place(job)).st_mode & 0o777 == 0o600
    assert len(bytes.fromhex(made.signing_key)) == 32 and len(made.passphrase) == 19
    rounds, salt, key = made.record.split(":")
    assert pbkdf2_hmac("sha256", made.passphrase.encode(), bytes.fromhex(salt), int(rounds)).hex() == key
    assert made.missing == ("wifi_name", "wifi_password", "broker_user", "broker_password")
    before = secrets.place(job).read_bytes()
    assert secrets.kept(job) == secrets.load(job) == made and secrets.place(job).read_bytes() == before
    assert secrets.kept(job.with_name("other.toml")).signing_key != made.signing_key


def test_what_was_stored_comes_back_whatever_signs_it_holds(job):
    odd = Secrets(passphrase='a "b" \\ c', wifi_name="Café ☕", wifi_password="#=[\t]'''", sequence=7)
    secrets.store(job, odd)
    assert secrets.load(job) == odd


def test_a_new_passphrase_gets_a_new_record(job):
    made = secrets.kept(job)
    secrets.store(job, replace(made, passphrase=None))
    again = secrets.kept(job)
    assert again.passphrase != made.passphrase and again.record != made.record and again.signing_key == made.signing_key


def test_no_secret_is_in_its_printed_form():
    words = [f"secret-{number}" for number in range(7)]
    said = repr(Secrets(**dict(zip(Secrets().missing, words)), sequence=3))
    assert said == "Secrets(sequence=3)"


def test_a_file_that_others_may_read_is_refused(job):
    secrets.kept(job)
    secrets.place(job).chmod(0o640)
    with pytest.raises(SecretsError, match=r"home.secrets.toml can be read by others\n  allowed: by its owner only\n  change: chmod 600 "):
        secrets.load(job)


@pytest.mark.parametrize("content, says", [
    ('wifi_password = "hush', "home.secrets.toml cannot be read\n  allowed: the file as `pattress put` wrote it$"),
    ('passwort = "hush"', "there is no secret 'passwort' of this kind\n  allowed: passphrase, record,"),
    ("wifi_password = 7", "there is no secret 'wifi_password' of this kind"),
])
def test_a_file_that_cannot_be_understood_is_refused_without_repeating_it(job, content, says):
    secrets.place(job).write_text(content)
    secrets.place(job).chmod(0o600)
    with pytest.raises(SecretsError, match=says) as refused:
        secrets.load(job)
    assert "hush" not in str(refused.value) and refused.value.__cause__ is None


def test_a_file_that_git_would_take_along_is_told(job):
    secrets.kept(job)
    assert secrets.exposure(job) is None            # no work tree here
    subprocess.run(["git", "init", "--quiet", str(job.parent)], check=True)
    assert secrets.exposure(job) == (
        f"{secrets.place(job)} is not ignored by git here\n  change: add the line *.secrets.toml to .gitignore")
    (job.parent / ".gitignore").write_text("*.secrets.toml\n")
    assert secrets.exposure(job) is None


@pytest.mark.parametrize("chosen", ["password1234", "Pattress2026!", "correcthorse", "aaaaaaaaaaaaaaaaaaaaaaaa", "k7rm-2xqf", "qwertyuiopasdfgh"])
def test_a_passphrase_that_is_soon_guessed_is_refused_without_being_told(job, chosen):
    secrets.store(job, Secrets(passphrase=chosen))
    with pytest.raises(secrets.SecretsError) as refused:
        secrets.kept(job)
    assert str(refused.value).startswith(f"{secrets.place(job)}: passphrase is guessed within 10^") and chosen not in str(refused.value)
    assert "allowed: one that takes 10^14" in str(refused.value)


@pytest.mark.parametrize("chosen", ["plinth quarry voltage ember swan", "Tr0ub&vb9!kQz2xL"])
def test_a_passphrase_of_ones_own_that_takes_long_to_guess_is_kept(job, chosen):
    secrets.store(job, Secrets(passphrase=chosen))
    assert is_of(secrets.kept(job).record, chosen) and not is_of(secrets.kept(job).record, chosen + "x")


def test_a_passphrase_changed_by_hand_gets_a_record_of_its_own(job):
    """The old record once stayed: the label said one passphrase and the board took another."""
    made = secrets.kept(job)
    secrets.store(job, replace(made, passphrase="plinth quarry voltage ember swan"))
    assert is_of(secrets.kept(job).record, "plinth quarry voltage ember swan")
    secrets.store(job, replace(made, record="damaged"))
    assert is_of(secrets.kept(job).record, made.passphrase)
