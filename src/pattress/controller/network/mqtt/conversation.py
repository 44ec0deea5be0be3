"""One session with a broker: what arrives and what is said next. Pure; `mqtt` does the waiting.

Section numbers are those of the OASIS Standard "MQTT Version 3.1.1" (from memory). The time
is the queue's: seconds since power-up.
"""

from .. import records
from ..channel_requests import allowed, parsed
from ..topics import ASK
from . import packets
from .packets import CONNACK, PINGRESP, PUBACK, PUBLISH, SUBACK, TOO_LONG

ACKS = 4                # with so many acknowledgements unwritten nothing more is read


class Refused(Exception):
    """The broker answered, and said no; or it stopped answering."""


class Conversation:
    """From the CONNECT, which is `opening`, to the end of the connection.

    `keep_alive` and `answer`, the longest wait for any answer, are in seconds.
    """

    def __init__(self, queue, topics, telling, keep_alive, answer, parser):
        self._queue, self._topics, self._telling = queue, topics, telling
        self._keep_alive, self._longest, self._parser = keep_alive, answer, parser
        self._heard_at = self._sent_at = self._began = queue.seconds
        self._pinged_at = -1
        self._long_at = 0               # when a packet that does not fit was last under way
        self._acks = []                 # packet numbers to acknowledge
        self._stale = []                # channels whose kept request is still to be taken from the broker
        self._number = 0
        self._subscribed = self._cleared = False
        self._waiting = None            # (packet, what, mark) not yet acknowledged
        self._waiting_since = 0
        self.accepted = False
        self._declines = queue.declines
        telling.start()

    def opening(self, user, password):
        """Return the CONNECT: clean session, last will, user and password if there are any."""
        return packets.connect(b"pattress-" + self._topics.name.encode(), self._keep_alive,
                               self._topics.availability, records.GONE, user, password)

    # What arrives.

    def has_room(self):
        """Return whether more may be read: what is not acknowledged is not read on."""
        return len(self._acks) < ACKS

    def take(self, data):
        """Take bytes from the broker. Raises Malformed or Refused: then the connection must be closed."""
        now = self._heard_at = self._queue.seconds
        for kind, flags, body in self._parser.feed(data):
            if not self.accepted:
                self._welcome(kind, body)
            elif kind == PUBLISH or kind == TOO_LONG:
                self._publication(kind, flags, body)
            elif kind == PUBACK:
                self._acknowledged(body[0] << 8 | body[1])
            elif kind == SUBACK:
                if body[2] == 0x80:     # 3.9.3
                    raise Refused("the broker refuses the subscription")
            elif kind == PINGRESP:
                self._pinged_at = -1
            else:
                raise packets.Malformed("a second CONNACK")
            if kind == TOO_LONG:
                self._long_at = now
        if self.accepted and self._parser.is_long:
            self._long_at = now

    def _welcome(self, kind, body):
        """The first packet is a CONNACK without a session, for we asked for a clean one (3.2, 3.2.2.2)."""
        if kind != CONNACK or body[0]:
            raise packets.Malformed("the first packet is no CONNACK of a clean session")
        if body[1]:
            raise Refused(packets.refusal(body[1]))
        self.accepted = True

    def _acknowledged(self, packet):
        if self._waiting is not None and self._waiting[0] == packet:
            self._telling.told(self._waiting[1], self._waiting[2])
            self._waiting = None

    def _publication(self, kind, flags, body):
        is_whole = kind == PUBLISH
        topic, packet, payload = packets.publication(flags, body, is_whole)
        if packet:
            self._acks.append(packet)
        if not is_whole:
            self._queue.counts[records.counted().index("messages too long")] += 1
        channel = self._topics.channel_asked(topic)
        if channel < 0:
            self._telling.decline(topic, payload, "unknown channel", "one of the channels that are told")
            return
        if flags & 1 and channel not in self._telling.stale:
            self._telling.stale.append(channel)     # once only: a broker that closes the connection over it shall not do so again and again
            self._stale.append(channel)
        understood = allowed(self._queue.tops[channel])
        if not is_whole:
            self._telling.decline(topic, payload, "too long", understood)
            return
        if not payload:
            return                      # how a kept request is taken away, by us too
        found = parsed(payload, self._queue.core)
        if flags & 1:
            self._telling.decline(topic, payload, "a kept request may be old", "requests that are not retained")
        elif found is None:
            self._telling.decline(topic, payload, "not understood", understood)
        elif not self._queue.request(channel, found[0], found[1]):
            self._telling.decline(topic, payload, self._queue.reason, understood)

    # What is said.

    def next(self):
        """Return the next packet to write, None when there is nothing to say now. Raises Refused."""
        packet = self._next(self._queue.seconds)
        if packet is not None:
            self._sent_at = self._queue.seconds
        return packet

    def is_idle(self):
        """Return whether a long message may be sent now."""
        return self.accepted and self._subscribed and self._waiting is None

    def _next(self, now):
        if not self.accepted:
            self._expect(self._began, "the broker does not answer")
            return None
        if self._acks:
            return packets.puback(self._acks.pop(0))
        if not self._subscribed:
            self._subscribed = True
            return packets.subscribe(self._new_number(), self._topics.asks)
        if not self._cleared:
            self._cleared = True        # an empty kept message takes the one before away (3.3.1.3)
            return packets.publish(self._topics.former, b"", retain=True)
        if self._stale:
            return packets.publish(self._topics.channels[self._stale.pop()] + ASK, b"", retain=True)
        if self._waiting is not None:
            self._expect(self._waiting_since, "the broker does not acknowledge")
        quiet_since = self._sent_at
        if self._pinged_at >= 0:
            self._expect(self._pinged_at, "the broker does not answer a ping")
        else:
            quiet_since = min(quiet_since, self._heard_at)
        if 2 * (now - quiet_since) >= self._keep_alive:     # 3.1.2.10
            if self._pinged_at < 0:
                self._pinged_at = now
            return packets.PING
        return self._tell(now)

    def _tell(self, now):
        if self._waiting is not None:
            return None                 # one at a time; meanwhile the newest state stays in the queue
        if self._declines != self._queue.declines:
            self._declines = self._queue.declines
            self._telling.decline(*self._queue.declined)
        message = self._telling.next()
        if message is None:
            return None
        what, mark, topic, payload, kept = message
        if not kept:
            self._telling.told(what, mark)
            return packets.publish(topic, payload)
        self._waiting, self._waiting_since = (self._new_number(), what, mark), now
        return packets.publish(topic, payload, self._waiting[0], True)

    def _new_number(self):
        self._number = self._number + 1 if self._number < 0xFFFF else 1     # never 0 (2.3.1)
        return self._number

    def _expect(self, since, otherwise):
        if self._queue.seconds - max(since, self._long_at) > self._longest:
            raise Refused(otherwise)
