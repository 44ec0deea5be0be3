"""What the board keeps beside every bundle to be reached: its name, the home's network, who may ask, which key signs.

They lie as `network.json` on the root of the board's flash (see `controller/network/service.py`),
are made from the job's secrets, and go to the board only.
"""

import json
import re
from pathlib import Path
from typing import Any
from unicodedata import normalize

from pattress.bundle.errors import BundleError
from pattress.bundle.secrets import Secrets
from pattress.controller.network.host_names import is_name
from pattress.incoming import FileRefusal, content_of

AUTHORITY = "authority.der"     # on the root of the board's flash
NOBODY = "none"                 # in the job file
LONGEST_NAME = 32
OTHERWISE = "controller"        # the name of a job whose title holds no plain letter


def name_of(title: str, given: str | None = None) -> str:
    """Return the controller's name in the home, as in its topics and NAME.local: the one given, else from a job's title.

    Small letters, digits and hyphens; accents are dropped: "Café, 1st floor" is `cafe-1st-floor`.
    """
    if given is not None:
        return given
    plain = normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    words = re.sub(r"[^a-z0-9]+", "-", re.sub(r"\(.*?\)", "", plain)).strip("-")[:LONGEST_NAME].strip("-")
    return words if is_name(words) else OTHERWISE


def broker_of(written: str, *, over_tls: bool = False) -> dict[str, Any] | None:
    """Return host and port of a broker as the job file writes it, None for "none"."""
    if written == NOBODY:
        return None
    host, _, port = written.partition(":")
    return {"host": host, "port": int(port or (8883 if over_tls else 1883))}


def authority_of(job: Path, named: str) -> bytes:
    """Return the certificate of an authority in DER from the file that a job names, beside it, in PEM or DER.

    Raises BundleError when there is no such file or no certificate in it.
    """
    import ssl  # costs time

    file = job.parent / named
    try:
        content = content_of(file, "a certificate")
    except FileRefusal as refusal:
        raise BundleError(f"{job}: network.broker_authority is {named!r}, and {refusal.at(file)}") from None
    try:
        content = ssl.PEM_cert_to_DER_cert(content.decode("ascii").strip())
    except ValueError:
        pass                            # DER already, or nothing of the kind
    try:
        ssl.create_default_context().load_verify_locations(cadata=content)
    except (ssl.SSLError, ValueError):
        raise BundleError(f"{file} holds no certificate of an authority\n  allowed: one, in PEM or DER") from None
    return content


def network_settings(
    *, name: str, broker: str, secrets: Secrets, time_server: str = NOBODY, over_tls: bool = False, with_setup: bool = False,
) -> bytes:
    """Return the settings of one controller's network as its board reads them.

    `broker` and `time_server` are as in the job file; `over_tls`: the certificate of the broker's authority
    lies on the board. Without a Wi-Fi name there is no radio to wait for. `with_setup`: the board may open an
    access point, and for its key must know the passphrase itself.
    """
    reached = broker_of(broker, over_tls=over_tls)
    if reached is not None:
        reached |= {"user": secrets.broker_user, "password": secrets.broker_password, "authority": f"/{AUTHORITY}" if over_tls else None}
    wifi = None if secrets.wifi_name is None else {"ssid": secrets.wifi_name, "key": secrets.wifi_password or ""}
    settings = {"name": name, "wifi": wifi, "broker": reached, "passphrase": secrets.record, "read_only": False,
                "time_server": None if time_server == NOBODY else time_server, "signing_key": secrets.signing_key}
    if with_setup:
        settings["setup"] = secrets.passphrase
    return json.dumps(settings, ensure_ascii=False, separators=(",", ":")).encode()
