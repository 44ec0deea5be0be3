"""By keyboard alone: whatever one does, the focus is somewhere one can go on from, and where one would look for it."""

import pytest

FOCUS = """() => { const one = document.activeElement;
    return one === document.body ? "nowhere" : one.getAttribute("aria-label") || one.id || one.textContent.trim() }"""


class Walk:
    """A tab that is worked by keys only."""

    def __init__(self, found):
        self.page, self.root = found.page, found.root

    def go(self, path):
        self.page.goto(self.root + path)
        return self

    def tab_to(self, selector):
        for _ in range(400):
            self.page.keyboard.press("Tab")
            if self.page.evaluate("selector => document.activeElement.matches(selector)", selector):
                return
        raise AssertionError(f"{selector} is not reached by Tab")

    def press(self, selector, said=""):
        """Go to something with Tab, press Enter there, wait until it is said, and return where the focus is then."""
        self.tab_to(selector)
        self.page.keyboard.press("Enter")
        if said:
            self.page.wait_for_function("said => document.body.innerText.includes(said)", arg=said)
        return self.page.evaluate(FOCUS)

    def type(self, selector, text):
        self.tab_to(selector)
        self.page.keyboard.press("Control+A")
        self.page.keyboard.type(text)


@pytest.fixture
def walk(tab):
    return Walk(tab("/"))


def action(words):
    return f'button[name="do"][value="{words}"]:not(.first)'


def test_a_thing_with_another_key_has_the_focus_at_its_heading(walk):
    walk.go("/thing/load/pendant")
    walk.press("#group-naming > summary")
    walk.type("#called", "lamps")
    assert walk.press(action("rename"), "4 other places would follow") == "Give it this key"
    assert walk.press(action("renamed:lamps"), "Renamed: load.pendant is load.lamps now.") == "Pendant lamps"
    assert walk.page.url.endswith("/thing/load/lamps") and walk.page.evaluate("document.activeElement.tagName") == "H2"


def test_what_was_taken_away_undone_and_done_again_leaves_the_focus_where_one_goes_on(walk):
    walk.go("/thing/load/bench")
    told = walk.press(action("remove:load/bench"), "Nothing was taken away yet")
    assert told == "Take away Bench light"
    assert walk.press(action("along:load/bench"), "Taken away: ") == "What does not hold with room to spare"
    assert walk.press(action("undo"), "The last change is undone.") == "Do again"        # nothing is left to undo
    assert walk.page.locator("#head button", has_text="Undo").is_disabled()
    assert walk.press(action("redo"), "done again") == "Undo"


def test_what_was_added_has_the_focus_at_its_heading(walk):
    walk.go("/add/wish")
    walk.type("#key", "dim")
    assert walk.press(action("add"), "wish.dim.says is missing") == "Add to job.toml"
    walk.type('[name="wish/+/says"]', "bench is never on while wall is on")
    where = walk.press(action("add"), "Added: wish dim.")
    assert walk.page.url.endswith("/thing/wish/dim") and where == walk.page.inner_text("#sheet h2")


def test_what_is_not_known_leaves_the_focus_at_its_field(walk):
    walk.go("/thing/fan/ceiling")
    field = walk.page.evaluate("document.querySelector('#sheet .unknowing button').closest('.field').querySelector('input').id")
    wanted = walk.page.evaluate("document.querySelector('#sheet .unknowing button').value")
    assert walk.press(action(wanted), "Written.") == field


def test_a_link_of_the_drawing_leads_to_the_heading_of_its_sheet(walk):
    assert walk.press('.feed a[href^="/thing/load/bench"]', "Take away Bench light") == "Bench light"
    assert walk.page.evaluate("document.activeElement.tagName") == "H2"


@pytest.mark.parametrize("path, selector, said, left_at", [
    ("/thing/load/pendant", action("write"), "", "Write into job.toml"),
    ("/what-if", action("look"), "Nothing is different", "See what moves"),
    ("/what-if", action("propose"), "there is nothing to cure", "Find the cheapest cure of what fails"),
    ("/pins/wire/relay.pendant", action("fix"), "", "Keep it at this pin"),
])
def test_a_button_that_is_still_there_keeps_the_focus(walk, path, selector, said, left_at):
    assert walk.go(path).press(selector, said) == left_at
    walk.page.wait_for_timeout(500)
    assert walk.page.evaluate(FOCUS) == left_at


def test_a_switch_of_the_simulated_room_keeps_the_focus(walk):
    walk.go("/try")
    walk.press('button[value="begin"]', "Switches and regulators")
    walk.page.wait_for_url("**/try/*")
    assert walk.press('button[value="throw door"]', "closed") == "Throw"
    assert walk.press('button[value="press bench"]', "pressed") in ("Let go", "Press and let go")


def test_a_file_that_somebody_else_changes_takes_the_focus_from_nobody(walk, served):
    walk.go("/thing/load/pendant")
    walk.press("#finding-contacts\\.pendant > summary")
    before = walk.page.evaluate(FOCUS)
    served.file.write_text(served.file.read_text().replace('name = "Wall lights"', 'name = "Wall lamps"'))
    walk.page.wait_for_function("() => document.querySelector('#room').innerText.includes('Wall lamps')")
    assert walk.page.evaluate(FOCUS) == before != "nowhere"
