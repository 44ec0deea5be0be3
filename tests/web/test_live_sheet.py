"""The simulated room on the page: what is pressed there moves the real control program."""

from concurrent.futures import ThreadPoolExecutor
from contextlib import closing

import pytest

from pattress.web.program import live

from .reading import TELEPHONE, WIDE, complaints, fits
from .served_page import EXAMPLES, Serving


def begun(client):
    """Begin a run and return its address."""
    return client.post("/try", data={"do": "begin"}).url.path


def did(client, room, *lines):
    for line in lines:
        answer = client.post(room, data={"do": "act", "line": line})
        assert answer.status_code == 200, answer.text
    return answer.text


def test_a_switch_closes_its_relay_and_the_drawing_says_so(unchanged):
    _, client = unchanged
    room = begun(client)
    page = client.get(room).text
    assert 'aria-label="Pendant lamps: off; relay K1 open"' in page and 'aria-label="By the door, left: open"' in page
    page = did(client, room, "throw door")
    assert 'aria-label="Pendant lamps: on; relay K1 closed"' in page and 'aria-label="By the door, left: closed"' in page
    assert "Pendant lamps: on, asked by switch" in page


def test_power_wifi_remote_regulator_and_time(unchanged):
    _, client = unchanged
    room = begun(client)
    page = did(client, room, "turn wall 2")
    assert "Fan regulator: stands at step 2" in page and "Ceiling fan: step" in page
    assert "Bench light: on, asked by switch" in did(client, room, "tap bench")
    page = did(client, room, "cut power")
    assert "no power; the board is dark" in page and 'aria-label="Ceiling fan: off; K6 to K8 open"' in page
    page = did(client, room, "restore power", "wait 2000", "drop network")
    assert "power on; the control program runs; no Wi-Fi" in page
    page = did(client, room, "find network", "wait 10000", "ask machine on")
    assert "the network listens" in page and "Sewing-machine socket: on, asked by network" in page
    page = did(client, room, "button drawer.power")
    assert "Remote from the drawer: power" in page and "asked by remote" in page


def test_a_switch_that_is_held_and_pressed_twice_has_a_button_for_each(tmp_path):
    file, bench = tmp_path / "job.toml", 'does = ["toggle bench", "toggle machine"]'
    pressed = 'does = "toggle bench"\nheld = "toggle pendant"\ntwice = ["off bench", "on wall"]'
    file.write_text((EXAMPLES / "sewing-room" / "job.toml").read_text("utf-8").replace(bench, pressed), "utf-8")
    with Serving(file) as page, closing(page.client()) as client:
        room = begun(client)
        page = client.get(room).text
        assert [page.count(f'value="{knob} bench"') for knob in ("tap", "twice", "press")] == [1, 1, 1] and 'value="twice leaving"' not in page
        assert 'aria-label="Bench light: off' in did(client, room, "tap bench") and 'aria-label="Bench light: on' in did(client, room, "wait 300")
        assert 'aria-label="Bench light: off' in did(client, room, "twice bench")
        assert 'aria-label="Pendant lamps: on' in did(client, room, "wait 2000", "press bench", "wait 2000")
        assert 'aria-label="Pendant lamps: on' in did(client, room, "release bench", "wait 2000")


def test_two_browsers_have_runs_of_their_own_and_old_runs_go(unchanged):
    _, client = unchanged
    first, second = begun(client), begun(client)
    did(client, first, "throw door")
    assert 'aria-label="Pendant lamps: on; relay K1 closed"' in client.get(first).text
    assert 'aria-label="Pendant lamps: off; relay K1 open"' in client.get(second).text
    for _ in range(live.MOST_RUNS):
        begun(client)
    gone = client.get(first)
    assert gone.status_code == 404 and "This run is not kept any more. Begin another one." in gone.text


def test_a_run_is_bounded(unchanged, monkeypatch):
    _, client = unchanged
    monkeypatch.setattr(live, "MOST_STIMULI", 2)
    room = begun(client)
    did(client, room, "throw door", "wait 300")
    answer = client.post(room, data={"do": "act", "line": "throw door"})
    assert answer.status_code == 409 and "This run has had 2 actions, the most that are kept. Begin another one." in answer.text


def test_the_job_moves_on_and_the_run_says_so(served, client):
    room = begun(client)
    served.draft.write([(("load", "pendant", "name"), "Two lamps")])
    assert "The job has changed since this run began" in client.get(room).text


@pytest.mark.parametrize("line", [
    "", "throw", "throw nothing", "wait", "wait -1", "wait 99999999999999999999", "wait until", "tap", "tap door", "tap nothing", "press door",
    "turn wall 99", "button x", "ask pendant dance", "\x00", "throw door door", "x" * 5000, "wait ²", "cut", "cut cheese",
])
def test_a_line_that_means_nothing_is_refused_in_words(unchanged, line):
    _, client = unchanged
    room = begun(client)
    did(client, room, "wait 60000", "wait 60000")
    answer = client.post(room, data={"do": "act", "line": line})
    assert answer.status_code == 422 and "Try it" in answer.text
    assert client.post("/try", data={"do": "act", "line": line}).status_code == 422
    assert client.get("/try/nothing").status_code == 404


def test_many_posts_at_once_do_not_break_a_run(unchanged):
    _, client = unchanged
    room = begun(client)
    with ThreadPoolExecutor(8) as hands:
        answers = list(hands.map(lambda _: client.post(room, data={"do": "act", "line": "throw door"}).status_code, range(16)))
    assert set(answers) == {200}
    assert 'aria-label="By the door, left: open"' in client.get(room).text        # thrown an even number of times


@pytest.mark.parametrize(("width", "scheme"), [(WIDE, "light"), (TELEPHONE, "dark")])
def test_it_is_worked_in_a_browser_by_touch_and_by_keyboard(tab, width, scheme):
    here = tab("/try", width=width, color_scheme=scheme)
    here.page.get_by_role("button", name="Begin").click()
    here.page.locator('a.stands[href="#do-switch-door"]').click()
    here.page.locator('a.stands[aria-label="Pendant lamps: on; relay K1 closed"]').wait_for()
    assert complaints(here) == [] and fits(here)
    here.page.locator("#do-regulator-wall button", has_text="step 1").focus()
    here.page.keyboard.press("Enter")
    here.page.locator('a.stands[aria-label="Fan regulator: stands at step 1"]').wait_for()
    assert here.is_quiet(), here.complaints


def test_without_script_it_is_worked_by_its_buttons(tab):
    bare = tab("/try", java_script_enabled=False)
    bare.page.get_by_role("button", name="Begin").click()
    bare.page.locator("#do-switch-door button").click()
    assert "Pendant lamps: on, asked by switch" in bare.page.inner_text("#said")
