"""A contact that sticks, as others hear of it: kept by the broker, in the row of events, in words on the page; and that it works again."""

import json

from pattress.controller import core
from pattress.controller.core.cells import BY_NETWORK, STUCK_CLOSED
from pattress.controller.network.http.web_page import log_page, main_page
from pattress.controller.network.telling import CHANNEL, Telling
from pattress.controller.network.topics import Topics
from pattress.controller.request_queue import RequestQueue

from ..core.home import LAMP, TABLE

SENSED = TABLE | {"feedback": [dict(channel=LAMP, settle_ms=500)]}


def told(telling):
    """Let the broker take all there is; return the messages as (what, topic, record, kept)."""
    messages = []
    while True:
        message = telling.next()
        if message is None:
            return messages
        what, mark, topic, payload, kept = message
        messages.append((what, topic, json.loads(payload), kept))
        telling.told(what, mark)


def home():
    queue = RequestQueue(core, core.Plan(SENSED), SENSED)
    telling = Telling(queue, Topics("home", queue.keys, []))
    queue.news(LAMP, 1, BY_NETWORK)
    queue.news(LAMP, 0, BY_NETWORK)
    told(telling)
    return queue, telling


def test_it_is_kept_by_the_broker_though_nothing_moved_and_so_is_its_end():
    queue, telling = home()
    moved = queue.operations[LAMP]
    for cause, word, kind in ((STUCK_CLOSED, "stuck closed", "stuck"), (BY_NETWORK, "network", "works again")):
        queue.news(LAMP, 0, cause)
        messages = told(telling)
        states = [(topic, record["level"], record["cause"], kept) for what, topic, record, kept in messages if what[0] == CHANNEL]
        assert states == [(b"pattress/home/channel/lamp", 0, word, True)]
        events = [record for _, topic, record, _ in messages if topic == b"pattress/home/events"]
        assert [(event["kind"], event["channel"], event["level"], event["cause"]) for event in events] == [(kind, "lamp", 0, word)]
    assert queue.operations[LAMP] == moved and told(telling) == []


def test_it_is_told_in_words_on_the_page():
    queue, _ = home()
    queue.news(LAMP, 0, STUCK_CLOSED)
    assert "stuck closed: will not open" in "".join(main_page(queue, None, False, False))
    assert "lamp: stuck closed: will not open, told to be off" in "".join(log_page(queue))
    queue.news(LAMP, 0, BY_NETWORK)
    assert "lamp: works again, told to be off" in "".join(log_page(queue))


def test_a_move_while_it_sticks_counts_as_a_move():
    queue, _ = home()
    queue.news(LAMP, 0, STUCK_CLOSED)
    moved = queue.operations[LAMP]
    queue.news(LAMP, 1, STUCK_CLOSED)
    assert queue.operations[LAMP] == moved + 1
