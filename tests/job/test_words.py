"""Every kind of message about a job file, by its exact words."""

import pytest

from pattress.incoming import LARGEST
from pattress.job import JobError, Problem, load, read
from pattress.job.agreement import as_key

VALUES = 'text in quotes such as "75 W", a number, true or false, a [list], or a { table }'
POWER = 'power = "9 W"'
DOES = 'does = ["toggle pendant", "up study"]'


def test_the_small_job_passes(said):
    assert said() == ""


@pytest.mark.parametrize("old, new, words", [
    ('"LED driver"', '"LED drivr"', """\
flat.toml:14:8: load.pendant.kind is 'LED drivr'
  allowed: resistive heater, tungsten lamp, LED driver, fluorescent ballast, motor, compressor, electronic supply, solenoid, socket
  nearest: LED driver"""),
    (POWER + "\n", "", """\
flat.toml:12:7: load.pendant.power is missing
  allowed: a power such as "75 W", above 0 W, at most 20 kW"""),
    ('earthing = "TT"\n', "", """\
flat.toml:4:2: supply.earthing is missing
  allowed: TN-S, TN-C-S, TT, IT, unknown"""),
    ("power = \"9 W\"", "powr = \"9 W\"", """\
flat.toml:15:1: load.pendant.powr is not a key that is known here
  allowed: name, spoken, feed, run, restore, operations_per_day, relay, feedback, at, kind, power, count, power_factor, inrush, minimum_off, plug_fuse
  nearest: power"""),
    (POWER, "power = 9", """\
flat.toml:15:9: load.pendant.power is 9, a number without a unit
  allowed: a power such as "75 W", above 0 W, at most 20 kW"""),
    (POWER, 'power = "9 kg"', """\
flat.toml:15:9: load.pendant.power is '9 kg', a mass
  allowed: a power such as "75 W", above 0 W, at most 20 kW"""),
    (POWER, 'power = "9 wats"', """\
flat.toml:15:9: load.pendant.power is '9 wats', whose unit is not known here
  allowed: a power such as "75 W", above 0 W, at most 20 kW
  nearest: 9 watts"""),
    (POWER, POWER + "\npower_factor = 1.2", """\
flat.toml:16:16: load.pendant.power_factor is 1.2
  allowed: a number above 0, at most 1, or "unknown\""""),
    (POWER, POWER + "\ninrush = 5", """\
flat.toml:16:10: load.pendant.inrush is 5
  allowed: a table with peak, duration, or "unknown\""""),
    (POWER, POWER + '\ninrush = "unknwn"', """\
flat.toml:16:10: load.pendant.inrush is 'unknwn'
  allowed: a table with peak, duration, or "unknown"
  nearest: unknown"""),
    (POWER, POWER + '\ninrush = { peak = "5 A" }', """\
flat.toml:16:1: load.pendant.inrush.duration is missing
  allowed: a time such as "250 us", above 0 s, at most 60 s"""),
    (POWER, POWER + '\ninrush = { peak = "5 A", duration = "5 V" }', """\
flat.toml:16:37: load.pendant.inrush.duration is '5 V', a voltage
  allowed: a time such as "250 us", above 0 s, at most 60 s"""),
    ('cable = { section = "1.5 mm2", length = "15 m" }', 'cable = "15 m"', """\
flat.toml:10:9: feed.lights.cable is '15 m'
  allowed: a table with section, length"""),
    ("positions = 3", "positions = 3.5", """\
flat.toml:35:13: regulator.study.positions is 3.5
  allowed: a whole number from 1 to 6"""),
    ("steps = 3", "steps = true", """\
flat.toml:23:9: fan.study.steps is true
  allowed: a whole number from 1 to 6"""),
    ("steps = 3", "steps = 3\npoles = 7", """\
flat.toml:24:9: fan.study.poles is 7
  allowed: an even whole number from 2 to 48, or "unknown\""""),
    ("steps = 3", "steps = 3\noperations_per_day = nan", """\
flat.toml:24:22: fan.study.operations_per_day is nan
  allowed: a number from 0, at most 100000, or "unknown\""""),
    ('title = "Flat"', 'title = ""', """\
flat.toml:2:9: job.title is ''
  allowed: text in quotes, 1 to 120 characters on one line"""),
    ("[board]\n", "[board]\nstatus_lamp = 1\n", """\
flat.toml:45:15: board.status_lamp is 1
  allowed: true or false"""),
    ("[board]\n", "[board]\npins = 3\n", """\
flat.toml:45:8: board.pins is 3
  allowed: a table of pins already soldered, such as { relay.pendant = 4, "switch.door" = 5 }"""),
    ("[board]\n", "[board]\npins.relay.pendant = 99\n", """\
flat.toml:45:22: board.pins."relay.pendant" is 99
  allowed: a whole number from 0 to 63"""),
    ('system = "230 V 50 Hz"', 'system = "230 V 55 Hz"', """\
flat.toml:5:10: supply.system is '230 V 55 Hz'
  allowed: voltage and frequency such as "230 V 50 Hz" or "120 V 60 Hz"; 90 V to 260 V, 50 or 60 Hz"""),
    ("[board]\n", '[board]\npins.relay.pendant = "GP2"\n', """\
flat.toml:45:22: board.pins."relay.pendant" is 'GP2'
  allowed: a whole number from 0 to 63
  nearest: 2"""),
    ("steps = 3", 'steps = 3\nwanted = ["40 %", "70", "100 %"]', """\
flat.toml:24:10: fan.study.wanted is a list with '70'
  allowed: "evenly spaced", or a list of the share of full speed at each step, such as ["45 %", "70 %", "100 %"]"""),
    ("[board]\n", '[network]\nbroker = "a b"\n\n[board]\n', """\
flat.toml:45:10: network.broker is 'a b'
  allowed: "none", or the host of the broker, with a port if it is not 1883: "192.168.1.10" or "broker.home:1884\""""),
    ("[board]\n", '[network]\nname = "Hall 2"\ntime_server = "time server"\n\n[board]\n', """\
flat.toml:45:8: network.name is 'Hall 2'
  allowed: a name of 1 to 32 small letters, digits and inner hyphens, such as "hall-2"
flat.toml:46:15: network.time_server is 'time server'
  allowed: "router" for the home's own, "none", or a host, with a port if it is not 123: "192.168.1.10" or "time.home\""""),
    ("[board]\n", '[accept."contacts.pendant"]\nreason = "Seen to."\nby = "Me"\ndate = "soon"\n\n[board]\n', """\
flat.toml:45:10: accept."contacts.pendant".reason is 'Seen to.'
  allowed: text in quotes, 10 to 2000 characters
flat.toml:47:8: accept."contacts.pendant".date is 'soon'
  allowed: a day as year-month-day, such as 2026-11-25"""),
    (DOES, "does = []", """\
flat.toml:30:8: switch.door.does is an empty list
  allowed: a list of texts in quotes, or one text"""),
    (DOES, "does = [5]", """\
flat.toml:30:9: item 1 of switch.door.does is 5
  allowed: text such as "toggle pendant\""""),
    (DOES, 'does = "togle pendant"', """\
flat.toml:30:8: switch.door.does is 'togle pendant'
  allowed: on, off, toggle, up, down, set, each followed by what it acts on
  nearest: toggle pendant"""),
    (DOES, 'does = "set study"', """\
flat.toml:30:8: switch.door.does is 'set study'
  allowed: "set" with a fan and a step number, such as "set ceiling 3\""""),
    (DOES, 'does = "toggle"', """\
flat.toml:30:8: switch.door.does is 'toggle'
  allowed: "toggle" followed by the key of a load or fan"""),
    ("stop = {", 'stop = { code = "nec 0x104:0x08",', """\
flat.toml:42:17: remote.sofa.button.stop.code is nec with address 0x104
  allowed: address of nec from 0x0 to 0xff (8 bits)"""),
    ("stop = {", 'stop = { code = "nek 4:8",', """\
flat.toml:42:17: remote.sofa.button.stop.code is 'nek 4:8', whose protocol is not known here
  allowed: nec, necx, nec32, samsung, jvc, kaseikyo, aeha, rc5, rc6, rc6a20, rc6a24, rc6a32, rc6mce, sirc12, sirc15, sirc20, \
sharp, denon, rca, hash, sanyo, rc5sz
  nearest: nec 4:8"""),
    ('[supply]\nsystem = "230 V 50 Hz"\nearthing = "TT"\n', "", """\
flat.toml:1:1: supply is missing
  allowed: a table, [supply]"""),
    ("[load.pendant]", "[lode.pendant]", """\
flat.toml:12:2: lode is not a key that is known here
  allowed: job, supply, site, wall, feed, load, fan, mode, switch, input, regulator, remote, receiver, sensor, board, network, rule, wish, accept
  nearest: mode"""),
    ("[board]", "[load]\nshelf = 3\n\n[board]", """\
flat.toml:45:9: load.shelf is 3
  allowed: a table with name, feed, run, kind, power"""),
])
def test_what_is_no_value_of_its_field(said, old, new, words):
    assert said((old, new)) == words


