"""The page in a real browser: live, quiet, on a desk and on a phone, by keyboard, in light and dark, without script."""

import time

import pytest
from axe_playwright_python.sync_playwright import Axe

from pattress.handover.things import things_of

from .reading import cut_words
from .served_page import EXAMPLES

SHEETS = ["/", "/thing/load/pendant", "/thing/fan/ceiling", "/thing/remote/drawer", "/thing/board", "/add/load", "/what-if", "/nothing"]


def type_into(page, name, text):
    page.fill(f'[name="{name}"]', text)
    page.press(f'[name="{name}"]', "Tab")


@pytest.mark.parametrize("width, colours", [(360, "light"), (1200, "dark")])
def test_every_sheet_fits_is_quiet_and_accessible(tab, width, colours):
    found = tab(width=width, color_scheme=colours)
    for path in SHEETS:
        found.page.goto(found.root + path)
        assert found.page.evaluate("document.documentElement.scrollWidth") <= width, path
        results = Axe().run(found.page, options={"resultTypes": ["violations"]})
        assert results.violations_count == 0, f"{path}\n{results.generate_report()}"
    found.complaints = [words for words in found.complaints if "404" not in words]       # the sheet that is not there
    assert found.is_quiet(), (found.complaints, found.asked)


def test_a_typed_power_is_on_the_screen_reckoned_anew(tab, served):
    found = tab("/thing/load/pendant")
    figures = found.page.locator("#finding-contacts\\.pendant .figures")
    before = figures.inner_text()
    type_into(found.page, "load/pendant/power", "11 W")
    found.page.wait_for_function("before => document.querySelector('#finding-contacts\\\\.pendant .figures').innerText !== before", arg=before, timeout=20_000)
    assert served.draft.now.design.job.load["pendant"].power == 11.0
    assert found.page.input_value('[name="load/pendant/power"]') == "11 W"
    assert found.is_quiet()


def test_an_edit_is_answered_within_two_seconds(tab, served):
    """The house promises 0.2 s, which `make benchmark` prints; a busy machine gets ten times that."""
    found = tab("/thing/load/pendant")
    taken = []
    for power in (11, 12, 13):
        start = time.perf_counter()
        type_into(found.page, "load/pendant/power", f"{power} W")
        found.page.wait_for_function(f"() => document.querySelector('#room').innerText.includes('4 x {power} W')")
        taken.append(time.perf_counter() - start)
    assert min(taken) < 2.0, taken


def test_an_error_shows_at_its_field_and_stays_while_others_edit(tab, served):
    found = tab("/thing/load/pendant")
    type_into(found.page, "load/pendant/power", "11 kg")
    found.page.wait_for_selector(".error")
    assert "load.pendant.power is '11 kg', a mass" in found.page.inner_text(".error")
    served.file.write_text(served.file.read_text().replace('name = "Wall lights"', 'name = "Wall lamps"'))
    found.page.wait_for_function("() => document.querySelector('#room').innerText.includes('Wall lamps')")
    assert found.page.input_value('[name="load/pendant/power"]') == "11 kg"


def test_the_other_tab_follows_and_keeps_what_was_being_typed(tab, served):
    one, other = tab("/thing/load/pendant"), tab("/thing/load/pendant")
    other.page.fill('[name="load/pendant/power"]', "12 W")
    type_into(one.page, "load/pendant/power", "11 W")
    other.page.wait_for_function("() => document.querySelector('#room').innerText.includes('4 x 11 W')")
    assert other.page.input_value('[name="load/pendant/power"]') == "12 W"
    assert "now says 11 W. You typed 12 W." in other.page.inner_text("#asked")
    assert one.is_quiet() and other.is_quiet(), (one.complaints, other.complaints)


def test_what_is_half_typed_is_not_posted_when_the_page_follows_another(tab, served):
    one, other = tab("/thing/load/bench"), tab("/thing/load/pendant")
    other.page.focus('[name="load/pendant/power"]')
    other.page.keyboard.press("End")
    other.page.keyboard.type("x")
    posts = []
    other.page.on("request", lambda request: posts.append(request.url) if request.method == "POST" else None)
    type_into(one.page, "load/bench/power", "60 W")
    other.page.wait_for_function("() => document.querySelector('#room').innerText.includes('60 W')")
    other.page.keyboard.type("y")
    assert other.page.input_value('[name="load/pendant/power"]') == "9 Wxy"
    assert posts == [] and other.is_quiet()


