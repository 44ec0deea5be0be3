"""The pure control program of the board: `step(plan, state, event)`.

Runs unchanged under CPython and MicroPython. Imports nothing outside this package.
"""

from .cells import (
    APPLIED, AS_IT_WAS, BY_NETWORK, CAUSE, CAUSES, COMES_ON, DOWN, OFF, ON, RESTORES, SET, STAYS_OFF, TOGGLE,
    UP, VERBS, WANTED,
)
from .channels import allows, next_news, relays
from .plan import Plan
from .program import (
    CODE, COMMAND, CONTACT, NEWS, REFUSED, ROTOR, SAVE_NOW, TIME, due_in, new_state, step,
)
from .remote import CANNOT_TELL, NEW_PRESS, REPEAT
from .snapshot import begin, size, write
