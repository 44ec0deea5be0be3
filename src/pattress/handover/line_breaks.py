"""Where a line of words may begin on a screen: nowhere within a quantity, and within a key of the job file only behind its dots.

What is copied, searched or read aloud are the same words: there are only marks of HTML between them.
"""

import re
from typing import Any

from markupsafe import Markup, escape

from pattress.quantity.showing import NO_BREAK, unbroken

_QUANTITY = re.compile(rf"\S+(?:{NO_BREAK}\S+)+")
_KEY = re.compile(r"(?<=[A-Za-z0-9])[._](?=[A-Za-z])")


def whole(words: Any) -> Markup:
    """Return words as HTML that breaks "load.pendant.power_factor" behind a dot or a stroke only, and "2.2 kW" not at all."""
    text = _KEY.sub(lambda dot: f"{dot[0]}<wbr>", str(escape(words)))
    return Markup(_QUANTITY.sub(lambda found: f'<span class="whole">{found[0].replace(NO_BREAK, " ")}</span>', unbroken(text)))
