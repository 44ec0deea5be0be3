"""Names and connections without blocking: right answers, wrong ones, none; under both interpreters."""

import pytest

from . import broker
from .places import run

LOOK_UP = """
import asyncio
from radio import lookup, reach

async def main():
    turns = 0

    async def count():
        nonlocal turns
        while True:
            turns += 1
            await asyncio.sleep(0.01)

    counting = asyncio.create_task(count())
    try:
        found = await lookup.look_up(SETTINGS["host"], SETTINGS["server"], SETTINGS.get("seconds", 0.3))
    except reach.Unreachable as error:
        found = str(error)
    counting.cancel()
    print(json.dumps([found, turns]))

asyncio.run(main())
"""

CONNECT = """
import asyncio
from radio import reach

async def main():
    found = []
    for address, port in SETTINGS["where"]:
        try:
            reader, writer = await reach.open_stream(address, port, seconds=1)
            await reach.close(writer)
            found.append("open")
        except (OSError, reach.Unreachable) as error:
            found.append("refused" if "refuse" in str(error) or "111" in str(error) else str(error))
    print(json.dumps(found))

asyncio.run(main())
"""


def test_a_name_is_found(place):
    with broker.NameServer({"broker.example": "192.0.2.9"}) as names:
        assert run(*place, LOOK_UP, host="broker.example", server=names.address)[0] == "192.0.2.9"


def test_a_name_that_the_server_does_not_know(place):
    with broker.NameServer({}) as names:
        found, turns = run(*place, LOOK_UP, host="broker.example", server=names.address)
        assert found == "the name server does not know broker.example" and names.asked == 1


def test_a_server_that_hangs_holds_nobody_up(place):
    with broker.NameServer({}, behave="never answer") as names:
        found, turns = run(*place, LOOK_UP, host="broker.example", server=names.address, seconds=1)
        assert found == "nobody answers for the name broker.example"
        assert names.asked == 3 and turns > 100             # three seconds in which another task ran on


@pytest.mark.parametrize("behave", ["wrong number", "other name", "question only", "noise"])
def test_an_answer_to_another_question_is_not_believed(place, behave):
    """A forged answer must guess 16 bits of number and 16 of our port."""
    with broker.NameServer({"broker.example": "192.0.2.66"}, behave) as names:
        assert run(*place, LOOK_UP, host="broker.example", server=names.address)[0].startswith("nobody answers")


def test_connections_open_refused_and_never_answered(place):
    with broker.Odd(lambda link: link.recv(1)) as odd:
        where = [("127.0.0.1", odd.port), ("127.0.0.1", broker.free_port())]
        assert run(*place, CONNECT, where=where) == ["open", "refused"]
