"""What the board keeps beside every bundle to be reached: its name, the home's network, who may ask, which key signs.

They lie as `network.json` on the root of the board's flash (see `controller/network/service.py`),
are made from the job's secrets, and go to the board only.
"""

import json
import re
from typing import Any
from unicodedata import normalize

from pattress.bundle.secrets import Secrets
from pattress.controller.network.topics import is_name

LONGEST_NAME = 32
OTHERWISE = "controller"        # the name of a job whose title holds no plain letter


def name_of(title: str) -> str:
    """Return the controller's name in the home, as in its topics and NAME.local, from a job's title.

    Small letters, digits and hyphens; accents are dropped: "Café, 1st floor" is `cafe-1st-floor`.
    """
    plain = normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    words = re.sub(r"[^a-z0-9]+", "-", re.sub(r"\(.*?\)", "", plain)).strip("-")[:LONGEST_NAME].strip("-")
    return words if is_name(words) else OTHERWISE


def broker_of(written: str) -> dict[str, Any] | None:
    """Return host and port of a broker as the job file writes it, None for "none"."""
    if written == "none":
        return None
    host, _, port = written.partition(":")
    return {"host": host, "port": int(port or 1883)}


def network_settings(*, name: str, broker: str, secrets: Secrets, with_setup: bool = False) -> bytes:
    """Return the settings of one controller's network as its board reads them.

    `broker` is as in the job file. Without a Wi-Fi name there is no radio to wait for. `with_setup`:
    the board may open an access point, and for its key must know the passphrase itself.
    """
    reached = broker_of(broker)
    if reached is not None:
        reached |= {"user": secrets.broker_user, "password": secrets.broker_password, "authority": None}
    wifi = None if secrets.wifi_name is None else {"ssid": secrets.wifi_name, "key": secrets.wifi_password or ""}
    settings = {"name": name, "wifi": wifi, "broker": reached, "passphrase": secrets.record, "read_only": False,
                "signing_key": secrets.signing_key}
    if with_setup:
        settings["setup"] = secrets.passphrase
    return json.dumps(settings, ensure_ascii=False, separators=(",", ":")).encode()
