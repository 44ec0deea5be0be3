"""What a person reads in a terminal, by its exact words."""

from pattress.cli import text
from pattress.finding import Assumption, Figure, Finding, Input, Sense, Source, Verdict, margin_words
from pattress.proof import Kind, Property
from pattress.spoken.clashes import Clash, Name

FAILING = Finding(
    id="drop.porch",
    question="Does the porch lamp get enough volts?",
    subject="load.porch",
    verdict=Verdict.FAILS,
    value=Figure(6.97, "V"),
    limit=Figure(6.9, "V"),
    sense=Sense.AT_MOST,
    nominal=Figure(6.1, "V"),
    corner="conductors at 70 degC",
    formula="2 L R I",
    inputs=(Input("length", Figure(40.0, "m"), "load.porch.run.length", Source("a ruler", read=False)),),
    sources=(Source("IEC 60364-5-52:2009", "table G.52.1", read=False),),
    assumptions=(Assumption("load.porch.power_factor", "0.5", "the job does not say", "a plug-in meter"),),
    change=("2.5 mm2 loses 4.27 V",),
    covers_not="reactance",
)


def test_a_failing_finding_in_brief():
    assert text.brief(FAILING) == "\n".join((
        f"fails    Does the porch lamp get enough volts?{'[drop.porch]':>34}",
        "         6.97 V, at most 6.9 V, margin -1 %; conductors at 70 degC.",
        "         Not known: load.porch.power_factor. Taken: 0.5. To settle it: a plug-in",
        "         meter",
        "         Change: 2.5 mm2 loses 4.27 V",
    ))


def test_a_finding_whole():
    assert text.whole(FAILING).splitlines()[1:] == [
        "  Value:       6.97 V",
        "  Nominal:     6.1 V",
        "  Limit:       at most 6.9 V",
        "  Margin:      -1 %",
        "  Corner:      conductors at 70 degC",
        "  Formula:     2 L R I",
        "  Put in:      length = 40 m (load.porch.run.length; a ruler (from memory))",
        "  Not known:   load.porch.power_factor. Taken: 0.5, because the job does not",
        "               say. To settle it: a plug-in meter",
        "  Source:      IEC 60364-5-52:2009, table G.52.1 (from memory)",
        "  Change:      2.5 mm2 loses 4.27 V",
        "  Left out:    reactance",
        "  If it fails: stops the bundle, and so does not knowing",
    ]


def test_a_margin_far_beyond_the_limit_is_ample():
    assert [margin_words(share) for share in (-0.08, 0.034, 8.99, 9.0)] == ["-8 %", "+3 %", "+899 %", "ample"]


def test_a_claim_keeps_to_the_width_with_its_id_at_the_right():
    short = Property("switch-acts", Kind.ALWAYS, "One operation of a wall switch acts.", True, 3057)
    long = Property("news", Kind.ALWAYS, "Whenever a channel is not in the middle of a change, what was last told is what its relays do.", False, 7)
    assert text.claim(short) == f"holds    One operation of a wall switch acts.{'[switch-acts] 3057 steps':>35}"
    assert text.claim(long).splitlines() == [
        "fails    Whenever a channel is not in the middle of a change, what was last told",
        f"         is what its relays do.{'[news] 7 steps':>49}"]


def test_a_long_question_is_folded_and_its_id_stands_on_a_line_of_its_own_where_there_is_no_room():
    assert text.headed("holds", "x" * 60, "[an.id.of.some.length]").splitlines() == [f"holds    {'x' * 60}", f"{'[an.id.of.some.length]':>80}"]
    assert text.headed("holds", "Does it?", "[an.id]") == f"holds    Does it?{'[an.id]':>63}"


def test_a_name_that_may_be_misheard_is_told_like_a_finding():
    told = Clash(Verdict.FAILS, Name("bench", "Bench light"), Name("pendant", "big light"), "sounds much like", 0.29, "bench beam")
    assert text.clash(told).splitlines() == [
        "fails    'Bench light' (bench) sounds much like 'big light' (pendant), 0.29",
        f"         apart on a scale from 0, the same, to 1.{'[names.bench]':>31}",
        "         Call it 'bench beam' instead."]


def test_a_table_aligns_its_columns():
    assert text.table(("a", "bb"), [("long", "x")]) == "a     bb\n----  --\nlong  x"


def test_a_wide_table_is_folded_between_words_in_its_widest_column():
    words = "one or two words, and then many more, so that no terminal shows all of it in a line"
    assert text.table(("a", "b"), [("x", words), ("y", "z")]).splitlines() == [
        "a  b", "-  " + "-" * 77, f"x  {words[:76]}", f"   {words[77:]}", "y  z"]
    assert max(map(len, text.table(("name", "figure"), [("sizing and pins", "10"), ("a " * 60, "7")]).splitlines())) <= text.WIDTH
    columns = ["relay closings", "wall operations", "snapshots", "problems", "slowest", "median", "events", "day"]
    lines = text.table(columns, [["12"] * 8]).splitlines()
    assert [line.split() for line in lines[:2]] == [["relay", "wall", *columns[2:]], ["closings", "operations"]] and max(map(len, lines)) <= text.WIDTH
    lines = text.table(columns[::-1], [["Random day 1", *["12"] * 7]]).splitlines()         # 91 columns with its heads in one line
    assert lines[-1].startswith("Random day 1  12") and len(lines) == 4 and max(map(len, lines)) <= text.WIDTH
    assert "sizing and pins  " + "/" * 90 in text.table(("step", "file"), [("sizing and pins", "/" * 90)])


def test_long_lines_are_folded_where_a_terminal_would_cut_a_word():
    line = "  allowed: " + "resistive heater, tungsten lamp, LED driver, fluorescent ballast, motor, compressor, solenoid"
    assert text.folded(f"short\n{line}").splitlines() == [
        "short", "  allowed: resistive heater, tungsten lamp, LED driver, fluorescent ballast,", "    motor, compressor, solenoid"]
    assert text.folded("/" * 100) == "/" * 100
