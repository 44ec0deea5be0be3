"""A page that runs: its server in a thread over a real socket, and a browser tab that notes what it does."""

import socket
import threading
import time
from dataclasses import dataclass
from pathlib import Path

import httpx
import uvicorn

from pattress.web.access import Access
from pattress.web.application import application
from pattress.web.draft import Draft
from pattress.web.news import News
from pattress.web.serving import Server

EXAMPLES = Path(__file__).parents[2] / "examples"


@dataclass
class Page:
    """A served job: its file, draft, gate and news, and where it answers."""

    file: Path
    draft: Draft
    access: Access
    news: News
    root: str

    def client(self) -> httpx.Client:
        """Return a client with a session of its own that follows redirects."""
        client = httpx.Client(base_url=self.root, headers={"origin": self.root}, follow_redirects=True, timeout=30)
        assert client.get(self.access.address).status_code == 200
        return client


class Serving:
    """Serves a job file until it is left."""

    def __init__(self, file: Path, passphrase: str = "", host: str = "127.0.0.1"):
        self.file, self.passphrase, self.host = file, passphrase, host

    def __enter__(self) -> Page:
        listening = socket.create_server((self.host, 0))
        port = listening.getsockname()[1]
        draft, news = Draft(self.file), News()
        access = Access(application(draft, news), port=port, passphrase=self.passphrase)
        self.server = Server(uvicorn.Config(access, lifespan="on", log_level="error", timeout_graceful_shutdown=2), news)
        self.news = news
        self.thread = threading.Thread(target=self.server.run, args=([listening],), daemon=True)
        self.thread.start()
        until = time.monotonic() + 10
        while not self.server.started and time.monotonic() < until:
            time.sleep(0.01)
        assert self.server.started
        return Page(self.file, draft, access, news, f"http://{self.host}:{port}")

    def __exit__(self, *error) -> None:
        self.news.end()
        self.server.should_exit = True
        self.thread.join(10)
        assert not self.thread.is_alive()


class Tab:
    """A browser tab that notes what it asked of the network and what it complained about."""

    def __init__(self, context, served: Page):
        self.page = context.new_page()
        self.asked, self.complaints = [], []
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.on("console", lambda message: self.complaints.append(message.text) if message.type in ("error", "warning") else None)
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.root = served.root

    def is_quiet(self) -> bool:
        """Return whether nothing was complained about and nothing was asked of another machine."""
        return not self.complaints and all(url.startswith(self.root) for url in self.asked)
