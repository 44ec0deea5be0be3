"""Captures on the page: read by the board's decoder, drawn, given to a button of the job file."""

import random

import pytest

from pattress.infrared.encoding import signal
from pattress.job.code import parse_code
from pattress.web.design import remotes

from .reading import TELEPHONE, WIDE, complaints, fits

CODE = "nec 0x04:0x52"


def presses(code=CODE, count=3, seed=2):
    """Return captures of a button as a receiver gives them, each edge up to 60 us off."""
    source = random.Random(seed)
    sent = signal(parse_code(code), held=1).durations
    return "\n".join(" ".join(str(value + source.randint(-60, 60)) for value in sent) for _ in range(count))


def code_of(served, button):
    return str(served.draft.now.design.job.remote["drawer"].button[button].code)


def test_pasted_or_uploaded_it_says_the_same_and_goes_to_a_button(served, client):
    pasted = client.post("/infrared", data={"do": "read", "captures": presses()})
    sent = client.post("/infrared", data={"do": "read"}, files={"file": ("sofa.txt", presses().encode())})
    for answer in (pasted, sent):
        assert answer.status_code == 200
        assert f"{CODE}: 3 of 3 presses agree" in answer.text and f"<option>{CODE}</option>" in answer.text
        assert answer.text.count("<svg") >= 3 and ">address inverse</text>" in answer.text and "held" in answer.text
    assert served.file.read_bytes() and code_of(served, "stop") == "unknown"
    given = client.post("/infrared", data={"do": "assign", "code": CODE, "button": "drawer.stop"})
    assert f"{CODE} is now the code of drawer.stop." in given.text and code_of(served, "stop") == CODE
    client.post("/", data={"do": "undo"})
    assert code_of(served, "stop") == "unknown"


def test_only_what_three_presses_say_is_offered_and_what_is_too_weak_says_what_to_do(served, client):
    two = client.post("/infrared", data={"do": "read", "captures": presses(count=2)}).text
    assert "<option>" not in two and "Not to be given to a button yet: 3 presses that agree are needed, and 2 were heard: " in two
    both = client.post("/infrared", data={"do": "read", "captures": presses(count=3) + "\n" + presses("nec 0x04:0x53", count=4)}).text
    assert both.index("<option>nec 0x04:0x53</option>") < both.index(f"<option>{CODE}</option>") and "Not to be given" not in both
    half = " ".join(map(str, signal(parse_code("sharp 0x05:0x2a")).durations[:31]))
    weak = client.post("/infrared", data={"do": "read", "captures": half}).text
    assert "too weak: half of a pair, the other half is missing; hold the button longer, record the whole press" in weak


@pytest.mark.parametrize(("data", "words"), [
    ({"captures": ""}, remotes.NEITHER),
    ({"captures": "hello"}, "pasted:1: found &#39;hello&#39;"),
    ({"captures": "<script>alert(1)</script>"}, "pasted:1: found &#39;&lt;script&gt;"),
    ({"captures": "9000 4500 " * 12_000}, "more than 20000 durations"),
    ({"captures": "9" * 5000}, "pasted:1: found"),
    ({"captures": "\x00\x01"}, "pasted:1: found"),
    ({"captures": "²³ 4500"}, "pasted:1: found"),
])
def test_what_is_no_capture_is_refused_with_its_line(unchanged, data, words):
    _, client = unchanged
    answer = client.post("/infrared", data={"do": "read", **data})
    assert answer.status_code == 422 and words in answer.text and "<script>alert" not in answer.text


@pytest.mark.parametrize(("name", "content", "words"), [
    ("photo.png", b"\x89PNG\r\n\x1a\n" + bytes(range(256)), "photo.png: found no text"),
    ("../../etc/passwd", b"root:x:0:0", "../../etc/passwd:1: found &#39;root:x:0:0&#39;"),
    ("<b>.txt", b"hello", "&lt;b&gt;.txt:1: found"),
    ("x" * 3000, b"hello", "x" * 80 + ":1: found"),
    ("zeros.bin", b"\x00" * 100_000, "zeros.bin:1: found"),
])
def test_hostile_uploads_are_refused_in_words(unchanged, name, content, words):
    served, client = unchanged
    before = served.file.read_bytes()
    answer = client.post("/infrared", data={"do": "read"}, files={"file": (name, content)})
    assert answer.status_code == 422 and words in answer.text
    assert served.file.read_bytes() == before


def test_too_large_too_many_and_broken_forms_are_refused(unchanged):
    _, client = unchanged
    assert client.post("/infrared", data={"do": "read"}, files={"file": ("big.txt", b"1 " * 1024 * 1024)}).status_code == 413
    many = [("file", (f"{number}.txt", b"1")) for number in range(40)]
    assert client.post("/infrared", data={"do": "read"}, files=many).status_code in (400, 422)
    broken = client.post("/infrared", content=b"--x\r\nnonsense", headers={"content-type": "multipart/form-data; boundary=x"})
    assert broken.status_code in (400, 422)
    assert client.post("/infrared", content=b"do=read", headers={"content-type": "multipart/form-data"}).status_code in (400, 422)


@pytest.mark.parametrize(("button", "code", "words"), [
    ("drawer.nothing", CODE, "This job has no button"), ("", CODE, "This job has no button"), ("drawer.stop", "", "code is"),
    ("drawer.stop", "nec 0x04:0x1ff", "code is"), ("drawer.stop", "rubbish", "code is"), ("drawer.stop", "nec 0x04:0x08", "drawer"),
    ("x" * 9000, "y" * 9000, "This job has no button"),
])
def test_what_cannot_be_given_is_refused_and_nothing_is_written(unchanged, button, code, words):
    served, client = unchanged
    before = served.file.read_bytes()
    answer = client.post("/infrared", data={"do": "assign", "button": button, "code": code})
    assert answer.status_code == 422 and words in answer.text and served.file.read_bytes() == before


@pytest.mark.parametrize(("width", "scheme"), [(WIDE, "light"), (TELEPHONE, "dark")])
def test_it_is_used_in_a_browser(served, tab, width, scheme):
    here = tab("/infrared", width=width, color_scheme=scheme)
    here.page.get_by_label("Captures").fill(presses())
    here.page.get_by_role("button", name="Read").press("Enter")
    here.page.get_by_role("heading", name="What was heard").wait_for()
    assert complaints(here) == [] and fits(here)
    here.page.get_by_label("for the button").select_option("drawer.stop")
    here.page.get_by_role("button", name="Give it to the button").press("Enter")
    here.page.get_by_text("is now the code of drawer.stop.").wait_for()
    assert code_of(served, "stop") == CODE and here.is_quiet(), here.complaints


def test_without_script_a_file_is_read(tab, tmp_path):
    file = tmp_path / "sofa.txt"
    file.write_text(presses())
    bare = tab("/infrared", java_script_enabled=False)
    bare.page.set_input_files("#file", file)
    bare.page.get_by_role("button", name="Read").click()
    assert f"{CODE}: 3 of 3 presses agree" in bare.page.inner_text("#sheet")
