"""How everything is drawn: one look, and pieces that know what room they take.

`look` holds colours, weights and sizes, `lettering` the widths of words, `pieces` what is drawn with,
`picture` the frame round it with its title and its words for those who do not see it, `axes` scales
and ticks. `sheet` is a drawing whose wires, words and symbols keep clear of each other, `clashes` the
judge of that. Nothing else of the program writes SVG.
"""

from pattress.drawing.box import Box
from pattress.drawing.look import Medium, dark_rules
from pattress.drawing.picture import Picture
from pattress.drawing.pieces import Piece

__all__ = ["Box", "Medium", "Picture", "Piece", "dark_rules"]
