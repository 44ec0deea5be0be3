"""First Wi-Fi: an access point of the controller's own, open for five minutes, asked for at a wall switch.

The switch must be a retractive one, held down from power-up on: a latching one may stand
closed after any power cut. The access point is locked with the passphrase of the label, and
the page behind it asks for it once more, so that a passer-by who guesses the moment gets
nothing. A page on an open network can be replaced by anybody's, so the access point is served only where the radio,
once it is on, says that it is locked; else the Wi-Fi is set over USB. Meanwhile the switch does its own job: a contact that stands closed at power-up is
learnt and not acted upon, and after it was let go each press acts as ever.
"""

import asyncio
import sys

from . import packed
from .http import login, web_page
from .http.requests import FORM, form
from .http.server import Server
from .http.site import FILES, FOLDER, HTML, Reply

HOLD_MS = 5000          # the switch is held so long, without letting go
OPEN_MS = 300_000       # then the access point is open so long

LOOK_MS = 50            # between two looks at the switch
ADDRESS = "0.0.0.0"
PORT = 80

WAITING, OPEN, OVER = range(3)

# How a port's driver is told WPA2 with a passphrase and AES. Sources, read: MicroPython `ports/esp32/network_wlan.c` (the
# number goes to ESP-IDF as it is: WIFI_AUTH_WPA2_PSK) and `extmod/network_cyw43.c` with cyw43-driver `src/cyw43_ll.c`
# (CYW43_AUTH_WPA2_AES_PSK; a 3 there is WEP and TKIP without any key exchange: an open network or none).
LOCKS = {"esp32": 3, "rp2": 0x00400004}
GET_VARIABLE = 0x20C            # CYW43_IOCTL_GET_VAR, `src/cyw43_ll.h`
CIPHERS, AES = 0x07, 0x04       # of the variable "wsec": WEP, TKIP, AES
EXCHANGES, WPA2 = 0x86, 0x80    # of the variable "wpa_auth": WPA without and with a passphrase, WPA2 with one


class Window:
    """When the access point is open. `advance` is told the switch again and again."""

    def __init__(self, is_closed_at_power_up):
        self.phase = WAITING if is_closed_at_power_up else OVER
        self._left = HOLD_MS

    def advance(self, elapsed, is_closed):
        """Let time pass [ms]; return whether the access point shall be open now."""
        if self.phase == WAITING and not is_closed:
            self.phase = OVER
        if self.phase == OVER:
            return False
        self._left -= elapsed
        if self._left <= 0:
            if self.phase == OPEN:
                self.phase = OVER
                return False
            self.phase, self._left = OPEN, OPEN_MS
        return self.phase == OPEN

    def close(self):
        """What was wanted is done."""
        self.phase = OVER


def fault_of(ssid, key):
    """Return what is wrong with a network's name and key, "" if nothing (IEEE 802.11, from memory)."""
    if not 1 <= len(ssid.encode()) <= 32:
        return "The name of the network must be 1 to 32 bytes, found {}.".format(len(ssid.encode()))
    if not 8 <= len(key) <= 63:
        return "The key must be 8 to 63 letters, found {}.".format(len(key))
    for letter in key:
        if not 32 <= ord(letter) < 127:
            return "The key may hold plain letters, digits and signs only."
    return ""


