"""Spoken names on the page and on the household's sheet: the same as `pattress names` tells, and never on an edit."""

import time
from contextlib import closing

from pattress.design import design_of
from pattress.handover.household import household
from pattress.job import load
from pattress.spoken.clashes import clashes
from pattress.web.design import spoken_names

from .reading import TELEPHONE, complaints, fits
from .served_page import Serving
from .two_lamps import CONTRADICTING

MISHEARD = [(("load", "pendant", "spoken"), ["pendant", "big light"])]


def test_the_sheet_tells_what_the_command_tells_worst_first(served, client):
    served.draft.write(MISHEARD)
    page = served
    text, found = client.get("/names").text.replace("&#39;", "'"), clashes(load(page.file))
    places = [text.index(clash.told) for clash in found]
    assert places == sorted(places) and len(places) == 3 and all(clash.advice in text for clash in found)
    assert "'Bench light' (bench) sounds much like 'big light'" in text and 'href="/thing/load/bench"' in text
    assert "no voice assistant was asked" in text


def test_names_that_nothing_is_like_are_said_to_be_so(tmp_path):
    file = tmp_path / "job.toml"
    file.write_text(CONTRADICTING.replace("Blue lamp", "Television"))
    with Serving(file) as page, closing(page.client()) as client:
        assert clashes(page.draft.now.design.job) == () and "No name comes close to another one" in client.get("/names").text


def test_an_edit_of_a_power_judges_no_name_anew_and_an_edit_of_a_name_does(served, client):
    served.draft.write(MISHEARD)
    client.get("/names")
    before = spoken_names._judged.cache_info().misses
    served.draft.write([(("load", "bench", "power"), "50 W")])
    start = time.perf_counter()
    spoken_names.view(type("A", (), {"design": served.draft.now.design}))
    assert time.perf_counter() - start < 0.01 and spoken_names._judged.cache_info().misses == before
    served.draft.write([(("load", "bench", "name"), "Bench beam")])
    assert "'Bench light'" not in client.get("/names").text.replace("&#39;", "'") and spoken_names._judged.cache_info().misses == before + 1


def test_it_reads_on_a_phone(tab):
    here = tab("/names", width=TELEPHONE, color_scheme="dark")
    assert complaints(here) == [] and fits(here) and here.is_quiet(), here.complaints


def test_a_name_that_fails_counts_in_the_tally_of_every_sheet_until_it_is_called_otherwise(served, client):
    assert "fails</a>" not in client.get("/").text
    served.draft.write(MISHEARD)
    home = client.get("/").text
    assert all("1 fails</a>" in client.get(sheet).text for sheet in ("/", "/names", "/pins", "/thing/load/bench"))
    assert home.replace("&#39;", "'").count("'Bench light' (bench) sounds much like") == 1 and "the control program is not proven yet" in home
    served.draft.write([(("network", "broker"), "none"), (("network", "wifi"), False)])
    home = client.get("/").text
    assert "sounds much like" not in home and "fails</a>" not in home
    assert "nobody listens: nothing of this counts" in client.get("/names").text


def test_the_household_is_told_too_unless_nobody_listens(served, tmp_path):
    served.draft.write(MISHEARD)
    page = served
    told = [words for words in household(page.draft.now.design)[1].words if "Said aloud" in words]
    assert len(told) == 1 and '"Bench light" sounds much like "big light"; ' in told[0].replace("bench light", "Bench light")
    text = page.file.read_text()
    assert "\nbroker = " in text
    (tmp_path / "job.toml").write_text(text.replace("\nbroker = ", "\nwifi = false\n# broker = "))
    assert clashes(load(tmp_path / "job.toml")) and not any("Said aloud" in words for words in household(design_of(tmp_path / "job.toml"))[1].words)
