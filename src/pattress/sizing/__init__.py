"""Every electrical question, one module each: numbers in, numbers out, each figure with its source.

`questions.QUESTIONS` lists them, `choice.choose_parts` picks the parts they reckon with.
"""