class SetupSite:
    """The one page behind the access point, served like `site.Site`. `save(ssid, key)` keeps what was entered."""

    def __init__(self, queue, guard, folder, save):
        self._queue, self._guard, self._folder, self._save = queue, guard, folder, save
        self.is_done = False

    def is_known(self, request):
        return False

    async def reply(self, request):
        """Return the reply to a request; whatever host it names, as phones try several to see where they are."""
        if request.path == "/page.css":
            return Reply(200, FILES[request.path], packed.parts(self._folder + request.path))
        if request.method != "POST":
            return Reply(200, HTML, self._form(""))
        if request.path != "/wifi" or request.kind() != FORM:
            return Reply(404, parts=("There is nothing here.",))
        fields = form(request.body)
        ssid, key = fields.get("ssid", ""), fields.get("key", "")
        fault = fault_of(ssid, key)
        if fault:
            return Reply(409, HTML, self._form(fault))
        wait = self._guard.wait()
        if wait:
            return Reply(429, HTML, self._form("Too many tries. Wait {} s, then try again.".format(wait)))
        session = await self._guard.enter(fields.get("passphrase", "").encode())
        if not session:
            self._queue.refused_login()
            return Reply(403, HTML, self._form("That is not the passphrase. It is on the label of the controller."))
        self._guard.leave(session)
        self._save(ssid, key)
        self.is_done = True
        return Reply(200, HTML, self._saved(ssid))

    def _form(self, fault):
        yield web_page.opening(self._queue.title) + "</header><main>"
        if fault:
            yield "<p role=alert>{}</p>".format(web_page.escaped(fault))
        yield '<form class=login method=post action="/wifi" autocomplete=off>'
        for name, kind, words in (("ssid", "text", "Name of the home's Wi-Fi"), ("key", "password", "Its key"),
                                  ("passphrase", "password", "Passphrase, from the label")):
            yield "<label for={0}>{2}</label><input id={0} name={0} type={1} maxlength=64 required>".format(name, kind, words)
        yield "<button>Join</button></form></main>"

    def _saved(self, ssid):
        yield web_page.opening(self._queue.title) + "</header><main><p role=status>Kept. The controller now joins {} and closes this access point.</p></main>".format(
            web_page.escaped(ssid))


def opened(radio, name, key, platform):
    """Open an access point of this name, locked with WPA2 and `key`; return whether the radio says so. If not, it is closed.

    `platform` is the interpreter's port. What cannot be asked is not locked.
    """
    try:
        given = {"ssid": name, "key": key, "security": LOCKS[platform]}
        try:
            radio.config(**given)
        except OSError:                 # where the driver takes nothing for a radio that is off
            radio.active(True)
            radio.config(**given)
        radio.active(True)
        if is_locked(radio, platform):
            return True
    except (OSError, ValueError, TypeError, AttributeError, KeyError):
        pass
    radio.active(False)
    return False


def is_locked(radio, platform):
    """Return whether a radio that is on says that its access point is locked with WPA2 and a passphrase.

    On ESP32 `config` asks the driver itself. On RP2040 and RP2350 it only repeats what was set; there the radio's
    chip is asked for the two variables that the driver wrote.
    """
    if radio.config("security") != LOCKS[platform]:
        return False
    return platform == "esp32" or (
        variable(radio, b"wsec") & CIPHERS == AES and variable(radio, b"wpa_auth") & EXCHANGES == WPA2)


def variable(radio, name):
    """Return a variable of the access point from the radio's chip. Without an answer it is what was asked, which no lock is."""
    answer = bytearray(b"bsscfg:" + name + b"\0\1\0\0\0")         # the access point is interface 1
    radio.ioctl(GET_VARIABLE, answer)
    return int.from_bytes(answer[:4], "little")


async def offer(queue, is_closed, radio, settings, save, port=PORT, platform=sys.platform):
    """See the window through: wait, open the access point and serve its page, close it again.

    `is_closed` returns whether the switch is held; it was at power-up. `settings` as in
    `service`, with `setup` the access point's key; `save(ssid, key)` keeps what was entered.
    Returns whether something was kept, None where the access point could not be locked.
    """
    window = Window(True)
    guard = login.Guard(settings["passphrase"], lambda: queue.seconds)
    place = SetupSite(queue, guard, FOLDER, save)
    serving = None
    told = 1000 * queue.seconds
    try:
        while window.phase != OVER:
            now = 1000 * queue.seconds
            is_open = window.advance(now - told, is_closed())
            told = now
            if is_open and serving is None:
                if not opened(radio, settings["name"], settings["setup"], platform):
                    return None
                serving = asyncio.create_task(Server(queue, lambda: place).run(ADDRESS, port))
            if place.is_done:
                await asyncio.sleep(2)          # the phone reads that it was kept
                window.close()
            await asyncio.sleep(LOOK_MS / 1000)
    finally:
        if serving is not None:
            serving.cancel()
            radio.active(False)
    return place.is_done
