"""The sheets as a web application: each request becomes an `Asked`, each answer a printed template."""

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from importlib.resources import files
from typing import Any
from urllib.parse import quote, urlencode

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response, StreamingResponse
from starlette.routing import Route

from pattress.drawing import dark_rules
from pattress.errors import PattressError
from pattress.web.draft import Draft, WrittenMeanwhile
from pattress.web.layout import layout_of
from pattress.web.news import News
from pattress.web.sheet import Asked, Document, Go, NoSuchSheet, Sheet, Stay, Upload
from pattress.web.sheets import SHEETS
from pattress.web.templates import render

LOOK_EVERY = 0.3             # s between looks at the file
MOST_FIELDS, MOST_FILES, LARGEST_FIELD = 1000, 8, 1024 * 1024
SAID, LONGEST_SAID = "said", 800
OF_A_DOCUMENT = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; object-src 'self'; base-uri 'none'; frame-ancestors 'self'"
MEANWHILE = "The job file was written by somebody else in the meantime. It was read again; what you did was not done, and nothing of theirs is lost."
STYLE = "page.css"            # with the colours of drawings on a dark screen behind it
STATIC = {
    STYLE: "text/css", "sheets.css": "text/css", "icon.svg": "image/svg+xml",
    "page.js": "text/javascript", "pins.js": "text/javascript", "live.js": "text/javascript", "work.js": "text/javascript",
}


def application(draft: Draft, news: News, sheets: tuple[Sheet, ...] = SHEETS) -> Starlette:
    """Return the page of a draft, without its access middleware."""

    @asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        news.begin()
        watching = asyncio.create_task(_watch(draft, news))
        try:
            yield
        finally:
            watching.cancel()
            news.end()

    routes = [Route(sheet.path, _endpoint(sheet, draft, news), methods=["GET", "POST"]) for sheet in sheets]
    routes += [Route("/news", _stream(news, draft)), Route("/static/{name}", _static)]
    handlers: dict[Any, Any] = {HTTPException: _refused, Exception: _broken}     # each is called with its own kind of error only
    return Starlette(routes=routes, lifespan=lifespan, exception_handlers=handlers)


async def _watch(draft: Draft, news: News) -> None:
    """Look at the job file and its board file again and again, and tell all tabs when one has changed."""
    seen = None
    while True:
        stamps = await run_in_threadpool(lambda: draft.stamps)
        if stamps != seen or draft.trouble is not None:      # trouble may lie in a board file that only the text in trouble names
            seen = stamps
            try:
                if await run_in_threadpool(draft.look):
                    news.tell("change", {"state": draft.state})
            except PattressError:        # of the stock, on this text only: the next look tells
                pass
        await asyncio.sleep(LOOK_EVERY)


def _endpoint(sheet: Sheet, draft: Draft, news: News) -> Callable[[Request], Awaitable[Response]]:
    async def answer(request: Request) -> Response:
        asked = await _asked(request, draft, news)
        if request.method != "POST":
            return await run_in_threadpool(_show, sheet, asked)
        action = sheet.actions.get(asked.form.get("do", "").partition(":")[0])
        if action is None:
            raise HTTPException(422, "There is nothing of that name to be done here.")
        return await run_in_threadpool(_do, sheet, action, asked)

    return answer


def _show(sheet: Sheet, asked: Asked) -> Response:
    try:
        return _printed(sheet, asked, sheet.view(asked), asked.query.get(SAID, "")[:LONGEST_SAID], 200)
    except NoSuchSheet as error:
        raise HTTPException(404, str(error)) from None


def _do(sheet: Sheet, action: Callable[[Asked], Go | Stay], asked: Asked) -> Response:
    before = asked.draft.state
    try:
        done = action(asked)
    except WrittenMeanwhile:
        done = Go(_address(asked, sheet), MEANWHILE)
    except NoSuchSheet as error:
        raise HTTPException(404, str(error)) from None
    except PattressError as error:
        done = Stay(None, str(error))
    if asked.draft.state != before:
        asked.news.tell("change", {"state": asked.draft.state})
    if isinstance(done, Go):
        return RedirectResponse(done.to + (f"?{urlencode({SAID: done.said})}" if done.said else ""), 303)
    now = Asked(asked.draft, asked.draft.now, asked.news, asked.place, asked.query, asked.form, asked.uploads)
    try:
        context = sheet.view(now) if done.context is None else done.context
    except NoSuchSheet as error:
        raise HTTPException(404, str(error)) from None
    return _printed(sheet, now, context, done.said, done.status)


def _printed(sheet: Sheet, asked: Asked, context: Any, said: str, status: int) -> Response:
    if isinstance(context, Document):
        return _as_it_is(context)
    layout = layout_of(asked, _address(asked, sheet), said, _listed())
    return Response(render(sheet.template, layout=layout, sheet=context), status, media_type="text/html")


def _as_it_is(document: Document) -> Response:
    """Return a document of our own making: it brings its own style, and may neither run nor load anything."""
    placed = "attachment" if document.save else "inline"
    return Response(document.content, media_type=document.media, headers={
        "content-disposition": f"{placed}; filename*=utf-8''{quote(document.name)}", "content-security-policy": OF_A_DOCUMENT})


def _listed() -> tuple[tuple[str, str], ...]:
    return tuple((sheet.path, sheet.title) for sheet in SHEETS if sheet.title)


def _address(asked: Asked, sheet: Sheet) -> str:
    return quote(sheet.path.format(**asked.place)) if asked.place else sheet.path


async def _asked(request: Request, draft: Draft, news: News) -> Asked:
    form: dict[str, str] = {}
    uploads: dict[str, Upload] = {}
    if request.method == "POST":
        async with request.form(max_files=MOST_FILES, max_fields=MOST_FIELDS, max_part_size=LARGEST_FIELD) as posted:
            for name, value in posted.multi_items():
                if isinstance(value, UploadFile):
                    uploads[name] = Upload(value.filename or "", await value.read())
                else:
                    form[name] = value
    return Asked(draft, draft.now, news, dict(request.path_params), dict(request.query_params), form, uploads)


def _stream(news: News, draft: Draft) -> Callable[[Request], Awaitable[Response]]:
    async def answer(request: Request) -> Response:
        return StreamingResponse(news.stream(lambda: draft.state), media_type="text/event-stream")

    return answer


async def _static(request: Request) -> Response:
    name = request.path_params["name"]
    if name not in STATIC:
        raise HTTPException(404, "There is no such file.")
    content = files("pattress.web").joinpath("static", name).read_text("utf-8")
    return Response(content + dark_rules() if name == STYLE else content, media_type=STATIC[name])


async def _refused(request: Request, error: HTTPException) -> Response:
    return Response(render("refused.html", said=error.detail, status=error.status_code), error.status_code, media_type="text/html")


async def _broken(request: Request, error: Exception) -> Response:
    words = "Something went wrong inside the page; the job file is as it was. The terminal shows what."
    return Response(render("refused.html", said=words, status=500), 500, media_type="text/html")