@pytest.mark.parametrize("old, new, words", [
    ('feed = "lights"', 'feed = "light"', """\
flat.toml:16:8: load.pendant.feed is 'light', which is no feed
  allowed: lights
  nearest: lights"""),
    ("toggle pendant", "toggle pendnt", """\
flat.toml:30:9: item 1 of switch.door.does is 'toggle pendnt'; there is no load or fan 'pendnt'
  allowed: pendant, study
  nearest: toggle pendant"""),
    ("up study", "set study 4", """\
flat.toml:30:27: item 2 of switch.door.does is 'set study 4'; study has 3 steps
  allowed: 0 to 3"""),
    ("up study", "down pendant", """\
flat.toml:30:27: item 2 of switch.door.does is 'down pendant'; pendant has no steps
  allowed: down with a fan: study"""),
    ("up study", "off pendant", """\
flat.toml:30:27: item 2 of switch.door.does is a list that acts on pendant twice
  allowed: each load or fan once"""),
    (DOES, 'does = "on everything"', """\
flat.toml:30:8: switch.door.does is 'on everything'
  allowed: "off everything" only
  nearest: off everything"""),
    ("positions = 3", "positions = 4", """\
flat.toml:35:13: regulator.study.positions is 4
  allowed: at most 3, the steps of study"""),
    ('fan = "study"', 'fan = "stud"', """\
flat.toml:34:7: regulator.study.fan is 'stud', which is no fan
  allowed: study
  nearest: study"""),
    ("stop = {", 'stop = { code = "nec 4:8",', """\
flat.toml:42:17: remote.sofa.button.stop.code is nec 0x04:0x08, the code of remote.sofa.button.power too
  allowed: a code of its own for each button"""),
    ('curve = "B"', 'curve = "gG"', """\
flat.toml:9:56: feed.lights.device.curve is 'gG', which a miniature circuit-breaker has not
  allowed: B, C, D, unknown"""),
    ('earthing = "TT"\n', 'earthing = "TT"\nloop_impedance = "85 ohm"\n', """\
flat.toml:7:18: supply.loop_impedance is '85 ohm'
  allowed: a resistance such as "0.35 ohm", above 0 ohm, at most 10 ohm, or "unknown"; what is measured through the electrode of a TT home goes into earth_electrode"""),
    ('earthing = "TT"\n', 'earthing = "TT"\nfault_current = "1 kA"\nloop_impedance = "0.2 ohm"\n', """\
flat.toml:8:18: supply.loop_impedance is 200 mohm, which lets 1.15 kA flow, more than fault_current
  allowed: at least 230 mohm, or a larger fault_current"""),
    ('"LED driver"', '"tungsten lamp"\nminimum_off = "3 min"', """\
flat.toml:15:15: load.pendant.minimum_off is given where nothing needs it
  allowed: no minimum_off for a tungsten lamp; it is for what must rest before it starts again, such as a compressor"""),
    ("steps = 3", "steps = 3\nwanted = [0.5, 1.0]", """\
flat.toml:24:10: fan.study.wanted is a list of 2
  allowed: 3 speeds, one for each step"""),
    ("steps = 3", "steps = 3\nwanted = [0.5, 0.4, 1.0]", """\
flat.toml:24:10: fan.study.wanted is a list that does not rise
  allowed: each speed higher than the one before"""),
    ("steps = 3", 'steps = 3\nwanted = ["40 %", "70 %", "90 %"]', """\
flat.toml:24:10: fan.study.wanted is a list that ends at 0.9
  allowed: 1.0 as the last: the highest step is straight through"""),
    ("[board]\n", "[board]\npins.relay.pendant = 3\npins.status = 3\n", """\
flat.toml:46:15: board.pins.status is 3, the pin of relay.pendant too
  allowed: a pin of its own"""),
    ("[board]\n", '[network]\nbroker = "hub"\nwifi = false\n\n[board]\n', """\
flat.toml:45:10: network.broker is 'hub' though wifi is false
  allowed: "none", or wifi = true"""),
    ("[board]\n", '[network]\nbroker_authority = "ca.pem"\n\n[board]\n', """\
flat.toml:45:20: network.broker_authority is given where nothing needs it
  allowed: none without a broker"""),
    ("[board]\n", '[network]\nsetup_switch = "dor"\n\n[board]\n', """\
flat.toml:45:16: network.setup_switch is 'dor', which is no switch
  allowed: door
  nearest: door"""),
    ("[board]\n", '[network]\nsetup_switch = "door"\n\n[board]\n', """\
flat.toml:45:16: network.setup_switch is 'door', a latching switch
  allowed: a retractive switch: a latching one may stand closed after any power cut"""),
    ("[board]\n", '[network]\nsetup_switch = "door"\nwifi = false\n\n[board]\n', """\
flat.toml:45:16: network.setup_switch is 'door' though wifi is false
  allowed: none without Wi-Fi, or wifi = true"""),
    ('name = "Study fan"', 'name = "pendant"', """\
flat.toml:20:8: fan.study.name is 'pendant', a name of pendant too
  allowed: a name that only one load or fan has"""),
    ("[remote.sofa]", "[remote.Sofa-1]\nname = \"S\"\nbutton = {}\n[remote.sofa]", """\
flat.toml:37:9: remote.Sofa-1 is not a name for use in keys
  allowed: as a key, small letters, digits and _, a letter first, at most 32
  nearest: sofa_1"""),
    ("[board]\n", '[accept.contacts]\nreason = "Looked at it."\nby = "Me"\ndate = 2026-11-25\n\n[board]\n', """\
flat.toml:44:9: accept.contacts is not the id of a finding
  allowed: the id of a finding as `pattress check` prints it, such as "contacts.pendant\""""),
])
def test_what_disagrees_with_another_table(said, old, new, words):
    assert said((old, new)) == words