def test_a_file_written_in_an_editor_shows_at_once_and_a_broken_one_says_where(tab, served):
    found = tab("/thing/load/pendant")
    good = served.file.read_text()
    served.file.write_text(good.replace('power = "9 W"', 'power = "19 W"'))
    found.page.wait_for_function("() => document.querySelector('#room').innerText.includes('4 x 19 W')")
    broken = good.replace('power = "9 W"', "power = 9 W")
    served.file.write_text(broken)
    found.page.wait_for_function("() => document.querySelector('.trouble')?.innerText.includes('text without quotes')")      # and not the file half written
    line = broken.split("\n").index('power = 9 W                    # of one lamp') + 1
    assert f"job.toml:{line}:9: text without quotes: 9 W" in found.page.inner_text(".trouble")
    assert "4 x 19 W" in found.page.inner_text("#room")          # the last good one
    type_into(found.page, "load/pendant/power", "20 W")
    found.page.wait_for_function("() => document.querySelector('#said').innerText.includes('Nothing was written')")
    assert served.file.read_text() == broken
    assert found.page.input_value('[name="load/pendant/power"]') == "20 W"
    served.file.write_text(good)
    found.page.wait_for_selector(".trouble", state="detached")
    assert "4 x 9 W" in found.page.inner_text("#room")


def test_a_session_that_is_gone_is_told_and_what_was_typed_stays(tab, served):
    found = tab("/thing/load/pendant")
    served.access.sessions.clear()
    type_into(found.page, "load/pendant/power", "11 W")
    found.page.wait_for_function("() => document.querySelector('#said').innerText.includes('its key is missing')")
    assert found.page.input_value('[name="load/pendant/power"]') == "11 W"


def test_a_thing_taken_away_in_another_tab_is_told(tab, served):
    found = tab("/thing/wish/iron")
    served.file.write_text(served.file.read_text().replace('[wish.iron]\nsays = "after a power cut ironing stays off"\n', ""))
    found.page.wait_for_function("() => document.querySelector('#said').innerText.includes('This job has no wish iron.')")


def test_by_keyboard_alone(tab, served):
    found = tab("/")
    found.page.keyboard.press("Tab")
    assert found.page.evaluate("document.activeElement.className") == "skip"
    for _ in range(60):
        found.page.keyboard.press("Tab")
        if "/thing/load/pendant" in (found.page.evaluate("document.activeElement.getAttribute('href')") or ""):
            break
    found.page.keyboard.press("Enter")
    found.page.wait_for_selector('[name="load/pendant/power"]')
    found.page.focus('[name="load/pendant/power"]')
    found.page.keyboard.press("Control+A")
    found.page.keyboard.type("11 W")
    found.page.keyboard.press("Enter")
    found.page.wait_for_function("() => document.querySelector('#room').innerText.includes('4 x 11 W')")
    assert found.page.evaluate("document.activeElement.name") == "load/pendant/power"


def test_back_and_forth_in_the_browser(tab):
    found = tab("/")
    found.page.click('.feed a[href^="/thing/load/bench"]')
    found.page.wait_for_function("() => document.querySelector('#sheet h2')?.innerText === 'Bench light'")
    found.page.click('.wall a[href^="/thing/switch/bench"]')
    found.page.wait_for_function("() => document.querySelector('#sheet h2')?.innerText === 'At the bench'")
    found.page.go_back()
    found.page.wait_for_function("() => document.querySelector('#sheet h2')?.innerText === 'Bench light'")
    assert found.page.url.endswith("/thing/load/bench")


def test_without_script(tab, served):
    found = tab("/thing/load/pendant", java_script_enabled=False)
    found.page.fill('[name="load/pendant/power"]', "11 W")
    found.page.click('button:has-text("Write into")')
    assert "4 x 11 W" in found.page.inner_text("#room")
    found.page.click('#head button:has-text("Undo")')
    assert "4 x 9 W" in found.page.inner_text("#room")
    found.page.click('.feed a[href^="/thing/load/bench"]')
    assert found.page.inner_text("#sheet h2") == "Bench light"


