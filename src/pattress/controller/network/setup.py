"""First Wi-Fi: an access point of the controller's own, open for five minutes, asked for at a wall switch.

The switch must be a retractive one, held down from power-up on: a latching one may stand
closed after any power cut. The access point is locked with the passphrase of the label, and
the page behind it asks for it once more, so that a passer-by who guesses the moment gets
nothing. Meanwhile the switch does its own job: a contact that stands closed at power-up is
learnt and not acted upon, and after it was let go each press acts as ever.
"""

import asyncio

from . import packed, wifi
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


async def offer(queue, is_closed, radio, settings, save, port=PORT):
    """See the window through: wait, open the access point and serve its page, close it again.

    `is_closed` returns whether the switch is held; it was at power-up. `settings` as in
    `service`, with `setup` the access point's key; `save(ssid, key)` keeps what was entered.
    Returns whether something was kept.
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
                wifi.open_access_point(radio, settings["name"], settings["setup"])
                serving = asyncio.create_task(Server(queue, place).run(ADDRESS, port))
            if place.is_done:
                await asyncio.sleep(2)          # the phone reads that it was kept
                window.close()
            await asyncio.sleep(LOOK_MS / 1000)
    finally:
        if serving is not None:
            serving.cancel()
            wifi.close_access_point(radio)
    return place.is_done
