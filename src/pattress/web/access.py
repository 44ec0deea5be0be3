"""Who may talk to the page: host, origin, session, size; and what a browser may do with an answer.

The address that is printed carries a key that works once: it becomes a session cookie, and a
redirect takes it out of the address. In a local network a passphrase does the same for any
number of devices. Requests for another host name (a name that was pointed at this machine) and
posts from pages of another origin are refused.
"""

from collections.abc import Callable
from hmac import compare_digest
from http.cookies import CookieError, SimpleCookie
from ipaddress import ip_address
from secrets import token_urlsafe
from time import monotonic
from urllib.parse import parse_qs, quote, urlencode

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

KEY, PASSPHRASE = "key", "passphrase"
LARGEST_BODY = 1024 * 1024           # bytes of a post, uploads with it
MOST_SESSIONS = 64
PATIENCE, LONGEST_WAIT = 5, 60.0     # wrong passphrases before a wait, which doubles from 1 s to this [s]
ENTRY = "/enter"
OPEN_TO_ALL = (ENTRY, "/static/page.css", "/static/icon.svg")

RULES = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; form-action 'self'; "
        "base-uri 'none'; frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
}

NO_HOST = "This page answers only under the address that the terminal printed."
NO_ORIGIN = "This came from another page, and only this page may change the job."
NO_KEY = "This address has been used, or its key is missing. The terminal prints a fresh address each time one is used."
TOO_LARGE = f"That is more than this page takes: at most {LARGEST_BODY // 1024} KiB at a time."


class Access:
    """ASGI middleware before everything else.

    `names` are the host names that stand for this machine beside its loopback addresses; with a
    `passphrase` numeric addresses are taken too. `tell` is called with each fresh address.
    """

    def __init__(self, app: ASGIApp, *, port: int, passphrase: str = "", names: tuple[str, ...] = (),
                 tell: Callable[[str], None] = lambda address: None, clock: Callable[[], float] = monotonic):
        self.app, self.port, self.names = app, port, names
        self.passphrase, self.tell, self.clock = passphrase, tell, clock
        self.cookie = f"pattress-{port}"       # cookies do not tell ports apart
        self.key = token_urlsafe(24)
        self.sessions: list[str] = []
        self.wrong, self.closed_until = 0, 0.0

    @property
    def address(self) -> str:
        """Return the address to open next; its key works once."""
        return f"http://127.0.0.1:{self.port}/?{urlencode({KEY: self.key})}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        answer, size = self._refusal(scope), 0

        async def measured() -> Message:
            nonlocal size
            message = await receive()
            size += len(message.get("body", b""))
            if size > LARGEST_BODY:
                raise HTTPException(413, TOO_LARGE)
            return message

        async def with_rules(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, rule in RULES.items():
                    headers.setdefault(name, rule)        # a document that is shown as it is has stricter ones
            await send(message)

        if answer is None and scope["path"] == ENTRY:
            try:
                answer = await self._enter(Request(scope, measured))
            except HTTPException as error:
                answer = _plain(error.detail, error.status_code)
        await (answer or self.app)(scope, measured, with_rules)

    def _refusal(self, scope: Scope) -> Response | None:
        """Return the answer to a request that goes no further, None to one that may."""
        headers = Headers(scope=scope)
        if not self._is_ours(headers.get("host", "")):
            return _plain(NO_HOST, 421)
        if int(headers.get("content-length", "0") if headers.get("content-length", "0").isdecimal() else "0") > LARGEST_BODY:
            return _plain(TOO_LARGE, 413)
        if scope["method"] not in ("GET", "HEAD") and headers.get("origin") != f"http://{headers['host']}":
            return _plain(NO_ORIGIN, 403)
        if headers.get("sec-fetch-site", "none") == "cross-site" and headers.get("sec-fetch-mode") != "navigate":
            return _plain(NO_ORIGIN, 403)
        if scope["path"] in OPEN_TO_ALL:
            return None
        query = parse_qs(scope["query_string"].decode("latin-1"), keep_blank_values=True)
        if self._has_session(headers):
            return RedirectResponse(_without_key(scope, query), 303) if KEY in query else None
        if KEY in query and compare_digest(query[KEY][0].encode(), self.key.encode()):
            self.key = token_urlsafe(24)
            self.tell(self.address)
            return self._let_in(_without_key(scope, query))
        if self.passphrase and scope["method"] == "GET":
            return RedirectResponse(ENTRY, 303)
        return _plain(NO_KEY, 403)

    def _is_ours(self, host: str) -> bool:
        name, _, port = host.rpartition(":")
        if not name or port != str(self.port):
            return False
        if name.casefold() in ("localhost", *self.names):
            return True
        try:
            address = ip_address(name.strip("[]"))
        except ValueError:
            return False
        return address.is_loopback or bool(self.passphrase)

    def _has_session(self, headers: Headers) -> bool:
        try:
            found = SimpleCookie(headers.get("cookie", "")).get(self.cookie)
        except CookieError:
            return False
        return found is not None and any(compare_digest(found.value.encode(), session.encode()) for session in self.sessions)

    def _let_in(self, target: str) -> Response:
        session = token_urlsafe(32)
        self.sessions = [*self.sessions, session][-MOST_SESSIONS:]
        answer = RedirectResponse(target, 303)
        answer.set_cookie(self.cookie, session, httponly=True, samesite="strict")
        return answer

    async def _enter(self, request: Request) -> Response:
        """Answer the sheet that asks for the passphrase."""
        if not self.passphrase:
            return _plain(NO_KEY, 403)
        if request.method != "POST":
            return _entry("")
        left = self.closed_until - self.clock()
        if left > 0:
            return _entry(f"Too many wrong passphrases. Wait {left:.0f} s.", 429)
        typed = " ".join((await _field(request, PASSPHRASE)).split()).casefold()
        if compare_digest(typed.encode(), self.passphrase.encode()):
            self.wrong = 0
            return self._let_in("/")
        self.wrong += 1
        if self.wrong >= PATIENCE:
            self.closed_until = self.clock() + min(LONGEST_WAIT, 2.0 ** (self.wrong - PATIENCE))
        return _entry("That is not the passphrase that the terminal printed.", 403)


async def _field(request: Request, name: str) -> str:
    body = (await request.body()).decode("utf-8", "replace")
    return parse_qs(body).get(name, [""])[0]


def _without_key(scope: Scope, query: dict[str, list[str]]) -> str:
    rest = urlencode([(name, value) for name, values in query.items() if name != KEY for value in values])
    path = "/" + quote(scope["path"].lstrip("/"))        # never "//other.host"
    return f"{path}?{rest}" if rest else path


def _plain(words: str, status: int) -> Response:
    return Response(f"{words}\n", status, media_type="text/plain")


def _entry(trouble: str, status: int = 200) -> Response:
    from pattress.web.templates import render

    return Response(render("enter.html", trouble=trouble), status, media_type="text/html")
