"""Who is let in, and who is not: over a real socket, as a browser or a stranger would ask."""

import httpx
import pytest

from pattress.web.access import LARGEST_BODY, NO_HOST, NO_KEY, NO_ORIGIN, RULES, TOO_LARGE

from .served_page import EXAMPLES, Serving


def test_the_printed_address_works_once_and_leaves_no_key_behind(served):
    address = served.access.address
    with httpx.Client() as first:
        answer = first.get(address)
        assert answer.status_code == 303 and answer.headers["location"] == "/"
        cookie = answer.headers["set-cookie"].casefold()
        assert "httponly" in cookie and "samesite=strict" in cookie
        assert first.get(served.root).status_code == 200
        assert first.get(address).headers["location"] == "/"          # it is let in already: the key is only taken away
    second = httpx.get(address)
    assert second.status_code == 403 and second.text.strip() == NO_KEY
    assert httpx.get(served.access.address).status_code == 303          # the fresh one


@pytest.mark.parametrize("path", ["/", "/thing/load/pendant", "/news", "/static/page.js", "/nothing"])
def test_without_key_nothing_is_shown(served, path):
    answer = httpx.get(served.root + path)
    assert answer.status_code == 403 and answer.text.strip() == NO_KEY


@pytest.mark.parametrize("host", ["evil.example", "evil.example:80", "127.0.0.1:1", "", "127.0.0.1.evil.example", "192.168.1.10"])
def test_another_host_name_is_refused(served, client, host):
    if host.startswith("192"):
        host += served.root[served.root.rindex(":"):]
    answer = client.get("/", headers={"host": host})
    assert answer.status_code in (400, 421)
    if answer.status_code == 421:
        assert answer.text.strip() == NO_HOST


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "https://127.0.0.1", "http://127.0.0.1:1", None])
def test_a_post_from_elsewhere_is_refused(served, client, origin):
    before = served.file.read_bytes()
    client.headers.pop("origin")
    answer = client.post("/", data={"do": "undo"}, headers={"origin": origin} if origin else {})
    assert answer.status_code == 403 and answer.text.strip() == NO_ORIGIN
    assert served.file.read_bytes() == before


def test_a_huge_post_is_refused_with_and_without_its_length_told(served, client):
    body = b"x" * (LARGEST_BODY + 1)
    told = client.post("/", content=body, headers={"content-type": "application/x-www-form-urlencoded"})
    assert told.status_code == 413 and told.text.strip() == TOO_LARGE
    chunks = (body[at : at + 65536] for at in range(0, len(body), 65536))
    untold = client.post("/", content=chunks, headers={"content-type": "application/x-www-form-urlencoded"})
    assert untold.status_code == 413


def test_every_answer_forbids_what_is_not_ours(client):
    for path in ("/", "/nothing", "/static/page.css", "/static/page.js"):
        answer = client.get(path)
        for name, rule in RULES.items():
            assert answer.headers[name] == rule, path


@pytest.mark.parametrize("path", [
    "/static/../application.py", "/static/%2e%2e/application.py", "/static/..%2fapplication.py", "/static//etc/passwd",
    "/thing/../../etc/passwd", "/thing/load/..%2f..%2fjob.toml", "/thing/load/nothing", "/thing/nothing", "/thing/__class__/x",
])
def test_paths_that_lead_nowhere(client, path):
    answer = client.get(path)
    assert answer.status_code == 404
    assert "root:" not in answer.text and "import " not in answer.text


def test_a_key_in_an_address_with_two_slashes_leads_to_no_other_host(served):
    answer = httpx.get(served.access.address.replace("/?", "//evil.example/?"))
    assert answer.status_code == 303
    assert answer.headers["location"].startswith("/evil.example")


PASSPHRASE = "amber river stone"


def test_the_passphrase_lets_in_and_wrong_ones_have_to_wait(tmp_path):
    file = tmp_path / "job.toml"
    file.write_bytes((EXAMPLES / "sewing-room" / "job.toml").read_bytes())
    with Serving(file, PASSPHRASE) as page:
        now = [100.0]
        page.access.clock = lambda: now[0]
        with httpx.Client(base_url=page.root, headers={"origin": page.root}, follow_redirects=True) as phone:
            assert "six words" in phone.get("/").text
            for _ in range(5):
                assert phone.post("/enter", data={"passphrase": "wrong"}).status_code == 403
            held = phone.post("/enter", data={"passphrase": PASSPHRASE})
            assert held.status_code == 429 and "Wait 1 s" in held.text
            now[0] += 1.1
            assert "Sewing room" in phone.post("/enter", data={"passphrase": "  AMBER river  stone "}).text
            assert phone.get("/thing/load/pendant").status_code == 200


def test_without_a_passphrase_there_is_nothing_to_enter(served):
    assert httpx.get(served.root + "/enter").status_code == 403
