"""What each path of the page answers. No sockets here: a request in, a reply out.

    GET  /                    the page, or the form that asks for the passphrase
    GET  /log                 last events and counters
    GET  /news                news as they come (server-sent events)
    GET  /channel/KEY         what a channel does, as JSON; /sensor/KEY and /input/KEY the same
    POST /channel/KEY/ask     a request: as a form, or as JSON for programs
    POST /time                the time of a phone, while nobody else has told one
    POST /login, /logout      opens and ends a session
    POST /program             a new program, signed; nobody who is not signed is heard further
    GET  /.well-known/wot     the Thing Description, for everybody (W3C WoT Discovery, from memory)
"""

from .. import packed
from ..channel_requests import allowed, parsed
from ..records import channel_record, error_record, sensor_record
from ..reach import is_address
from ..host_names import NAMES, numbered
from . import web_page
from .login import LONGEST_S, Guard, form_token, is_same
from .requests import FORM, JSON, form

HTML, EVENTS, THING = "text/html; charset=utf-8", "text/event-stream", "application/td+json"
FOLDER = __file__.rpartition("/")[0] or "."        # of the files beside this module
FILES = {"/page.css": "text/css", "/page.js": "text/javascript"}
ALWAYS = ("Content-Security-Policy: default-src 'none'; style-src 'self'; script-src 'self'; connect-src 'self'; img-src data:; "
          "form-action 'self'; frame-ancestors 'none'; base-uri 'none'\r\n"
          "X-Content-Type-Options: nosniff\r\nReferrer-Policy: same-origin\r\nConnection: close\r\n")
EARLIEST, LATEST = 1_760_000_000, 4_294_967_296     # Unix times that a phone may tell: 2025 to 2106
HOME = "Location: /\r\n"
COOKIE = "Set-Cookie: {}={}; HttpOnly; SameSite=Strict; Path=/; Max-Age={}\r\n"
DEVICE_S = 31_536_000       # a device keeps its place for a year after it logged in last


def site_of(program, settings, thing, memory, announcements):
    """Return the site of a program as its settings say; `memory` as in `login.Guard`, `announcements` as in `renewing.renew`."""
    async def renew(request):
        from . import renewing          # costs memory; only for those who use it

        return await renewing.renew(request, program, settings["signing_key"], announcements)

    queue = program.queue
    guard = Guard(settings.get("passphrase"), lambda: queue.seconds, settings.get("read_only", False), memory=memory)
    return Site(queue, guard, settings["name"], FOLDER, thing, renew if settings.get("signing_key") else None)


class Reply:
    """`parts` is bytes or texts one after the other, `lines` what the head says beside, each line with its end.

    News follow, a stream, as long as `may_stay` returns true; it is None when none follow.
    """

    def __init__(self, status, kind="text/plain", parts=(), lines="", may_stay=None):
        self.status, self.kind, self.parts, self.lines = status, kind, parts, lines
        self.may_stay = may_stay

    @property
    def is_stream(self):
        return self.may_stay is not None


