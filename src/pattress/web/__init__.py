"""The page: the whole job on one local web page, live. No engineering in here.

A sheet is a module with a pure function from what was asked to a frozen context, a template that
only prints it, and a line in `sheets.py`.
"""
