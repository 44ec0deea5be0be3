"""The tally beside the title counts the proof of the text as it stands, and says when there is none."""

from types import SimpleNamespace

from pattress.proof.properties import Kind
from pattress.proof.tally import Property
from pattress.web.background_jobs import BackgroundJob, background_jobs_of
from pattress.web.program.proving import PROOF

UNPROVEN = "the control program is not proven yet"
BROKEN = (Property("can-reach", Kind.CAN, "Every level can be reached.", False, 1), Property("wish.iron", Kind.ALWAYS, "The iron stays off.", False, 1),
          Property("pattern", Kind.ALWAYS, "The pattern is kept.", True, 1))


def proven(served, claims):
    background_jobs_of(served.draft)._works[PROOF] = BackgroundJob(PROOF, served.draft.now, outcome=SimpleNamespace(properties=claims, summary="", failed=(), holds=False))


def test_a_claim_and_a_wish_that_fail_count_on_every_sheet_until_the_text_changes(served, client):
    before = client.get("/").text
    assert "fails</a>" not in before and UNPROVEN in before
    proven(served, BROKEN)
    home = client.get("/").text
    assert "2 fails</a>" in home and UNPROVEN not in home and "Every level can be reached." in home and "The iron stays off." in home
    assert "The pattern is kept." not in home and "2 fails</a>" in client.get("/pins").text
    served.draft.write([(("load", "bench", "power"), "50 W")])
    after = client.get("/").text
    assert "fails</a>" not in after and UNPROVEN in after
