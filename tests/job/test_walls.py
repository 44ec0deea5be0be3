"""Walls and the places on them: read once, told by file and line when they do not agree."""

import pytest

from pattress.job import JobError, read, starter

WALL = '[wall.door]\nname = "Door wall"\nroom = "Hall"\nwidth = "3.4 m"\nheight = "2.5 m"\n\n'
SWITCH = 'kind = "latching"\n'
JOB = starter().replace("[board]\n", WALL + "[board]\n")
LINE = JOB[: JOB.index(SWITCH)].count("\n") + 2


def with_place(words, job=JOB):
    return job.replace(SWITCH, f"{SWITCH}at = {words}\n", 1)


def complaint(text):
    with pytest.raises(JobError) as caught:
        read(text, "hall.toml")
    return str(caught.value)


def test_a_place_is_read_in_metres():
    job, _ = read(with_place('{ wall = "door", along = "120 cm", height = "1.1 m" }'), "hall.toml")
    assert (job.wall["door"].width, job.wall["door"].height) == (3.4, 2.5)
    ((path, place),) = job.places()
    assert path == ("switch", "door") and (place.wall, place.along, place.height) == ("door", 1.2, 1.1)


def test_ceiling_is_a_height():
    job, _ = read(with_place('{ wall = "door", along = "0 m", height = "ceiling" }'), "hall.toml")
    assert job.switch["door"].at.height == "ceiling"


def test_everything_with_a_place_is_found_once():
    at = 'at = {{ wall = "door", along = "{} m", height = "1 m" }}\n'
    text = (JOB.replace("[site]\n", f"[site]\n{at.format(1)}").replace('kind = "LED driver"\n', f'kind = "LED driver"\n{at.format(2)}', 1)
            + f'\n[remote.r]\nname = "r"\nbutton.a = {{ does = "off pendant" }}\n[receiver]\ncable = "2 m"\n{at.format(3)}'
            + f'[sensor.s]\nname = "s"\nkind = "22 class"\n{at.format(0.5)}')
    job, _ = read(text, "hall.toml")
    assert {path: place.along for path, place in job.places()} == {("site",): 1.0, ("load", "pendant"): 2.0, ("receiver",): 3.0, ("sensor", "s"): 0.5}


@pytest.mark.parametrize("place, words", [
    ('{ wall = "dor", along = "1 m", height = "1 m" }', "switch.door.at.wall is 'dor', which is no wall\n  allowed: door\n  nearest: door"),
    ('{ wall = "door", along = "3.6 m", height = "1 m" }',
     "switch.door.at.along is 3.6 m, beyond the edge of the wall 'Door wall'\n  allowed: at most 3.4 m"),
    ('{ wall = "door", along = "3.4 m", height = "2.7 m" }',
     "switch.door.at.height is 2.7 m, beyond the edge of the wall 'Door wall'\n  allowed: at most 2.5 m"),
])
def test_a_place_off_its_wall_is_told_by_file_and_line(place, words):
    said = complaint(with_place(place))
    assert said.startswith(f"hall.toml:{LINE}:") and said.partition(": ")[2] == words


@pytest.mark.parametrize("wall, words", [
    ("3.4 m", "site.at.along is 400 mm: a box of 1 m there reaches beyond the edge of the wall 'Door wall'\n  allowed: 500 mm to 2.9 m"),
    ("0.8 m", "site.at.along is 400 mm: a box of 1 m there reaches beyond the edge of the wall 'Door wall'\n  allowed: a wall of 1 m or more"),
])
def test_the_box_of_the_controller_lies_on_its_wall_whole(wall, words):
    job = JOB.replace('width = "3.4 m"', f'width = "{wall}"').replace(
        'enclosure = "unknown"', 'at = { wall = "door", along = "0.4 m", height = "2 m" }\n'
                                 'enclosure = { width = "1 m", height = "15 cm", depth = "75 mm" }', 1)
    assert complaint(job).partition(": ")[2] == words


def test_a_job_without_walls_says_so():
    assert complaint(with_place('{ wall = "door", along = "1 m", height = "1 m" }', starter())).endswith(
        "switch.door.at.wall is 'door', which is no wall\n  allowed: the key of a wall; the job has none yet")


def test_a_receiver_needs_a_remote():
    said = complaint(JOB + '\n[receiver]\ncable = "2 m"\n')
    assert said.endswith("receiver is given though the job has no remote\n  allowed: a receiver where there is a [remote.NAME]")


def test_a_fault_of_the_site_does_not_hide_the_rest():
    said = complaint(with_place('{ wall = "dor", along = "1 m", height = "1 m" }').replace('"30 degC"', '"30 K"'))
    assert "site.ambient is" in said and "switch.door.at.wall is 'dor'" in said
