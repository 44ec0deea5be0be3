"""Earth, double insulation, and what the insulation tester must show before the mains is put on.

Answers: is the box earthed where it must be; and the values for the dead test of each circuit.
Nothing is measured here: the bench fills that in. Left out: continuity of protective conductors,
and everything that local rules add.
"""


from pattress.finding import Assumption, Figure, Finding, Input, Sense, Source, Verdict
from pattress.job.model import UNKNOWN, Job
from pattress.quantity import show
from pattress.sizing.mains import mains_of
from pattress.stock.insulation import dead_test

CLASS_2 = Source("IEC 61140, class II equipment", read=False)
ELECTRONICS = Source("HT Neptune manual p. 38 ff. and electriciansforums.net 37715", "line and neutral joined, tested to earth")


def findings(job: Job) -> tuple[Finding, ...]:
    """Return whether the box needs an earth, and the two dead tests."""
    mains = mains_of(job)
    return (_box(job), _test("mains", "line and neutral joined, to earth", mains.voltage, "supply.system"),
            _test("low_voltage", "the low-voltage side to line and neutral joined", mains.voltage, "board"))


def _box(job: Job) -> Finding:
    box = job.site.enclosure
    metal = box != UNKNOWN and box.material != "plastic"
    earthing = job.supply.earthing
    if box == UNKNOWN:
        verdict, words = Verdict.UNKNOWN, "The box is not known: a metal one must be earthed."
    elif not metal:
        verdict, words = Verdict.HOLDS, "A plastic box: double insulated, if the cables enter with their sheaths and nothing metal comes through."
    elif earthing in ("IT", UNKNOWN):
        verdict, words = Verdict.UNKNOWN, "A metal box must be earthed, and what earth there is is not known."
    else:
        verdict, words = Verdict.TIGHT, "A metal box must be bonded to the protective conductor, with its own screw and washer."
    return Finding(
        id="earthing.box", question="Is the box earthed, or does it need none?", subject="site.enclosure", verdict=verdict,
        value=None, limit=None, sense=Sense.AT_MOST, formula="metal: class I, bonded; plastic: class II, double insulated",
        inputs=(Input("material", UNKNOWN if box == UNKNOWN else box.material, "site.enclosure.material"),
                Input("earthing", earthing, "supply.earthing")),
        sources=(CLASS_2,),
        assumptions=() if box != UNKNOWN else (Assumption("site.enclosure", "metal", "the job does not say", "look at the box"),),
        change=("bond the box, and have the continuity measured", "or a plastic box"), detail=words,
        covers_not="the protective conductor itself: measure it", on_site=True,
    )


def _test(thing: str, between: str, voltage: float, subject: str) -> Finding:
    test, least, source = dead_test(voltage=voltage)
    return Finding(
        id=f"insulation_test.{thing}", question=f"What must the insulation tester show, {between}?", subject=subject,
        verdict=Verdict.UNKNOWN, value=None, limit=Figure(least, "ohm"), sense=Sense.AT_LEAST,
        formula=f"at least {show(least, 'ohm')} at {show(test, 'V')} DC", inputs=(Input("test voltage", Figure(test, "V"), "IEC 60364-6"),),
        sources=(source, ELECTRONICS),
        change=("measure it, dead, with the varistor and the supply module taken out or line and neutral joined",),
        detail="To be measured on the bench: nothing is known yet.", covers_not="a test between line and neutral, which reads the bleeders",
        safety=False,
    )