class Site:
    """The page of one queue.

    `name` is the controller's host name without `.local`, `guard` a `login.Guard`, `folder`
    where the page's files lie, `thing` the name of the file with the Thing Description. `renew`
    takes a request with a new program and returns a status and a text, None when there is no key.
    """

    def __init__(self, queue, guard, name, folder, thing=None, renew=None):
        self._queue, self._guard, self._folder, self._thing, self._renew = queue, guard, folder, thing, renew
        self._name = numbered(name)

    def is_known(self, request):
        """Return whether the sender of a request proves to be somebody who may ask, or a device that logged in before and may be about to again."""
        return self._guard.may_ask(request.cookie("session")) or self._guard.knows(request.cookie("device"))

    async def reply(self, request):
        """Return the reply to a request."""
        if not self._is_ours(request.fields.get("host", "")):
            return Reply(421, parts=("This is another host.",))     # a foreign name that was made to point here
        session = request.cookie("session")
        path = request.path.partition("?")[0]
        if request.method == "POST":
            if not self._is_from_here(request):
                return Reply(403, parts=("Another site may not ask in your name.",))
            if request.is_streamed and self._renew is not None:
                status, words = await self._renew(request)
                return Reply(status, parts=(words,))
            return await self._post(request, path, session)
        return self._get(request, path, session)

    def _get(self, request, path, session):
        queue = self._queue
        if path in FILES:
            return Reply(200, FILES[path], packed.parts(self._folder + path), "Cache-Control: max-age=3600\r\n")
        if path == "/.well-known/wot" and self._thing is not None:
            return Reply(200, THING, packed.parts(self._thing))
        if not self._guard.may_read(session):
            if path == "/":
                return Reply(200, HTML, web_page.login_page(queue, self._guard.wait(request.fields.get("peer"), request.cookie("device"))))
            return Reply(401, parts=("Open the page with the passphrase first.",))
        if path == "/":
            may_ask = self._guard.may_ask(session)
            return Reply(200, HTML, web_page.main_page(queue, session, may_ask, may_ask))
        if path == "/log":
            return Reply(200, HTML, web_page.log_page(queue))
        if path == "/news":
            return Reply(200, EVENTS, may_stay=lambda: self._guard.may_read(session))
        for base, keys, record in (("/channel/", queue.keys, channel_record),
                                   ("/sensor/", [sensor[0] for sensor in queue.sensors], sensor_record)):
            if path.startswith(base) and path[len(base):] in keys:
                return Reply(200, JSON, (record(queue, keys.index(path[len(base):])),))
        if queue.inputs and path.startswith("/input/") and path[7:] in queue.inputs.keys:
            return Reply(200, JSON, (queue.inputs.record(queue.inputs.keys.index(path[7:])),))
        return Reply(404, parts=("There is nothing here.",))

    async def _post(self, request, path, session):
        if path == "/login" and request.kind() == FORM:
            return await self._login(request)
        if not self._guard.may_ask(session):
            return Reply(401 if not self._guard.read_only else 403, JSON, (_refusal(request, "not allowed here"),))
        fields = form(request.body) if request.kind() == FORM else None
        if fields is not None and not is_same(fields.get("token", "").encode(), form_token(session).encode()):
            return Reply(403, parts=("This form is not from this page.",))
        if path == "/logout" and fields is not None:
            self._guard.leave(session)
            return Reply(303, lines=HOME + COOKIE.format("session", "", 0))
        if path == "/time" and request.kind() == JSON:
            return self._take_time(request.body)
        if path.startswith("/channel/") and path.endswith("/ask") and path[9:-4] in self._queue.keys:
            return self._ask(request, fields, self._queue.keys.index(path[9:-4]))
        return Reply(404, parts=("There is nothing here.",))

    async def _login(self, request):
        guard, peer, device = self._guard, request.fields.get("peer"), request.cookie("device")
        wait = guard.wait(peer, device)
        token = "" if wait else await guard.enter(form(request.body).get("passphrase", "").encode(), peer, device)
        if token:
            return Reply(303, lines=HOME + COOKIE.format("session", token, LONGEST_S) + COOKIE.format("device", guard.device(device), DEVICE_S))
        if not wait:
            self._queue.refused_login()
        return Reply(429 if wait else 403, HTML, web_page.login_page(self._queue, wait, True))

    def _take_time(self, said):
        """Take the Unix time a phone tells, unless it is known: a phone may be wrong, and then it is only told wrongly."""
        if self._queue.clock is None:
            try:
                now = int(said)
            except ValueError:
                now = 0
            if not EARLIEST <= now < LATEST:
                return Reply(400, parts=("That is no time.",))
            self._queue.tell_time(now)
        return Reply(204)

    def _ask(self, request, fields, channel):
        """Put a request into the queue. JSON cannot be sent by another site's form; a form carries the token."""
        if fields is None and request.kind() != JSON:
            return Reply(415, parts=("A request is a form or JSON.",))
        said = request.body if fields is None else fields.get("request", "").encode()
        found = parsed(said, self._queue.core)
        if found is not None and self._queue.request(channel, found[0], found[1]):
            return Reply(204) if fields is None else Reply(303, lines=HOME)
        reason = "not understood" if found is None else self._queue.reason
        if fields is not None:
            return Reply(409, HTML, web_page.notice_page(self._queue, "{}: {}.".format(self._queue.names[channel], reason)))
        return Reply(409, JSON, (error_record(request.path.encode(), said, reason, allowed(self._queue.tops[channel])),))

    def _is_ours(self, host):
        """Return whether a host is us: by address, or by a name that we may have when others have ours."""
        host = host.partition(":")[0].lower()
        stem, number = numbered(host[:-6] if host.endswith(".local") else host)
        return host == "localhost" or is_address(host) or (stem == self._name[0] and 0 <= number - self._name[1] < NAMES)

    def _is_from_here(self, request):
        """Return whether a browser says that its own page of ours sends this, or no browser does (RFC 6454)."""
        origin, site = request.fields.get("origin"), request.fields.get("sec-fetch-site")
        if site is not None and site not in ("same-origin", "none"):
            return False
        return origin is None or origin == "http://" + request.fields.get("host", "")


def _refusal(request, reason):
    return error_record(request.path.encode(), request.body, reason, "to read")
