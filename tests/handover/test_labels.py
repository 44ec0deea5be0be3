"""Labels as the job has them: for its regulators, its feeds, its radio; none for what is not there."""

from dataclasses import dataclass

from pattress.design import build
from pattress.handover.household import labels

from .designs import example


@dataclass
class Labels:
    """The labels of a design by their heading: the rows of each."""

    design: object

    def __getitem__(self, heading):
        return next((section.tables[0].rows for section in labels(self.design) if section.heading == heading), ())


def changed(design, **fields):
    return build(design.job.model_copy(update=fields), design.results["parts"], design.results["boards"])


def test_the_regulator_has_a_label_with_its_positions():
    assert Labels(example("sewing-room"))["Labels for the regulators"] == (("Fan regulator", "off | 1 | 2 | 3 | 4", "Ceiling fan"),)
    assert Labels(example("garden-workshop"))["Labels for the regulators"] == ()


def test_a_contact_that_is_no_switch_has_a_label_with_its_kind():
    assert Labels(example("garden-workshop"))["Labels for the other contacts"] == (("Lid of the dust bin", "door contact"),)
    assert Labels(example("sewing-room"))["Labels for the other contacts"] == ()


def test_a_radio_that_is_off_has_no_label_for_set_up():
    room = example("sewing-room")
    assert [row[0] for row in Labels(room)["Label for set-up"]] == ["Passphrase"]
    assert Labels(changed(room, network=room.job.network.model_copy(update={"wifi": False})))["Label for set-up"] == ()
    held = changed(room, network=room.job.network.model_copy(update={"setup_switch": "bench"}))
    assert Labels(held)["Label for set-up"][0] == ("First Wi-Fi", "hold At the bench while the power comes on")


def test_the_warnings_name_every_feed_and_what_may_start_by_itself():
    found = dict(Labels(example("sewing-room"))["Warning labels"])
    assert found["On the lid of the box"] == (
        "Live parts inside. A relay that is open is no isolation. 2 feeds: F1 lights, F2 sockets. Each must be off. Capacitors: wait 5 s after switching off.")
    assert found["At the distribution board, F1, feed lights"] == "Feeds the controller of Sewing room"
    assert {where for where, words in found.items() if words.startswith("May switch on by itself")} == {"At Ironing socket", "At Sewing-machine socket", "At Ceiling fan"}
