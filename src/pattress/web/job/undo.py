"""The way back and forth through the texts of the job file."""

from urllib.parse import unquote

from pattress.web.job import things
from pattress.web.sheet import Asked, Go


def undo(asked: Asked) -> Go:
    """Go one text back."""
    asked.draft.undo()
    return Go(place(asked), "The last change is undone.")


def redo(asked: Asked) -> Go:
    """Go one text forth again."""
    asked.draft.redo()
    return Go(place(asked), "It is done again.")


def place(asked: Asked) -> str:
    """Return the address of this page that the form came from, the home view when it names no such, or a thing that is no more."""
    back = asked.form.get("back", "/")
    _, *path = back.split("/")
    if len(path) == 3 and path[0] == "thing" and not things.is_there(asked.draft.now.design.job, path[1], unquote(path[2])):
        return "/"
    return back if back.startswith("/") and not back.startswith("//") and back.isascii() and back.isprintable() and "\\" not in back else "/"
