"""The passphrase that lets a phone in: words that are easy to read off a screen and to type.

128 words, seven bits each; with six of them and a wait after a few wrong ones nobody gets through
by trying.
"""

from secrets import choice

WORDS = tuple("""
    acre amber anchor apple arch attic badge baker barn basil beach bell birch blanket blue boat bolt bottle branch bread
    brick bridge brush bucket button cabin candle canal carpet castle cedar cellar chalk cherry circle clay clock cloud
    clover coat comet copper cotton cradle creek curtain daisy desk dinner door dragon drum eagle earth elbow ember engine
    fabric farm feather fence field finger flute forest fox frost garden gate ginger glove grape gravel hammer harbour
    hazel hill honey island ivory jacket kettle ladder lake lantern leaf lemon linen maple marble meadow mill mirror moss
    needle nest oak olive onion orange orchard paper pebble pepper pillow pine planet pocket pond quarry quilt rabbit
    rain ribbon river rocket saddle sail salt silver spoon stone summer table tiger timber tulip tunnel
""".split())
NUMBER = 6


def new_passphrase() -> str:
    """Return a fresh passphrase from the system's source of secrets."""
    return " ".join(choice(WORDS) for _ in range(NUMBER))
