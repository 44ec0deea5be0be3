"""The home view and the sheets of things, as a person reads them."""

from pattress.quantity import show


def test_everything_in_the_job_can_be_touched(served, client):
    page = client.get("/").text
    job = served.draft.now.design.job
    for section in ("feed", "load", "fan", "switch", "regulator", "remote", "sensor"):
        for key in getattr(job, section):
            assert f'href="/thing/{section}/{key}"' in page
            assert client.get(f"/thing/{section}/{key}").status_code == 200
    for section in ("supply", "site", "board", "network", "job", "receiver"):
        assert f'href="/thing/{section}"' in page
        assert client.get(f"/thing/{section}").status_code == 200


def test_a_thing_shows_its_findings_with_figures(served, client):
    text = client.get("/thing/load/ironing").text
    finding = next(f for f in served.draft.now.design.findings if f.id == "contacts.ironing")
    assert finding.question in text and "contacts.ironing" in text
    assert f"{show(finding.value.value, finding.value.unit)}, at most {show(finding.limit.value, finding.limit.unit)}" in text
    assert "contacts.pendant" not in text