def test_a_load_and_a_fan_cannot_share_a_key(said):
    assert said(("[fan.study]", "[fan.pendant]"), ('fan = "study"', 'fan = "pendant"'), (", \"up study\"", "")) == """\
flat.toml:19:6: fan.pendant is the key of a load too
  allowed: a key of its own"""


def test_a_name_with_marks_gives_a_key_that_people_know_again():
    assert (as_key("Tür links"), as_key("Größe"), as_key("Café"), as_key("灯")) == ("tur_links", "grosse", "cafe", "")


def test_everything_is_no_key(said):
    assert said(("[load.pendant]", "[load.everything]"), ("toggle pendant", "off everything"), (", \"up study\"", ""),
                ("toggle pendant", "off everything")) == """\
flat.toml:12:7: load.everything is the word for all channels together
  allowed: a key of its own"""


def test_a_job_with_nothing_to_switch(flat, said):
    start, end = flat.index("[load.pendant]"), flat.index("[board]")
    assert said(text=flat[:start] + flat[end:]) == """\
flat.toml:1:1: the job has neither a load nor a fan
  allowed: at least one [load.NAME] or [fan.NAME]"""


@pytest.mark.parametrize("old, new, words", [
    (POWER, "power = 9 W", f'flat.toml:15:9: text without quotes: 9 W\n  allowed: {VALUES}\n  nearest: "9 W"'),
    ('"LED driver"', "LED", f'flat.toml:14:8: text without quotes: LED\n  allowed: {VALUES}\n  nearest: "LED"'),
    (POWER, POWER + "\n" + POWER,
     "flat.toml:16:1: load.pendant.power is given twice, first in line 15\n  allowed: each key once"),
    ("[fan.study]", "[load.pendant]",
     "flat.toml:19:7: load.pendant is given twice, first in line 12\n  allowed: each key once"),
    ('length = "15 m" }', 'length = "15 m", length = "1 m" }',
     "flat.toml:10:49: feed.lights.cable.length is given twice, first in line 10\n  allowed: each key once"),
    ("[load.pendant]", "[feed.lights.cable.x]\n[load.pendant]",
     "flat.toml:12:21: a key or table that is there already\n"
     "  allowed: each key once, and all keys of a { table } inside its brackets"),
    ("[switch.door]", "[[load.pendant]]\n[switch.door]",
     "flat.toml:27:15: a key or table that is there already\n"
     "  allowed: each key once, and all keys of a { table } inside its brackets"),
    ('"TT"', '["TT"', 'flat.toml:6:12: a list that is not closed\n  allowed: a list such as ["toggle pendant"]'),
    ('length = "15 m" }', 'length = "15 m"', "flat.toml:10:9: a table that is not closed\n"
     '  allowed: a table on one line such as { section = "1.5 mm2", length = "8 m" }'),
    ("[board]", "[board", "flat.toml:44:7: a [table] header that is not closed\n  allowed: a header such as [load.pendant]"),
    ('"TT"', '"TT', "flat.toml:6:15: a text that is not closed\n  allowed: text in quotes, closed on the same line"),
    ('type = "rp2040-wifi"\n', 'type = "rp',
     "flat.toml:45:11: a text that is not closed\n  allowed: text in quotes, closed on the same line"),
    ('earthing = "TT"', 'earthing "TT"',
     "flat.toml:6:10: a key without '='\n  allowed: key = value, such as power = \"75 W\""),
    ('earthing = "TT"', '= "TT"',
     "flat.toml:6:1: neither a key nor a [table]\n  allowed: key = value, or a [table] header such as [load.pendant]"),
    ('"TT"', "“TT”", "flat.toml:6:12: curly quotes around a text: “TT”\n  allowed: plain quotes, \"\n  nearest: \"TT\""),
    ("[load.pendant]", "[load.tür]", "flat.toml:12:8: 'ü' in the name of a [table]\n"
     "  allowed: a header such as [load.pendant] of the letters a to z, digits, _ and -"),
    ("[load.pendant]", "[load.pendant lamp]", "flat.toml:12:15: a space in the name of a [table]\n"
     "  allowed: a header such as [load.pendant] of the letters a to z, digits, _ and -"),
    ('earthing = "TT"', 'größe = "TT"', "flat.toml:6:3: 'ö' in a key\n  allowed: a key of the letters a to z, digits, _ and -"),
    ('", length = "15 m" }', '",\n length = "15 m" }', "flat.toml:10:31: a table that goes on in the next line\n"
     '  allowed: a table on one line such as { section = "1.5 mm2", length = "8 m" }'),
    ('earthing = "TT"', 'a.(b) = "TT"', "flat.toml:6:3: a key that starts with a sign\n"
     "  allowed: letters, digits, _ and -, or a key in quotes"),
    ('earthing = "TT"', 'earthing = "T\\T"',
     "flat.toml:6:14: a backslash in a text\n  allowed: \\\\ for a backslash, or the text between single quotes"),
    ('"TT"', '"\\uD800"', "flat.toml:6:13: an escape that names no character\n"
     "  allowed: \\u with four or \\U with eight hexadecimal digits"),
    ('"TT"', '"\\uzzzz"', "flat.toml:6:13: an escape that is not hexadecimal\n"
     "  allowed: \\u with four or \\U with eight hexadecimal digits"),
    ('"TT"', '"T\x01"', "flat.toml:6:14: a character that cannot be seen\n  allowed: text without control characters"),
    ('title = "Flat"', 'title = "Flat" # \x01', "flat.toml:2:18: a character that may not stand here\n"
     "  allowed: text without control characters or open quotes"),
    ("steps = 3", "steps = 07", "flat.toml:23:9: a number or day that is not written as one: 07\n"
     "  allowed: a number without leading zeros, such as 7 or 0.5, or a day such as 2026-11-25"),
    ("steps = 3", "steps = 2026-02-30T25:00", "flat.toml:23:9: a day or time that does not exist\n"
     "  allowed: a day such as 2026-11-25"),
    ("steps = 3", "steps = 2026-02-30", "flat.toml:23:9: a day or time that does not exist\n  allowed: a day such as 2026-11-25"),
    ("steps = 3", "steps = " + "[" * 30,
     "flat.toml:23:33: brackets within brackets, too deep\n  allowed: at most 24 open at a time"),
    ("steps = 3", "steps = " + "9" * 2500, "flat.toml:23:1: a line of 2508 characters\n  allowed: at most 2000"),
])
def test_what_is_no_toml(said, old, new, words):
    assert said((old, new)) == words


