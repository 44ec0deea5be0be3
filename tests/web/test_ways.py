"""The sheets lead to one another: every way from a thing is there."""

import re


def test_every_way_from_a_thing_leads_somewhere(served, client):
    job, seen = served.draft.now.design.job, set()
    things = [f"/thing/{section}/{key}" for section in ("load", "fan", "switch", "regulator", "remote", "sensor", "wish") for key in getattr(job, section)]
    for address in [*things, "/thing/board", "/thing/receiver", "/thing/job", "/thing/network"]:
        ways = re.search(r'<p class="ways">(.*?)</p>', client.get(address).text, re.S)
        seen |= set(re.findall(r'href="([^"]+)"', ways[1])) if ways else set()
    assert {"/pins", "/try", "/proof", "/infrared", "/documents", "/fan/ceiling", "/pins/wire/relay.pendant", "/pins/wire/infrared"} <= seen
    for address in seen:
        assert client.get(address).status_code == 200, address
