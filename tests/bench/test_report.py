"""A report in words. What it is made of is invented; the link it comes over is tested in test_putting and in tests/cli."""

from pattress.bench.report import Report, told


def event(second, kind, **more):
    return {"second": second, "time": None, "kind": kind, **more}


def test_the_minimal_program_is_told_and_why_it_runs():
    report = Report(
        state={"bundle": "ab", "slot": "a", "trial": False, "fell_back": False, "program": "minimal",
               "starts without a healthy report": 4, "the program before ended": "KeyError: seeded"},
        counts={"second": 7, "time": None, "start": "restart", "moves": {}}, events=())
    assert report.is_minimal and told(report).splitlines() == [
        "bundle ab, slot a: reported healthy",
        "up 7 s; start: restart",
        "minimal program: wall switches and regulators only, as 3 starts before this one did not report healthy; "
        "the full one is tried again by itself",
        "the program before ended: KeyError: seeded",
    ]


def test_a_supply_at_fault_and_a_flash_that_keeps_nothing_are_told_as_what_they_are():
    state = {"bundle": "ab", "slot": "a", "trial": False, "fell_back": False, "program": "minimal", "starts without a healthy report": 1,
             "the program before ended": ""}
    counts = {"second": 7, "time": None, "start": "supply fault", "moves": {}}
    faults = (event(0, "fault", number=6), event(0, "fault", number=5))
    assert told(Report(state, counts, faults)).splitlines()[1:] == [
        "up 7 s; start: supply fault",
        "minimal program: wall switches and regulators only, as the supply is at fault; every load was switched off, and the radio is held back; "
        "the full one is tried again by itself",
        "7 s ago: fault: the power went three times as a relay closed or the radio started: supply too weak, or a fault behind it",
        "7 s ago: fault: the start record or the Wi-Fi was not kept by the flash",
    ]
    lost = told(Report(state | {"start records not kept": 1}, counts | {"start": "watchdog"}, ())).splitlines()
    assert lost[2:] == [
        "minimal program: wall switches and regulators only, as the flash keeps no record of crashes, and this is no power-up; "
        "the full one is tried again by itself",
        "start records not kept: 1",
    ]


def test_every_kind_of_event_is_told_in_words():
    report = Report(
        state={"bundle": "ab", "slot": "b", "trial": False, "fell_back": True, "longest gap between turns [ms]": 7},
        counts={"second": 7300, "time": None, "start": "watchdog", "starts": 3, "moves": {"fan": 2}},
        events=(event(7290, "moved", channel="fan", level=3, cause="switch"), event(7000, "program refused", number=1, times=1), event(7000, "login refused", number=0, times=512),
                event(6000, "fault", number=0), event(3700, "link down", number=1), event(100, "sensor lost", sensor="room.humidity"),
                event(50, "fault", number=99), event(0, "started", number=0)))
    assert told(report).splitlines() == [
        "bundle ab, slot b: reported healthy; an earlier one did not, and was given up",
        "up 2 h; start: watchdog",
        "longest gap between turns [ms]: 7",
        "starts: 3",
        "moves of fan: 2",
        "10 s ago: fan moved to 3 by switch",
        "5 min ago: program refused: not newer than the newest one",
        "5 min ago: login refused, 512 times since power-up",
        "21 min ago: fault: a snapshot was not kept by the flash",
        "1 h ago: link down: Wi-Fi",
        "2 h ago: sensor lost: room.humidity",
        "2 h ago: fault: 99",
        "2 h ago: started",
    ]