def test_several_slips_of_syntax_are_told_at_once(said):
    words = said(('"TT"', "TT"), (POWER, "power = 9 W"), ("steps = 3", "steps = three"))
    assert [line.split(": ")[0] for line in words.splitlines() if line.startswith("flat")] == [
        "flat.toml:6:12", "flat.toml:15:9", "flat.toml:23:9",
    ]


def test_faults_of_every_kind_are_told_at_once_in_the_order_of_the_file(said):
    words = said(('"TT"', '"TX"'), (POWER, "power = 9"), ("up study", "up stdy"), ("positions = 3", "positions = 9"),
                 ('"nec 0x04:0x08"', '"nec"'), ("off everything", "off nothing"), ("[board]\n", "[board]\npins = {a = 1, b = 1}\n"))
    assert [line.split(" is ")[0] for line in words.splitlines() if line.startswith("flat")] == [
        "flat.toml:6:12: supply.earthing", "flat.toml:15:9: load.pendant.power", "flat.toml:30:27: item 2 of switch.door.does",
        "flat.toml:35:13: regulator.study.positions", "flat.toml:41:18: remote.sofa.button.power.code",
        "flat.toml:42:17: remote.sofa.button.stop.does", "flat.toml:45:20: board.pins.b",
    ]


def test_a_misspelt_header_does_not_make_its_names_unknown(said):
    assert "'pendant'" not in said(("[load.pendant]", "[loads.pendant]"))


