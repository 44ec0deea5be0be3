"""What is said of findings together."""

from pattress.finding import Assumption, Finding, Sense, Verdict, unknowns


def finding(name, *assumptions):
    return Finding(id=name, question="Does it?", subject="load.a", verdict=Verdict.UNKNOWN, value=None, limit=None, sense=Sense.AT_MOST, assumptions=assumptions)


def curve(taken):
    return Assumption("feed.a.device.curve", taken, "the job does not say", "the letter before the rating on the device")


def test_what_is_not_known_is_there_once_in_the_order_of_the_findings():
    box = Assumption("site.enclosure", "metal", "the job does not say", "look at the box")
    assert unknowns((finding("inrush.a", curve("curve B")), finding("earthing.box", box), finding("inrush.b", curve("curve B")))) == (curve("curve B"), box)
    assert unknowns(()) == ()


def test_what_checks_take_differently_is_told_with_all_that_they_take():
    assert unknowns((finding("inrush.a", curve("curve B")), finding("trip.a", curve("curve D")))) == (curve("curve B or curve D, each where it is worse"),)


def test_measurements_that_differ_are_all_told():
    look, measure = (Assumption("site.enclosure", taken, "the job does not say", how)
                     for taken, how in (("metal", "look at the box"), ("120 x 80 x 50 mm of plastic", "measure the box")))
    assert [(one.taken, one.measure) for one in unknowns((finding("heat.controller", measure), finding("earthing.box", look)))] == [
        ("120 x 80 x 50 mm of plastic or metal, each where it is worse", "measure the box; look at the box")]
