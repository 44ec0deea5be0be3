"""What is remembered of those who come to the page, whether or not what speaks with them is loaded."""

TRIES, TRY_S = 8, 15    # so many passphrases at once for each peer; one more is allowed after each TRY_S seconds
ALL_TRIES = 64          # so many at once for all peers that never logged in, and one more each second
PEERS = 8               # whose tries are kept apart; the one that tried longest ago makes room


class Tries:
    """How often each peer may do something: `most` times at once, and `more` after each `seconds`."""

    def __init__(self, most, seconds=1, more=1):
        self._most, self._each, self._more = most, seconds, more
        self._rows = []                 # [peer, times left, since when], the one that tried last at the end

    def wait(self, peer, now):
        """Return how long a peer must wait [s], 0 when it may."""
        for row in self._rows:
            if row[0] == peer:
                passed = (now - row[2]) // self._each
                row[1] = min(self._most, row[1] + passed * self._more)
                row[2] += passed * self._each
                return 0 if row[1] else self._each - (now - row[2])
        return 0

    def count(self, peer, now):
        """Note that a peer that need not wait has done it."""
        row = [peer, self._most, now]
        for known in self._rows:
            if known[0] == peer:
                row = known
        row[1] -= 1
        self._rows = [known for known in self._rows if known is not row][-(PEERS - 1):] + [row]


class Memory:
    """What a `login.Guard` remembers."""

    def __init__(self):
        self.tries, self.all_tries = Tries(TRIES, TRY_S), Tries(ALL_TRIES)
        self.sessions = []              # [token, last used, opened], the one used last at the end