def test_many_problems_are_counted_not_all_printed():
    text = "".join(f"key{number} = 1\n" for number in range(60))
    with pytest.raises(JobError) as caught:
        read(text, "many.toml")
    assert len(caught.value.problems) == 65 and str(caught.value).endswith("\nand 25 more")


def test_keys_may_be_joined_by_dots_or_quoted(flat):
    for pins in ('pins = { "relay.pendant" = 4, "relay.study.1" = 5 }', "pins.relay.pendant = 4\npins.relay.study.1 = 5",
                 "pins.relay = { pendant = 4, study.1 = 5 }"):
        job, _ = read(flat.replace("[board]\n", f"[board]\n{pins}\n"), "flat.toml")
        assert job.board.pins == {"relay.pendant": 4, "relay.study.1": 5}
    both = 'pins = { "relay.pendant" = 4, relay.pendant = 5 }'
    with pytest.raises(JobError, match="board.pins is a table with two values for relay.pendant\n  allowed: each key once"):
        read(flat.replace("[board]\n", f"[board]\n{both}\n"), "flat.toml")
    for header in ('[accept."contacts.pendant"]', "[accept.contacts.pendant]"):
        job, _ = read(f'{flat}\n{header}\nreason = "Looked at it."\nby = "Me"\ndate = 2026-11-25\n', "flat.toml")
        assert job.accept["contacts.pendant"].date == "2026-11-25"


