"""What is told about the controller, as JSON: the same bytes over MQTT, in the page and over HTTP.

A time is two figures: `second` counts from power-up and is always known, `time` is the Unix
time and null until somebody set the clock. A reading that is stale has the value null.
"""

from json import dumps

# Words for the numbers of `request_queue`, taken apart when they are used: texts of their own would cost memory all the time.

def event_kinds():
    """Return the word for each kind of event: what happened."""
    return ("started,moved,sensor lost,sensor back,link up,link down,login refused,fault,program refused,program taken,stuck,works again,"
            "closings used up").split(",")


def counted():
    """Return the words for what is counted."""
    return ("requests refused,requests dropped,loop turns,longest loop turn [us],least free heap [B],starts,snapshots written,watchdog resets,"
            "messages too long").split(",")


def channel_record(queue, channel):
    """Return what a channel does now and who asked for it."""
    second = queue.since[channel]
    return '{{"level":{},"of":{},"cause":"{}","second":{},"time":{}}}'.format(
        queue.level[channel], queue.tops[channel], queue.cause_word(queue.cause[channel]),
        second, _time(queue, second)).encode()


def sensor_record(queue, sensor):
    """Return what a sensor reads; the time is that of the last good reading."""
    second = queue.read_at[sensor]
    return '{{"value":{},"unit":{},"fresh":{},"second":{},"time":{}}}'.format(
        decimal(queue.value[sensor]) if queue.fresh[sensor] else "null", dumps(queue.sensors[sensor][2]),
        "true" if queue.fresh[sensor] else "false", second, _time(queue, second)).encode()


def availability_record(queue):
    """Return the birth message."""
    return '{{"available":true,"title":{},"start":{},"second":{},"time":{}}}'.format(
        dumps(queue.title), dumps(queue.reset_cause), queue.seconds, _time(queue, queue.seconds)).encode()


GONE = b'{"available":false}'        # the last will


def error_record(topic, found, reason, allowed):
    """Return why a request was not carried out; `topic` and `found` are bytes from outside."""
    return '{{"topic":"{}","found":"{}","reason":{},"allowed":{}}}'.format(
        printable(topic, 96), printable(found, 32), dumps(reason), dumps(allowed)).encode()


def event_record(queue, event):
    """Return one row of the ring of last events, or of what was refused."""
    second, kind, first, level, cause = event
    words = event_kinds()[kind]
    if words in ("moved", "stuck", "works again"):
        more = ',"channel":{},"level":{},"cause":"{}"'.format(
            dumps(queue.keys[first]), level, queue.cause_word(cause))
    elif words == "closings used up":
        more = ',"channel":{}'.format(dumps(queue.keys[first]))
    elif words in ("sensor lost", "sensor back"):
        more = ',"sensor":{}'.format(dumps(queue.sensors[first][0]))
    else:
        more = ',"number":{}'.format(first)
        if words.endswith("refused"):
            more += ',"times":{}'.format(level)
    return '{{"second":{},"time":{},"kind":"{}"{}}}'.format(second, _time(queue, second), words, more).encode()


def counts_record(queue):
    """Return all counters, and how often each channel moved since power-up."""
    counts = ",".join(['"{}":{}'.format(word, queue.counts[i]) for i, word in enumerate(counted())])
    moves = ",".join(["{}:{}".format(dumps(key), queue.operations[i]) for i, key in enumerate(queue.keys)])
    return '{{"second":{},"time":{},"start":{},{},"moves":{{{}}}}}'.format(
        queue.seconds, _time(queue, queue.seconds), dumps(queue.reset_cause), counts, moves).encode()


def decimal(tenths):
    """Return a whole number of tenths as a decimal number."""
    size = tenths if tenths >= 0 else -tenths
    return "{}{}.{}".format("-" if tenths < 0 else "", size // 10, size % 10)


def printable(content, longest):
    """Return foreign bytes as text that can stand in JSON, HTML and a log: others than plain ones as `?`."""
    kept = [chr(byte) if 32 <= byte < 127 and byte not in b'"\\<>&' else "?" for byte in content[:longest]]
    return "".join(kept) + ("..." if len(content) > longest else "")


def _time(queue, second):
    time = queue.time(second)
    return "null" if time is None else time
