"""The secrets of one job: what opens its page, signs its bundles, and joins the home's network.

They lie in a file of their own beside the job file, readable by its owner only, and nowhere
else on the workbench: not in the job, a sheet, a bundle, a log or JSON. One exception is asked for:
the passphrase is printed on the label, which is what it is for.
"""

import os
import subprocess
from dataclasses import dataclass, field, fields, replace
from pathlib import Path
from secrets import token_hex

from pattress.atomic_write import write_atomically
from pattress.bundle.errors import SecretsError
from pattress.bundle.passphrase import is_of, new_passphrase, passphrase_record
from pattress.incoming import FileRefusal, text_of, toml_of

OWNER_ONLY = 0o600
KEY_BYTES = 32          # of the signing key: as long as what SHA-256 gives
HEAD = ("# Secrets of this job: give this file to nobody and keep it out of version control.\n"
        "# The passphrase is on the label of the controller; who has the signing key can put a program on it.\n\n")


@dataclass(frozen=True, kw_only=True)
class Secrets:
    """What one job keeps to itself; None where nobody has said or made it.

    `passphrase` opens the controller's page and its set-up access point; `record` is what the
    board keeps of it. `signing_key` is hexadecimal; `sequence` is the number of the last bundle
    that was signed with it, no secret, but it must rise. The rest is the home's network.
    """

    passphrase: str | None = field(default=None, repr=False)
    record: str | None = field(default=None, repr=False)
    signing_key: str | None = field(default=None, repr=False)
    sequence: int = 0
    wifi_name: str | None = field(default=None, repr=False)
    wifi_password: str | None = field(default=None, repr=False)
    broker_user: str | None = field(default=None, repr=False)
    broker_password: str | None = field(default=None, repr=False)

    def needed(self, name: str) -> str:
        """Return a secret that `kept` makes where it is missing. Raises SecretsError where it is not there."""
        found = getattr(self, name)
        if found is None:
            raise SecretsError(f"there is no {name.replace('_', ' ')} yet\n  allowed: the secrets of a job for which they were made")
        return str(found)

    @property
    def missing(self) -> tuple[str, ...]:
        """Return the names of what is not there yet."""
        return tuple(one.name for one in fields(self) if getattr(self, one.name) is None)


def place(job: Path) -> Path:
    """Return where the secrets of a job file lie: `home.toml` has `home.secrets.toml` beside it."""
    return job.with_name(f"{job.stem}.secrets.toml")


def load(job: Path) -> Secrets:
    """Return the secrets of a job file, all of them None when there are none yet.

    Raises SecretsError when others may read the file or it cannot be understood; the text never
    repeats what is in it.
    """
    file = place(job)
    try:
        if os.name == "posix" and file.stat().st_mode & 0o077:
            raise SecretsError(f"{file} can be read by others\n  allowed: by its owner only\n  change: chmod 600 {file}")
        read = toml_of(text_of(file, "a file of secrets"))
    except FileNotFoundError:
        return Secrets()
    except (OSError, FileRefusal):
        raise SecretsError(f"{file} cannot be read\n  allowed: the file as `pattress put` wrote it") from None     # the cause may quote a secret
    kinds = {one.name: int if one.name == "sequence" else str for one in fields(Secrets)}
    for name, value in read.items():
        if name not in kinds or not isinstance(value, kinds[name]):
            raise SecretsError(f"{file}: there is no secret {name!r} of this kind\n  allowed: {', '.join(kinds)}")
    return Secrets(**read)


def store(job: Path, secrets: Secrets) -> Path:
    """Write the secrets of a job file, whole or not at all, for its owner only; return the place."""
    import tomlkit  # costs time

    content = {one.name: getattr(secrets, one.name) for one in fields(secrets)}
    written = tomlkit.dumps({name: value for name, value in content.items() if value is not None})
    write_atomically(place(job), HEAD + written, mode=OWNER_ONLY)
    return place(job)


def kept(job: Path) -> Secrets:
    """Return the secrets of a job, with passphrase and signing key, which are made and stored when there are none."""
    found = load(job)
    whole = completed(found, job)
    if whole != found:
        store(job, whole)
    return whole


def completed(secrets: Secrets, job: Path) -> Secrets:
    """Return the secrets of a job with passphrase and signing key, made where there are none; nothing is stored.

    A passphrase that a person has changed gets a record anew. Raises SecretsError when it is too short, too long or soon guessed.
    """
    passphrase = secrets.passphrase
    if passphrase is None:
        passphrase = new_passphrase()
        secrets = replace(secrets, passphrase=passphrase, record=None)
    if secrets.record is None or not _is_record_of(secrets.record, passphrase):
        try:
            secrets = replace(secrets, record=passphrase_record(passphrase))
        except ValueError as error:
            raise SecretsError(f"{place(job)}: {error}") from None
    if secrets.signing_key is None:
        secrets = replace(secrets, signing_key=token_hex(KEY_BYTES))
    return secrets


def _is_record_of(record: str, passphrase: str) -> bool:
    try:
        return is_of(record, passphrase)
    except ValueError:                  # not a record at all
        return False


def exposure(job: Path) -> str | None:
    """Return a warning when version control would take the secrets of a job along, None when not."""
    file = place(job)
    try:
        answer = subprocess.run(["git", "check-ignore", "--quiet", file.name], cwd=file.parent, capture_output=True, check=False)
    except OSError:
        return None                     # no git here, so no git takes it
    if answer.returncode != 1:          # 0: ignored, 128: no work tree
        return None
    return f"{file} is not ignored by git here\n  change: add the line *.secrets.toml to .gitignore"