def test_the_mark_of_a_chosen_gang_leaves_the_words_of_the_next_alone(tab):
    page = tab("/thing/switch/door").page
    marked = page.eval_on_selector_all(".wall a[aria-current] > rect", "all => all.map(one => getComputedStyle(one).fill)")
    assert len(marked) >= 3 and set(marked) == {page.evaluate(
        "(() => { const p = document.createElement('p'); p.style.color = 'var(--chosen)'; document.body.append(p); return getComputedStyle(p).color })()")}
    covered = page.evaluate("""() => {
        const chosen = [...document.querySelectorAll('.wall a[aria-current]')], tints = chosen.flatMap(a => [...a.querySelectorAll(':scope > rect')]);
        const grown = chosen.map(a => { const s = getComputedStyle(a); return s.outlineStyle === 'none' ? 0 : parseFloat(s.outlineWidth) + parseFloat(s.outlineOffset) });
        const air = Math.max(...grown), boxes = tints.map(r => r.getBoundingClientRect());
        return [...document.querySelectorAll('.wall text')].filter(t => !t.closest('a[aria-current]')).filter(t => { const b = t.getBoundingClientRect();
            const cut = b.height / 8;     // a line of text stands higher than its letters
            return boxes.some(r => b.left < r.right + air && b.right > r.left - air && b.top + cut < r.bottom + air && b.bottom - cut > r.top - air) }).map(t => t.textContent) }""")
    assert covered == []


def test_touch_targets_on_a_phone_are_large(tab):
    found = tab("/thing/load/pendant", width=360)
    small = found.page.eval_on_selector_all(
        "main button:not(.first), main input:not([type=hidden]), main select, .room .thing, summary",
        "all => all.map(one => [one.getBoundingClientRect().height, one.outerHTML.slice(0, 80)]).filter(([high]) => high && high < 40)")
    assert small == []


LETTERS = """() => [...document.querySelectorAll('.wall svg')].map(svg => {
    const scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width, whole = svg.getBoundingClientRect();
    const texts = [...svg.querySelectorAll('text')].map(t => [t.getBoundingClientRect(), parseFloat(getComputedStyle(t).fontSize) * scale, t.textContent]);
    const inside = ([b]) => b.left >= whole.left && b.right <= whole.right && b.top >= whole.top && b.bottom <= whole.bottom;
    const meet = (a, b, cut) => a.left < b.right && b.left < a.right && a.top + cut < b.bottom - cut && b.top + cut < a.bottom - cut;
    return { least: Math.min(...texts.map(([, size]) => size)), words: texts.map(([, , words]) => words).join(' '), cut: texts.filter(one => !inside(one)).map(one => one[2]),
             over: texts.flatMap(([a, size, one], n) => texts.slice(n + 1).filter(([b]) => meet(a, b, size / 8)).map(other => one + ' / ' + other[2])),
             beside: svg.getBoundingClientRect().width - svg.parentElement.clientWidth } })"""


@pytest.mark.parametrize("width", [360, 768, 1200])
@pytest.mark.parametrize("job", ["sewing-room", "landing", "garden-workshop"])
def test_the_words_on_the_walls_can_be_read(tab, served, job, width):
    """Twelve pixels are the least that is read on a screen (common practice, no source). Where there is no room for that, the drawing scrolls."""
    served.draft.replace((EXAMPLES / job / "job.toml").read_text("utf-8"))
    walls = tab("/", width=width).page.evaluate(LETTERS)
    design = served.draft.now.design
    assert len(walls) >= len(design.job.wall) >= 2
    for wall in walls:
        assert wall["least"] >= 12 and wall["over"] == [] and wall["cut"] == [], wall
        assert width < 1200 or wall["beside"] <= 24, wall
    said = " ".join(wall["words"] for wall in walls)
    for thing in things_of(design):
        assert all(word in said for word in (*thing.name.split(), *thing.words.split())), thing


def test_no_line_begins_within_a_quantity(tab):
    """A line that begins with "kW" makes one look twice."""
    for width in (360, 768, 1200):
        page = tab("/", width=width).page
        pieces = page.eval_on_selector_all(".thing .whole", "all => all.map(one => [one.textContent, one.getClientRects().length])")
        assert "4 x 9 W" in dict(pieces) and "2.2 kW" in dict(pieces) and {lines for _, lines in pieces} == {1}, width


def test_no_word_of_the_page_is_cut(tab, served):
    for job, paths in (("sewing-room", ("/", "/thing/feed/lights", "/thing/supply", "/thing/fan/ceiling", "/thing/remote/drawer", "/pins", "/pins/wire/switch.door_right",
                                        "/fan/ceiling/closer", "/names", "/what-if?key-1=supply.fault_current&text-1=9+kA")), ("landing", ("/", "/pins", "/names"))):
        served.draft.replace((EXAMPLES / job / "job.toml").read_text("utf-8"))
        found = tab("/")
        for path in paths:
            found.page.goto(found.root + path)
            found.page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true })")
            for width in (360, 768, 1200):
                found.page.set_viewport_size({"width": width, "height": 900})
                assert cut_words(found.page) == [], (path, width)
                assert found.page.evaluate("document.documentElement.scrollWidth") <= width, (path, width)
