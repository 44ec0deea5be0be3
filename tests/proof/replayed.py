"""A story of the proof, played again."""

from pattress.proof import standings


def replay(story, table, core=None):
    """Return the relays closed after each step of a story."""
    return tuple(one.relays for one in standings(story, table, core))
