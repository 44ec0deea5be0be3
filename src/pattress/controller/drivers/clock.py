"""The board's clock. Its counters wrap within days, so two moments are compared by `since` only.

The loop takes this module, or anything with these four functions, as its clock. Exists on
the board's interpreter only.
"""

from time import ticks_add as after
from time import ticks_diff as since
from time import ticks_ms as ms
from time import ticks_us as us