def test_a_later_room_can_tell_where_a_value_stands(flat):
    from pattress.refusal import Refusal

    _, source = read(flat, "flat.toml")
    refusal = Refusal("'rp2040-wifi', which is no board", "esp32", "")
    assert source.problem(("board", "type"), refusal) == Problem(
        "flat.toml", 45, 8, "board.type", "'rp2040-wifi', which is no board", "esp32", "")


@pytest.mark.parametrize("content, words", [
    (None, "it is not there\n  allowed: the path of a job file; `pattress new` writes one to start from"),
    (b"a = 1\nb = \"caf\xe9\"\n", ":2:9: the byte 0xe9 is no text here\n  allowed: a file saved as UTF-8"),
    (b"#" * (LARGEST + 1), "it is larger than any job file\n  allowed: at most 256 KiB"),
])
def test_a_file_that_cannot_be_read(tmp_path, content, words):
    file = tmp_path / "job.toml"
    if content is not None:
        file.write_bytes(content)
    with pytest.raises(JobError) as caught:
        load(file)
    assert str(caught.value) == f"{file}{words if words.startswith(':') else ': ' + words}"


def test_a_folder_a_pipe_and_a_name_that_no_file_can_have(tmp_path):
    import os

    os.mkfifo(tmp_path / "pipe")
    for path, words in ((tmp_path, "it is a folder"), (tmp_path / "pipe", "it is no ordinary file"),
                        ("a\0b", "it is not there"), ("x" * 5000, "it ")):
        with pytest.raises(JobError) as caught:
            load(path)
        assert f": {words}" in str(caught.value) and caught.value.problems[0].line is None


def test_a_byte_order_mark_and_windows_line_ends_are_read(tmp_path, flat):
    file = tmp_path / "job.toml"
    file.write_bytes(b"\xef\xbb\xbf" + flat.replace("\n", "\r\n").encode())
    assert load(file) == read(flat, "flat.toml")[0]
