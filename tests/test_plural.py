import pytest

from pattress.plural import counted


@pytest.mark.parametrize("count, words, told", [
    (0, ("step",), "0 steps"), (1, ("step",), "1 step"), (2, ("step",), "2 steps"), (1, ("press", "presses"), "1 press"),
    (3, ("press", "presses"), "3 presses"), (1, ("fails", "fail"), "1 fails"), (2, ("fails", "fail"), "2 fail")])
def test_one_is_one_and_all_else_is_many(count, words, told):
    assert counted(count, *words) == told
