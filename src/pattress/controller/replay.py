"""Questions to the control program and its answers, one line of text for one event.

The same file runs under CPython and MicroPython, beside the core on the workbench and beside
the compiled core in a bundle; so two runs are the same when their answers are the same text.

    begin SNAPSHOT CLOSED CONTACTS     power-up; snapshot in hexadecimal, level of each switch,
                                       closed contacts of each regulator; "-" for none
    step KIND A B C D TELL SAVE        one event; TELL 1: the network listens, tell it all news;
                                       SAVE 1: write the snapshot if it is due
    tell                               nothing happens, the network fetches all news
    set CELL VALUE ...                 put numbers into the state, as a story of the proof does

An answer is `BITS DUE RELAYS CHECKSUM NEWS SNAPSHOT`: what `step` returned, `due_in`,
`relays`, the CRC-32 of the state, what was told as channel:level:cause and what was saved.
"""

from binascii import crc32, hexlify, unhexlify

NONE = "-"


def begin_line(snapshot, closed, contacts):
    """Return the question of a power-up."""
    return "begin {} {} {}".format(
        NONE if snapshot is None else _hexadecimal(snapshot), _row(closed, ","), _row(contacts, ","))


def step_line(event, tell, save):
    """Return the question of one event, a row of five whole numbers."""
    return "step {} {} {}".format(_row(event, " "), int(tell), int(save))


def set_line(cells):
    """Return the question that puts numbers into the state; `cells` are pairs of place and number."""
    return "set " + " ".join([_row(one, " ") for one in cells])


def answer_line(bits, due, relays, checksum, news, saved):
    """Return an answer; `news` is a list of (channel, level, cause), `saved` bytes or None."""
    told = ";".join([_row(one, ":") for one in news]) or NONE
    return "{} {} {} {} {} {}".format(
        bits, due, relays, checksum, told, NONE if saved is None else _hexadecimal(saved))


def answers(core, plan, questions):
    """Yield the answer to each question, starting from a board without power."""
    state = core.new_state(plan)
    for question in questions:
        words = question.split()
        if words:
            yield _answer(core, plan, state, words)


def _answer(core, plan, state, words):
    bits, news, saved = 0, [], None
    if words[0] == "begin":
        snapshot = None if words[1] == NONE else unhexlify(words[1])
        core.begin(plan, state, snapshot, _numbers(words[2]), _numbers(words[3]))
    elif words[0] == "tell":
        news = tell(core, plan, state)
    elif words[0] == "set":
        for i in range(1, len(words), 2):
            state[int(words[i])] = int(words[i + 1])
    else:
        bits = core.step(plan, state, tuple([int(word) for word in words[1:6]]))
        if words[6] == "1":
            news = tell(core, plan, state)
        if words[7] == "1" and bits & core.SAVE_NOW:
            saved = bytearray(core.size(plan))
            core.write(plan, state, saved)
    return answer_line(bits, core.due_in(plan, state), core.relays(plan, state), crc32(state), news, saved)


def tell(core, plan, state):
    """Return all news as (channel, level, cause), now counted as told."""
    news = []
    channel = core.next_news(plan, state)
    while channel >= 0:
        at = plan.channel_at[channel]
        news.append((channel, state[at + core.APPLIED], plan.watch.cause(plan, state, channel) if plan.watch else state[at + core.CAUSE]))
        channel = core.next_news(plan, state)
    return news


def _hexadecimal(content):
    return hexlify(content).decode() or NONE


def _row(numbers, between):
    return between.join([str(number) for number in numbers]) or NONE


def _numbers(word):
    return [] if word == NONE else [int(part) for part in word.split(",")]
